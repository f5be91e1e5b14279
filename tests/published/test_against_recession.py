"""Rivers that fall without rain, in a run, compared with printed recessions.

De Laat & Savenije, lecture notes LN0262/09/1, problem 24: flows of five days, and the ratio of one
to the next, .872, which the catchment's recession is taken from. Brutsaert 2008, Water Resources
Research 44 (from memory): e-folding times of 30, 45 and 60 days are half-lives of 21, 31 and 42.
Ratios of days, as rules (from memory): surface runoff .2 to .8, groundwater .93 to .995, against a
catchment of 150 km2 of default settings. A stream holds the water that its ground gave some days
longer: compared is what the ground gives.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from file_scenarios import head, rows, run, thirsty_town
from published_checks import Check, half

from hydroloop.record import flow_mask, flow_total

FIRST = np.datetime64("2031-06-01")
LAND = """
[weather]
file = "weather.csv"
[river.wren]
length = "10 km"
catchment = "{area} km2"
catchment_at_end = "{area} km2"
soil_start = "0 %"
baseflow = "{flow} m3/s"
{more}
"""


def run_dry(land: str, days: int, rain_mm: float = 0.0):
    """Record of a catchment on which it rains on the first day alone."""
    time = FIRST + np.arange(days)
    weather = [(day, rain_mm * (day == FIRST), 12, 20) for day in time]
    text = head(time[0], time[-1]) + land + thirsty_town("wren", 2, 6)
    return run(text, weather=rows("date,rain [mm],tmin [C],tmax [C]", weather))


@cache
def from_ground(recession: str = "") -> np.ndarray:
    """What the ground of a catchment gives, day by day [m3/d]."""
    more = f'recession = "{recession}"' if recession else ""
    record = run_dry(LAND.format(area=200, flow=4, more=more), 70)
    return flow_total(record, flow_mask(record, kind="baseflow", from_place="wren")).values


def half_life(recession: str) -> float:
    """Days in which baseflow falls to half."""
    flow = from_ground(recession)
    return float(np.interp(np.log(2.0), -np.log(flow / flow[0]), np.arange(len(flow))))


@cache
def of_a_storm() -> np.ndarray:
    """What the streams of a catchment hand on after 100 mm on one day, of which next to nothing
    comes by the ground [m3/d]."""
    more = 'curve_number = 95\ninterflow_share = "0 %"'
    record = run_dry(LAND.format(area=150, flow=0.001, more=more), 5, 100.0)
    return flow_total(record, flow_mask(record, target="wren/reach_1", kind="river")).values


RATIO, FALLING = 0.872, "1.50 1.31 1.14 1.00"
ROUNDED = 0.0005  # of the ratio; it grows with the days
RECESSION = f"{-1.0 / np.log(RATIO):.6f} day"
PROBLEM = "De Laat & Savenije LN0262/09/1, problem 24"
BRUTSAERT = "Brutsaert 2008, Water Resources Research 44 (from memory)"
RULES = "Ratios of days by kind of flow, 3 ranges (from memory)"
CHECKS: list[Check] = [
    *(
        Check(
            PROBLEM,
            f"flow {day} days after one of 1.72 mm/d, without rain",
            float(text),
            half(text) + 1.72 * day * ROUNDED * RATIO ** (day - 1),
            lambda day=day: 1.72 * float(from_ground(RECESSION)[day] / from_ground(RECESSION)[0]),
            "mm/d",
        )
        for day, text in enumerate(FALLING.split(), start=1)
    ),
    *(
        Check(
            BRUTSAERT,
            f"half-life of baseflow that falls to 37 % in {days} days",
            float(text),
            half(text),
            lambda days=days: half_life(f"{days} day"),
            "d",
            "memory",
        )
        for days, text in ((30, "21"), (45, "31"), (60, "42"))
    ),
    Check(
        RULES,
        "storm runoff over that of the day before, .2 to .8, from 150 km2",
        0.5,
        0.3,
        lambda: float(of_a_storm()[3] / of_a_storm()[2]),
        "-",
        "memory",
    ),
    Check(
        RULES,
        "baseflow over that of the day before, .93 to .995, default recession",
        0.9625,
        0.0325,
        lambda: float(from_ground()[40] / from_ground()[39]),
        "-",
        "memory",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check: Check):
    """What a catchment gives without rain falls as it was printed."""
    check.holds()
