"""Runs behind the page of numbers that were wrong once: each function tells one number of today."""

from __future__ import annotations

import tempfile
from datetime import date
from functools import cache
from pathlib import Path

import numpy as np
import xarray as xr
from file_years import five_towns_again
from rained_rivers import WEATHERS, evaporation_of, write_rivers

import hydroloop as hl
from hydroloop.record import flow_mask, flow_total
from hydroloop.studies.operators_round import operators_round
from hydroloop.weather import (
    baseflow_index,
    budyko_evaporation,
    flashiness,
    low_flow_ratio,
    turc_pike_evaporation,
)

_ML, _GALLON = 1e-3, 3.785411784e-3  # ML in a m3, m3 in a gallon
_YEAR = 365

# ---- water before the season ------------------------------------------------------------------


@cache
def _again(years: int) -> tuple[xr.Dataset, xr.Dataset]:
    """The five towns on their year so many times after itself: record and measures."""
    with tempfile.TemporaryDirectory() as folder:
        scenario = five_towns_again(Path(folder), years)
        record = hl.simulate(scenario)
        return record, hl.measures(record, scenario)


def _mean(record: xr.Dataset, kind: str, steps: slice = slice(None), **where: str) -> float:
    """Mean flow of a kind in some steps [m3/d]."""
    flow = flow_total(record, flow_mask(record, kind=kind, **where))
    return float(flow.isel(time=steps).mean())


def _in_year(year: int) -> slice:
    return slice(_YEAR * (year - 1), _YEAR * year)


def gained(role: str = "") -> str:
    record = _again(6)[0]
    some = (record["role"].values == role) if role else slice(None)
    stored = record["volume"].values[::_YEAR, some].sum(axis=1)
    gains = np.diff(stored)[[0, 3]] * _ML
    return "{:,.0f} and {:,.0f} ML".format(*(np.round(gains) + 0.0))


def seeping_in() -> str:
    found = (_mean(_again(6)[0], "infiltration", _in_year(year)) for year in (1, 6))
    return "{:.1f} and {:.1f} ML/day".format(*(flow * _ML for flow in found))


def used_share_apart() -> str:
    one, six = (_again(years)[1]["season_used_share"].values for years in (1, 6))
    return f"{100.0 * np.nanmax(np.abs(six[one > 0.0] / one[one > 0.0] - 1.0)):.2f} %"


def half_years() -> str:
    alone = hl.read_scenario("first_town")
    five = alone.changed({"season.start": "2026-10-01"})
    steps = slice(-hl.simulate(alone).sizes["time"], None)
    flows = (_mean(hl.simulate(one), "baseflow", steps) for one in (alone, five))
    return "{:.1f} and {:.1f} ML/day".format(*(flow * _ML for flow in flows))


# ---- rain and ground --------------------------------------------------------------------------

_WELLS = """
[aquifer.plain]
area = "500 km2"
river = "wren"
at = "8 km"
[town.tamberly]
people = 20_000
outfall = { river = "wren", at = "9 km" }
wells = { capacity = "10 ML/day", aquifer = "plain" }
land.aquifer = "plain"
"""


@cache
def _rainy(
    weather: str = WEATHERS[0], area: int = 150, more: str = ""
) -> tuple[hl.Scenario, xr.Dataset]:
    """A river that rises from its catchment, under real or generated weather, and its record."""
    with tempfile.TemporaryDirectory() as folder:
        write_rivers(Path(folder))
        file = Path(folder) / f"{weather}.toml"
        file.write_text(file.read_text(encoding="utf-8") + more, encoding="utf-8")
        scenario = hl.read_scenario(file).changed({"river.wren.catchment": f"{area} km2"})
        return scenario, hl.simulate(scenario)


def _head_flow(weather: str = WEATHERS[0], area: int = 150) -> np.ndarray:
    record = _rainy(weather, area)[1]
    return flow_total(record, flow_mask(record, target=("wren/reach_1",), kind=("river",))).values


def signatures(weather: str, area: int) -> list[str]:
    """What kind of river it is: runoff ratio, the curves of forest and grass with the 42 mm by
    which they miss, those of Turc and Pike and of Budyko, baseflow index, flashiness and Q95 over
    the mean."""
    record, flow = _rainy(weather, area)[1], _head_flow(weather, area)
    rain, potential = (365.25 * float(record[name].mean()) for name in ("rain_mm", "et0_mm"))
    band = [
        max(0.0, 1.0 - (evaporation_of(rain, potential, plant_water) + miss) / rain)
        for plant_water, miss in ((2.0, 42.0), (0.5, -42.0))
    ]
    ratio = 365.25 * float(flow.mean()) / (area * 1e3) / rain
    curves = [
        1.0 - curve(rain, potential) / rain for curve in (turc_pike_evaporation, budyko_evaporation)
    ]
    told = (*curves, baseflow_index(flow), flashiness(flow), low_flow_ratio(flow))
    return [f"{ratio:.2f}", "{:.2f} to {:.2f}".format(*band), *(f"{one:.2f}" for one in told)]


def bfi() -> str:
    return f"{baseflow_index(_head_flow()):.2f}"


def flashy() -> str:
    return f"{flashiness(_head_flow()):.2f}"


def quick_flow() -> str:
    record, area_m2 = _rainy()[1], 150e6
    quick = sum(_mean(record, kind, from_place="wren") for kind in ("stormwater", "interflow"))
    rain = 365.25 * float(record["rain_mm"].mean())
    return f"{365.25 * quick / area_m2 * 1000.0:,.0f} mm of {rain:,.0f} mm"


def enough_water() -> str:
    scenario, record = _rainy()
    share = hl.measures(record, scenario)["reliability"].sel(town="larkmill")
    return f"{100.0 * float(share):.1f} % of the time"


def recharge() -> str:
    scenario, record = _rainy(more=_WELLS)
    depth = hl.measures(record, scenario)["land_balance"].sel(land="plain", land_term="recharge")
    return f"{float(depth) / 4.0:,.0f} mm a year"


def from_pavement() -> str:
    year = hl.read_scenario("first_town").changed(
        {"season.start": "2031-01-01", "season.end": "2031-12-31"}
    )
    found = [
        _mean(hl.simulate(year.changed({"season.step": step})), "evaporation", from_role="pavement")
        for step in ("1 hour", "1 day")
    ]
    return "{:,.0f} and {:,.0f} ML, {:.1f} % apart".format(
        *(_YEAR * flow * _ML for flow in found), 100.0 * abs(found[0] / found[1] - 1.0)
    )


def into_sewers() -> str:
    scenario = hl.read_scenario("old_town")
    asked = scenario.changed({"season.start": "2030-07-01"})
    people = scenario.town["galderwick"].people
    found = (
        _mean(hl.simulate(one), "infiltration", to_place="galderwick") / people / _GALLON
        for one in (asked, scenario)
    )
    return "{:.0f} over a year, {:.0f} from November to June".format(*found)


# ---- what numbers mean ------------------------------------------------------------------------


def transit() -> str:
    found = [
        float(_again(years)[1]["intake_to_outfall_time"].sel(town="larkmill", part=0.5))
        for years in (1, 3, 6)
    ]
    return "{:.2f}, {:.2f} and {:.2f} days (medians, by the surface)".format(*found)


def by_gate() -> str:
    found = hl.measures(hl.simulate(scenario := hl.read_scenario("five_towns")), scenario)
    shares = found["share_as"].sel(town="osselby", time=found["glass_date"].sel(town="osselby"))
    return ", ".join(
        f"{100.0 * float(shares.sel(count_as=gate)):.0f} % {words}"
        for gate, words in (
            ("home", "home"),
            ("home-or-workplace", "or workplace"),
            ("wastewater-plant", "plant"),
        )
    )


def three_numbers() -> str:
    table = _again(1)[1].sel(town="osselby")
    return "f {:.3f}, m {:.3f}, S {:.3f}, all at the intake".format(
        *(
            float(table[name])
            for name in (
                "season_used_share_at_intake",
                "season_mean_uses_at_intake",
                "season_return_ratio",
            )
        )
    )


def manganese() -> str:
    scenario = hl.read_scenario("first_town")
    found = operators_round(scenario, "larkmill", date(2031, 7, 15))
    hours = sum(flag.test == "manganese" for flag in found.flags)
    return f"{scenario.quality.manganese_mg_per_l:g} mg/L, {hours} hours flagged"
