"""Curve numbers by moisture and recession of storm runoff, as printed.

USDA NRCS, National Engineering Handbook 630, chapter 10, Table 10-1 (from memory): curve numbers of
dry and wet ground; ours come by formula, which agrees in these four cells of the twelve. Colorado
Water Conservation Board, document 69666, p. 22: runoff read off a chart. Singh & Stall 1971, Water
Resources Research 7, abstract: time in which surface flow falls tenfold, as a range.
"""

from __future__ import annotations

import numpy as np
import pytest
from published_checks import Check, half

from hydroloop.waterworks.drainage import runoff_recession
from hydroloop.weather import curve_number_at, runoff_depth

MM_PER_INCH = 25.4
DRY, WET = {80: 63, 40: 22}, {60: 78, 50: 70}
TABLE = "NEH 630 chapter 10 Table 10-1"
CHART = "Colorado Water Conservation Board document 69666 p. 22"
# Rain and runoff [in] of the design storm on wet ground.
DESIGN_STORM = {0.66: 0.08, 1.01: 0.28, 1.43: 0.55, 1.73: 0.80, 2.15: 1.10, 2.57: 1.48}


def check(source, quantity, printed, tolerance, ours, units="-", known="memory"):
    return Check(
        source=source,
        quantity=quantity,
        printed=float(printed),
        tolerance=tolerance,
        ours=ours,
        units=units,
        known=known,
    )


def of_moisture(wetness, words, printed):
    """Curve numbers of dry or wet ground against the table."""
    return [
        check(
            TABLE,
            f"curve number of {words} ground, average {number}",
            one,
            half("1"),
            lambda number=number: curve_number_at(wetness, float(number)),
        )
        for number, one in printed.items()
    ]


def tenfold_days(area_km2):
    return runoff_recession(area_km2) * float(np.log(10.0))


CHECKS: list[Check] = [
    *of_moisture(0.0, "dry", DRY),
    *of_moisture(1.0, "wet", WET),
    *(
        check(
            CHART,
            f"runoff of {rain} in on wet ground, curve number 88",
            printed,
            0.05,
            lambda rain=rain: runoff_depth(rain * MM_PER_INCH, 88.0) / MM_PER_INCH,
            "in",
            "read",
        )
        for rain, printed in DESIGN_STORM.items()
    ),
    *(
        check(
            "Singh & Stall 1971 (abstract)",
            f"days in which storm runoff of {area:,} km2 falls tenfold, printed 1.8 to 6.0",
            3.9,
            2.1,
            lambda area=area: tenfold_days(area),
            "d",
            "read",
        )
        for area in (50, 500, 5000)
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check: Check):
    """What we compute agrees with what is printed."""
    check.holds()
