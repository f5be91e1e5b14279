"""Evaporation in the record of a run, whose weather is that of printed examples.

McMahon et al. 2013, supplement S19 (as given in quotations): Alice Springs, 20 July 1980, grass and
open water. FAO-56 (Allen et al. 1998), from memory: Example 18, Uccle near Brussels, 6 July, and
Example 20, Lyon in July from temperatures alone. The day's weather is the file of a scenario with a
full reservoir; grass is the record's reference evaporation, open water what leaves the reservoir
over its surface. McMahon et al. take 273.2 K at 0 C, we take 273.16: 0.0015 mm.
"""

from __future__ import annotations

from functools import cache

import pytest
from file_scenarios import head, rows, run, thirsty_town
from published_checks import Check, half

from hydroloop.record import flow_mask

PLACE = """
[weather]
file = "weather.csv"
latitude = "{latitude}"
elevation = "{elevation} m"
[river.wren]
length = "10 km"
inflow = "3 m3/s"
[reservoir.mere]
river = "wren"
at = "5 km"
capacity = "6000 ML"
area = "0.4 km2"
start = "100 %"
"""
DAYS = {
    "Alice Springs": (
        "2031-07-21",  # day 202 of a common year
        "23.7951 S",
        546,
        {
            "tmin [C]": 2,
            "tmax [C]": 21,
            "humidity min [%]": 25,
            "humidity max [%]": 71,
            "wind [m/s]": 0.5903,
            "radiation [MJ/m2/day]": 17.1940,
        },
    ),
    "Uccle": (
        "2031-07-06",
        "50.8 N",
        100,
        {
            "tmin [C]": 12.3,
            "tmax [C]": 21.5,
            "humidity min [%]": 63,
            "humidity max [%]": 84,
            "wind at 10m [km/h]": 10,
            "sunshine [h]": 9.25,
        },
    ),
    "Lyon": ("2031-07-15", "45.7167 N", 200, {"tmin [C]": 14.8, "tmax [C]": 26.6}),
}


@cache
def evaporated(place: str) -> tuple[float, float]:
    """Evaporation of grass and of open water on the day [mm]."""
    day, latitude, elevation, weather = DAYS[place]
    text = head(day, day) + PLACE.format(latitude=latitude, elevation=elevation)
    table = rows(",".join(["date", "rain [mm]", *weather]), [(day, 0, *weather.values())])
    record = run(text + thirsty_town("wren", 2, 6), weather=table)
    leaves = flow_mask(record, from_role="reservoir", kind="evaporation")
    from_water = float(record["rate"].isel(flow=leaves).sum())
    return float(record["et0_mm"].item()), 1e3 * from_water / 0.4e6


ALICE = "McMahon et al. 2013, supplement S19 (as given in quotations)"
CHECKS: list[Check] = [
    Check(
        ALICE,
        "grass at Alice Springs, in a run",
        2.0775,
        0.0015,
        lambda: evaporated("Alice Springs")[0],
        "mm/d",
        "second-hand",
    ),
    Check(
        ALICE,
        "open water at Alice Springs, from a reservoir in a run",
        2.9797,
        0.0015,
        lambda: evaporated("Alice Springs")[1],
        "mm/d",
        "second-hand",
    ),
    *(
        Check(
            f"FAO-56 Example {example} (from memory)",
            f"{place}: ETo in a run",
            float(text),
            half(text),
            lambda place=place: evaporated(place)[0],
            "mm/d",
            "memory",
        )
        for example, place, text in ((18, "Uccle", "3.88"), (20, "Lyon", "5.0"))
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What evaporates in a run is what was printed."""
    check.holds()
