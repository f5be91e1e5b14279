"""Storms on the open ground of towns, compared with TR-55, HDS-2 and volumes of rain in the press.

USDA SCS 1986, TR-55, Table 2-1: runoff of 4 and 8 in. FHWA 2002, HDS-2, Example 5.4: 122 mm on
curve number 77; it goes on with a retention rounded to 76 mm and a fifth of it to 15: 0.6 mm. Each
storm falls on the first day of a season on towns whose soil is half full, which is average
moisture; compared is what their soil sheds into storm drains. An archive of questions on
mathematics, and a newspaper of July 2010 (as given in notes): gallons of an inch of rain on an acre
and on 411 square miles.
"""

from __future__ import annotations

from functools import cache

import pytest
from file_scenarios import thirsty_town
from operator_units import GAL
from published_checks import Check, half
from storms import INCH_MM, TOWN, a_days_rain, rained_on

from hydroloop.record import flow_mask, flow_total

NUMBERS = (50, 55, 60, 65, 70, 75, 77, 80, 85, 90, 95)
TABLE = {
    4.0: ".33 .53 .76 1.03 1.33 1.67 2.04 2.46 2.92 3.43",
    8.0: "2.25 2.78 3.33 3.89 4.46 5.04 5.63 6.21 6.81 7.40",
}
RIVER = """
[river.wren]
length = "20 km"
inflow = "20 m3/s"
"""
CATCHMENT = """
[river.mere]
length = "10 km"
catchment = "{area}"
catchment_at_end = "{area}"
"""


@cache
def shed_mm(rain_mm: float) -> dict[int, float]:
    """Runoff of the open ground of each town [mm], by its curve number."""
    towns = "".join(TOWN.format(k=number, number=number, paved=5) for number in NUMBERS)
    record = rained_on(RIVER + towns, a_days_rain(rain_mm))
    first = record["rate"].isel(time=0)
    return {
        number: float(
            first.isel(flow=flow_mask(record, source=f"t{number}/soil", kind="stormwater")).sum()
        )
        / 0.95e3
        for number in NUMBERS
    }


@cache
def rained_gallons(area: str) -> float:
    """An inch of rain on a catchment of such an area, as the record has it."""
    places = CATCHMENT.format(area=area) + thirsty_town("mere", 2, 6)
    record = rained_on(places, a_days_rain(INCH_MM))
    on_land = flow_mask(record, kind="rain", to_place="mere", to_role="soil")
    return float(flow_total(record, on_land)[0]) / GAL


CHECKS: list[Check] = [
    *(
        Check(
            "TR-55 (1986) Table 2-1",
            f"{rain:g} in on a town, curve number {number}",
            float(text),
            0.0051,
            lambda rain=rain, number=number: shed_mm(rain * INCH_MM)[number] / INCH_MM,
            "in",
        )
        for rain, row in TABLE.items()
        for number, text in zip([n for n in NUMBERS if n != 77], row.split(), strict=True)
    ),
    Check(
        "HDS-2 (2002) Example 5.4",
        "122 mm on a town, curve number 77",
        62,
        0.6,
        lambda: shed_mm(122.0)[77],
        "mm",
    ),
    Check(
        "archive of questions on mathematics, 43,560 ft2",
        "an inch of rain on an acre",
        27154.29,
        half("27154.29"),
        lambda: rained_gallons("1 acre"),
        "gal",
    ),
    Check(
        "newspaper of July 2010, 411 square miles (as given in notes)",
        "an inch of rain on 411 square miles",
        7.1,
        half("7.1"),
        lambda: rained_gallons("411 mi2") / 1e9,
        "1e9 gal",
        "second-hand",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What runs off the open ground of a town is what was printed."""
    check.holds()
