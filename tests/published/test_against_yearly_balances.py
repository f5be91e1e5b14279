"""Yearly balances of land and rivers, and what sewers take in, compared with printed figures.

Curves: Turc 1954 and Pike 1964, Budyko 1974, their values worked out from the printed formula.
Panola Mountain: Aulenbach, Riley & Cruz 2022, abstract: runoff over rain of single years. Korzun
1978, as given in Shuttleworth, Terrestrial Hydrometeorology, ch. 1: a few percent of the rain of a
dry south-west run off, taken here as 0.5 to 10 %. Metcalf & Eddy, Wastewater Engineering (from
memory): infiltration of 0.2 to 28 m3 per day and hectare. Nature Geoscience 2024, "Majority of
global river flow sustained by groundwater", abstract: 15,567 basins.

Chow, Maidment & Mays 1988, section 5.5: curve numbers of dry and wet ground, worked out from the
printed formula.
"""

from __future__ import annotations

from functools import cache

import pytest
from conserves import assert_closes
from published_checks import Check

import hydroloop as hl
from hydroloop.record import flow_mask
from hydroloop.scenario import read_toml
from hydroloop.weather import (
    baseflow_index,
    budyko_evaporation,
    curve_number_at,
    turc_pike_evaporation,
)

RIVER = """
title = "A river that rises from its catchment"
[season]
start = 2031-01-01
end = 2038-12-31
[weather]
climate = "{climate}"
latitude = "47 N"
[river.wren]
length = "10 km"
catchment = "150 km2"
[town.larkmill]
people = 20000
intake = {{ river = "wren", at = "2 km" }}
outfall = {{ river = "wren", at = "6 km" }}
"""


@cache
def land_of(climate):
    """Runoff, recharge and baseflow index of a catchment, runoff and recharge over its rain, and
    infiltration of its town [m3/ha/d]."""
    scenario = read_toml(RIVER.format(climate=climate))
    record = hl.simulate(scenario)
    assert_closes(record)
    rain = float(record["rain_mm"].sum())

    def rate(**of):
        return record["rate"].isel(flow=flow_mask(record, **of)).sum("flow").values

    flow = rate(target=("wren/reach_1",), kind=("river",))
    recharge = rate(target=("wren/groundwater",), kind=("recharge",))
    infiltration = rate(kind="infiltration")
    hectares = 20_000 / 1500.0 * 100.0  # the default of land.area: 1,500 people per km2
    return {
        "runoff": flow.sum() / 150e3 / rain,
        "recharge": recharge.sum() / 150e3 / rain,
        "baseflow": baseflow_index(flow),
        "infiltration": infiltration.mean() / hectares,
    }


def middle(source, quantity, ends, ours, units, known):
    """A printed range, as its middle and half its width."""
    low, high = ends
    return Check(
        source,
        f"{quantity}, printed {low:g} to {high:g}",
        0.5 * (low + high),
        0.5 * (high - low),
        ours,
        units,
        known,
    )


CHOW = "Chow, Maidment & Mays 1988, section 5.5 (worked out from the formula)"
DRY = {90: 79.1, 80: 62.7, 70: 49.5, 60: 38.7, 50: 29.6, 40: 21.9}
WET = {90: 95.4, 80: 90.2, 70: 84.3, 60: 77.5, 50: 69.7, 40: 60.5}
BUDYKO, TURC_PIKE = {0.5: 0.4355, 1: 0.6938, 2: 0.8940}, {0.5: 0.4472, 1: 0.7071, 2: 0.8944}
PANOLA = "Aulenbach, Riley & Cruz 2022, Panola Mountain (abstract)"
GROUNDWATER = "Nature Geoscience 2024, majority of river flow sustained by groundwater (abstract)"

CHECKS = [
    *(
        Check(
            CHOW,
            f"curve number of {words} ground, average {number}",
            printed,
            0.05,
            lambda number=number, wetness=wetness: curve_number_at(wetness, float(number)),
            known="memory",
        )
        for words, wetness, table in (("dry", 0.0, DRY), ("wet", 1.0, WET))
        for number, printed in table.items()
    ),
    *(
        Check(
            "Budyko 1974 (worked out from the formula)",
            f"evaporation over rain, aridity {aridity}",
            printed,
            0.0005,
            lambda aridity=aridity: budyko_evaporation(1.0, float(aridity)),
            known="memory",
        )
        for aridity, printed in BUDYKO.items()
    ),
    *(
        Check(
            "Turc 1954, Pike 1964 (worked out from the formula)",
            f"evaporation over rain, aridity {aridity}",
            printed,
            0.0005,
            lambda aridity=aridity: turc_pike_evaporation(1.0, float(aridity)),
            known="memory",
        )
        for aridity, printed in TURC_PIKE.items()
    ),
    middle(
        PANOLA,
        "runoff over rain of single years, against a catchment with rain all year",
        (0.13, 0.50),
        lambda: land_of("rain_all_year")["runoff"],
        "-",
        "read",
    ),
    middle(
        GROUNDWATER,
        "recharge over rain, 21 % with three times its 3, rain all year",
        (0.12, 0.30),
        lambda: land_of("rain_all_year")["recharge"],
        "-",
        "read",
    ),
    middle(
        GROUNDWATER,
        "baseflow index, 59 with its 7, rain all year",
        (0.52, 0.66),
        lambda: land_of("rain_all_year")["baseflow"],
        "-",
        "read",
    ),
    middle(
        "Korzun 1978 in Shuttleworth, ch. 1",
        "runoff over rain of dry land",
        (0.005, 0.10),
        lambda: land_of("dry_plateau")["runoff"],
        "-",
        "second-hand",
    ),
    middle(
        "Metcalf & Eddy 2003, Wastewater Engineering (from memory)",
        "infiltration of a town of default sizes",
        (0.2, 28.0),
        lambda: land_of("wet_winter")["infiltration"],
        "m3/ha/d",
        "memory",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()
