"""Curve-number runoff of the National Engineering Handbook.

USDA NRCS 2004, National Engineering Handbook, Part 630, chapter 10, Examples 10-1 to 10-4 and 10-6.
Inches as printed, times 25.4 mm for our functions and back.
"""

from __future__ import annotations

import pytest
from published_checks import Check, half

from hydroloop.weather.curve_number import runoff_depth

MM_PER_INCH = 25.4


def runoff_in(rain_in, number):
    return runoff_depth(rain_in * MM_PER_INCH, number) / MM_PER_INCH


def neh(example, quantity, printed, units, ours, *, tolerance=None):
    return Check(
        source=f"NEH 630 chapter 10 (2004) Example {example}",
        quantity=quantity,
        printed=float(printed),
        tolerance=half(printed) if tolerance is None else tolerance,
        ours=ours,
        units=units,
    )


# Hourly sums of rain and of runoff [in], CN 80.
RAIN_SO_FAR = (
    0,
    0.15,
    0.30,
    0.62,
    1.01,
    1.27,
    1.36,
    1.36,
    1.38,
    1.38,
    1.55,
    1.87,
    2.25,
    2.61,
    2.66,
    2.68,
    3.22,
    4.17,
    4.82,
    4.93,
    5.00,
)
RUNOFF_SO_FAR = (
    0,
    0,
    0,
    0,
    0.08,
    0.18,
    0.22,
    0.22,
    0.23,
    0.23,
    0.32,
    0.48,
    0.72,
    0.97,
    1.00,
    1.02,
    1.42,
    2.18,
    2.74,
    2.83,
    2.89,
)


def runoff_so_far_in(hour):
    """Runoff of the storm up to an hour."""
    return runoff_in(RAIN_SO_FAR[hour], 80)


CHECKS: list[Check] = [
    neh("10-1", "runoff of 4.3 in, CN 74", "1.82", "in", lambda: runoff_in(4.3, 74)),
    neh("10-2", "runoff of 4.3 in, dry ground, CN 55", "0.65", "in", lambda: runoff_in(4.3, 55)),
    neh("10-2", "runoff of 4.3 in, wet ground, CN 88", "3.01", "in", lambda: runoff_in(4.3, 88)),
    neh("10-3", "runoff of 5.1 in, CN 75", "2.53", "in", lambda: runoff_in(5.1, 75)),
    neh("10-3", "runoff of 5.1 in, CN 69", "2.03", "in", lambda: runoff_in(5.1, 69)),
    neh(
        "10-3",
        "runoff of 400 and 230 acres together",
        "2.35",
        "in",
        lambda: (400 * runoff_in(5.1, 75) + 230 * runoff_in(5.1, 69)) / 630,
    ),
    neh("10-4", "runoff of 5.1 in, CN 73", "2.36", "in", lambda: runoff_in(5.1, 73)),
    neh("10-4", "runoff of 5.1 in, CN 72.8", "2.34", "in", lambda: runoff_in(5.1, 72.8)),
    # The printed sums are themselves read off a rounded table: 0.01.
    *(
        neh(
            "10-6",
            f"storm in progress, runoff after {hour} h",
            f"{printed:.2f}",
            "in",
            lambda hour=hour: runoff_so_far_in(hour),
            tolerance=0.01,
        )
        for hour, printed in enumerate(RUNOFF_SO_FAR)
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what the handbook prints."""
    check.holds()
