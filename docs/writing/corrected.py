"""The page of numbers that were wrong once: what was found, and what a run gives today."""

from __future__ import annotations

import warnings
from collections.abc import Callable

import pandas as pd
import xarray as xr
from rained_rivers import AREAS_KM2, WEATHERS
from writing import numbers_of_today as today
from writing.markdown import cell, table

import hydroloop as hl
from hydroloop import measures, plants, units, weather

_HEAD = """# Numbers that were wrong once

Readers with a textbook beside the screen found these. *Was* is what they met; *today* comes from
runs, made when the documentation is built. The pages that are named tell why, and the tests that
are named hold it.
"""
_RIVERS = """## Rivers of 20 to 2,000 km2

Held by `tests/agreement/test_rivers_look_like_rivers.py`, which tells where its bands come from:
the runoff ratio lies between the curves for forest and for grass (Zhang and others 2001) with the
42 mm by which they miss real catchments, the baseflow index between .38 and .80, flashiness between
.05 and .5, the flow on 95 of 100 days between .02 (0 where the air could take more than twice the
rain) and .40 of the mean. Why wet winters lie above the curves of Turc and Pike and of Budyko
stands in [from rain to river](land.md#does-it-look-like-a-river).

"""
_ROW = tuple[str, str, Callable[[], str]]


def page() -> str:
    """The page, from runs."""
    parts = [_HEAD]
    for title, words, rows in _GROUPS:
        told = [(cell(what), cell(was), cell(tell())) for what, was, tell in rows]
        parts.append(f"## {title}\n\n{words}\n\n" + table(("what", "was", "today"), told))
    rivers = [
        (cell(under), f"{area:,}", *today.signatures(under, area))
        for under in WEATHERS
        for area in AREAS_KM2
    ]
    parts.append(
        _RIVERS
        + table(
            (
                "weather",
                "km2",
                "runoff ratio",
                "between",
                "Turc and Pike",
                "Budyko",
                "baseflow index",
                "flashiness",
                "Q95 over mean",
            ),
            rivers,
        )
    )
    return "\n".join(parts)


# ---- in Python --------------------------------------------------------------------------------


def _said(ask: Callable[[], object]) -> str:
    """The answer, or what is said in place of one."""
    with warnings.catch_warnings(record=True) as warned:
        warnings.simplefilter("always")
        try:
            answer = str(ask())
        except hl.HydroloopError as error:
            return f"refused: {error}"
    return " ".join([answer, *(f"Warning: {one.message}" for one in warned)])


def _lake(inflow: float = 2.0, **more: object) -> xr.Dataset:
    """A lake that a river runs through."""
    edges = pd.date_range("2031-01-01", periods=3)
    rows = [
        (day, *flow)
        for day in edges[:-1]
        for flow in (("upstream", "lake", "river", inflow), ("lake", "downstream", "river", 2.0))
    ]
    flows = pd.DataFrame(rows, columns=["time", "source", "target", "kind", "rate"])
    return hl.water_record(pd.DataFrame({"lake": 10.0}, index=edges), flows, **more)


def _counted() -> str:
    return _said(lambda: f"{float(hl.count_uses(_lake())['mean_uses'].max()):g} uses.")


def _long_run() -> str:
    return _said(
        lambda: (
            f"long_run: {hl.long_run(_lake())['time_to_leave'].item():g} days; "
            f"measures: {hl.measures(_lake())['turnover_time'].item():g} days"
        )
    )


def _on_records() -> str:
    lake = _lake()
    return _said(
        lambda: (
            f"S = {measures.return_ratio(lake)[-1, 0, 0]:g}, "
            f"{measures.turnover_time(lake)[0, 0]:g} days"
        )
    )


def _rounded_table() -> str:
    def gap() -> str:
        lake = _lake(1.99998, balance={"lake": "upstream > lake"})
        return f"{float(lake['rate'].sel(flow='upstream > lake')[0]):g} m3/d."

    return _said(gap)


def _humid() -> str:
    air = {"tmin_c": 14.8, "tmax_c": 26.6, "wind_m_per_s": 2.0, "sunshine_h": 9.0, "humidity": 63.0}
    return _said(lambda: weather.reference_evaporation(air, 196, weather.Site(45.72, 200.0)))


def _surface_rate() -> str:
    return f"{units.parse('398 gpd/ft2', 'surface_rate').value:.1f} m/d"


def _stray_plant() -> str:
    """Effluent share of a lower town's tap, where the upper town's plant is called WWTP."""
    edges = pd.date_range("2031-01-01", periods=11)
    flows = [
        ("upstream", "river", "upstream", 10),
        ("river", "a/mains", "intake", 2),
        ("a/mains", "a/homes", "home_use", 2),
        ("a/homes", "WWTP", "sewage", 2),
        ("WWTP", "low", "outfall", 2),
        ("river", "low", "river", 8),
        ("low", "b/mains", "intake", 3),
        ("b/mains", "b/homes", "home_use", 3),
        ("b/homes", "sky", "evaporation", 3),
        ("low", "downstream", "river", 7),
    ]
    rows = [(day, *flow) for day in edges[:-1] for flow in flows]
    table = pd.DataFrame(rows, columns=["time", "source", "target", "kind", "rate"])
    stores = ["river", "a/mains", "a/homes", "WWTP", "low", "b/mains", "b/homes"]
    record = hl.water_record(pd.DataFrame(5.0, index=edges, columns=stores), table)
    way = {"town": "a", "town_to": "b"}
    return _said(lambda: f"{hl.measures(record)['outfall_to_tap_share'].sel(way).item()}.")


_GROUPS: tuple[tuple[str, str, tuple[_ROW, ...]], ...] = (
    (
        "Water before the season",
        "Why: [before the first day](before.md). Held by "
        "`tests/agreement/test_a_season_agrees_with_the_years_around_it.py`.",
        (
            (
                "the five towns over their own year six times: what all stores gain in year 1 and "
                "in year 4 (the first loses a wet day: years of 365 days drift in the calendar)",
                "17,600 and 0 ML",
                today.gained,
            ),
            ("the same: groundwater alone", "-", lambda: today.gained("groundwater")),
            (
                "the same: infiltration into sewers in year 1 and in year 6",
                "22 and 30 ML/day",
                today.seeping_in,
            ),
            (
                "the same: used share of the town that differs most, six years against one",
                "-",
                today.used_share_apart,
            ),
            (
                "the first town's half year alone, and as the last half of five years: baseflow",
                "5 and 16 ML/day",
                today.half_years,
            ),
        ),
    ),
    (
        "Rain and ground",
        "Why: [from rain to river](land.md). A river of 150 km2 under four years of Seattle's "
        "weather; held by `tests/agreement/test_rivers_look_like_rivers.py` and "
        "`test_hours_agree_with_days.py`.",
        (
            ("baseflow index", "0.97", today.bfi),
            ("flashiness", "0.07", today.flashy),
            (
                "quick flow (runoff and interflow) of a year's rain",
                "14 mm of 1,106 mm",
                today.quick_flow,
            ),
            ("20,000 people who drink from it have enough water", "runs short", today.enough_water),
            (
                "recharge of an aquifer of 500 km2 with one town on it",
                "11 mm a year",
                today.recharge,
            ),
            (
                "the first town's year by the hour and by the day: evaporation of pavement",
                "423 and 716 ML",
                today.from_pavement,
            ),
            (
                "infiltration in the old town, 35 gal/person/day being asked for",
                "74, with a hidden cap that half of the days met",
                today.into_sewers,
            ),
        ),
    ),
    (
        "What numbers mean",
        "Why: [age, transit time, turnover time](times.md) and [reuse](reuse.md). The five towns, "
        "unless another is named; held by `tests/closed_form/test_transit_of_any_length.py`, "
        "`tests/properties/test_three_numbers_at_one_intake.py` and "
        "`tests/unit/test_what_counts_as_a_use.py`.",
        (
            (
                "Larkmill's intake to its outfall in one, three and six years of the same weather",
                "4.1, 10 and 24 days (means)",
                today.transit,
            ),
            (
                "Osselby's glass on its most-used day, by what counts as a use",
                "37 % home, 52 % or workplace, 57 % plant; what was in no home was called never "
                "used",
                today.by_gate,
            ),
            ("Osselby's three numbers", "f and m at the tap, S at the intake", today.three_numbers),
            (
                "manganese of river water, and hours of a day in which the first town is flagged "
                "for it",
                "0.24 mg/L, 24 hours",
                today.manganese,
            ),
        ),
    ),
    (
        "In Python",
        "Held by `tests/unit/test_bounds.py`, `test_units_of_plants.py`, `test_balanced_tables.py` "
        "and `test_own_accounts_ask_plainly.py`.",
        (
            ("`reference_evaporation` with a humidity of 63", "0.0", _humid),
            (
                "`runoff_depth(50, 120)`",
                "212 mm of 50 mm",
                lambda: _said(lambda: weather.runoff_depth(50, 120)),
            ),
            (
                "`runoff_depth(50, 0)`",
                "division by zero",
                lambda: _said(lambda: weather.runoff_depth(50, 0)),
            ),
            (
                "`log_inactivation` at the CT of the viruses' table, which is of 4 logs",
                "3",
                lambda: _said(lambda: plants.log_inactivation(6.0, 6.0, germ="virus")),
            ),
            (
                "`398 gpd/ft2` read as a surface rate",
                "in m/s, where plants take m/d",
                _surface_rate,
            ),
            (
                "`sludge_solids`, beside siblings that take m3/d",
                "m3/s",
                lambda: "m3/s" if hasattr(plants, "sludge_solids") else "no longer there",
            ),
            (
                "effluent share at a tap below a plant that is called WWTP",
                "a false 0",
                _stray_plant,
            ),
            ("`return_ratio` and `turnover_time` of a record", "AttributeError", _on_records),
            ("`count_uses` of a lake where nobody lives", "refused: a gate was demanded", _counted),
            ("`long_run` and `measures` of it", "refused: a gate was demanded", _long_run),
            (
                "a printed table that closes to 1e-5, with the inflow named as what takes the rest",
                "refused",
                _rounded_table,
            ),
        ),
    ),
)
