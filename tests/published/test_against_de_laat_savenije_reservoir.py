"""Level of a reservoir whose inflow recedes, compared with De Laat & Savenije, problem 22.

Lecture notes LN0262/09/1, UNESCO-IHE. Inflow recedes from 10 to 1.8 m3/s in six weeks, 5 m3/s are
released, 20 km2 of water, 20.00 m at the start; rain and evaporation by the week. Printed levels in
metres: their weekly rises are by the trapezium rule, up to 1 % off, hence 0.01 m.

The scenario's inflow and weather are files. Evaporation is not a column of a weather file, so the
temperatures of each day are those at which ours comes to the printed depth. The reservoir is 100 m
deep and full to three quarters, so that its surface stays what it is within 0.3 %.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from file_scenarios import head, rows, run, thirsty_town
from published_checks import Check

from hydroloop.weather import Site, open_water_evaporation

DAYS = np.arange("2031-06-01", "2031-07-13", dtype="datetime64[D]")
RAIN_MM = (0, 0, 0, 0, 0, 23)  # of each week
EVAPORATION_MM = (40, 40, 40, 45, 45, 45)
LEVEL_M = ("20.07", "20.08", "20.04", "19.96", "19.84", "19.73")
AREA_KM2, SHARE, LATITUDE, MEAN_C = 20.0, 0.75, 45.0, 20.0
RESERVOIR = f"""
[weather]
file = "weather.csv"
latitude = "{LATITUDE} N"
[river.wren]
length = "2 km"
inflow = {{ file = "inflow.csv" }}
speed = "2.5 m/s"
width = "1 m"
[reservoir.mere]
river = "wren"
at = "1 km"
capacity = "2000000 ML"
area = "{AREA_KM2 / SHARE ** (2 / 3)} km2"
start = "{100 * SHARE} %"
release = "5 m3/s"
"""


def range_of(depth_mm: float, day: int) -> float:
    """Range of a day's temperature at which so much evaporates from open water [C]: it grows with
    the root of the range."""
    one = {"tmin_c": MEAN_C - 0.5, "tmax_c": MEAN_C + 0.5}
    return (depth_mm / float(open_water_evaporation(one, day, Site(LATITUDE, 0.0)).depth_mm)) ** 2


@cache
def levels() -> np.ndarray:
    """Level at the end of each week [m]."""
    time = np.arange(len(DAYS) + 1.0)
    recession = len(DAYS) / np.log(10.0 / 1.8)
    gone = 10.0 * recession * np.exp(-time / recession)  # still to come after each day [m3/s d]
    weather = []
    for k, date in enumerate(DAYS):
        half_range = 0.5 * range_of(EVAPORATION_MM[k // 7] / 7.0, 152 + k)  # 1 June is day 152
        weather.append((date, RAIN_MM[k // 7] / 7.0, MEAN_C - half_range, MEAN_C + half_range))
    record = run(
        head(DAYS[0], DAYS[-1]) + RESERVOIR + thirsty_town("wren", 1.5, 2),
        weather=rows("date,rain [mm],tmin [C],tmax [C]", weather),
        inflow=rows("date,flow [m3/s]", zip(DAYS, -np.diff(gone), strict=True)),
    )
    held = record["volume"].sel(store="mere/reservoir").values
    return 20.0 + (held[7::7] - held[0]) / (AREA_KM2 * 1e6)


CHECKS: list[Check] = [
    Check(
        "De Laat & Savenije LN0262/09/1, problem 22",
        f"level of the reservoir after week {week + 1}",
        float(text),
        0.01,
        lambda week=week: levels()[week],
        "m",
    )
    for week, text in enumerate(LEVEL_M)
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """The level of the reservoir in a run is what was printed."""
    check.holds()
