"""Abstractions of storms and the water of the air, compared with Chow, Maidment & Mays 1988.

Applied Hydrology, from memory: Example 1.1.1 (12,900 km3 of water in the air, 577,000 km3 of rain a
year); Examples 5.5.1 and 5.5.2 (5.00 in on a watershed of curve number 83.8, on average and on wet
ground); Example 5.5.3 (a storm in hours, curve number 80); Example 12.3.1 (Pearson III factors of
the floods of the Guadalupe River, whose logarithms have a skew of -0.0696).

The storms fall as the weather of a scenario in hours, on catchments whose soil is half full for
average ground and full for wet ground; compared is the storm water in the record.
"""

from __future__ import annotations

import pytest
from published_checks import Check, half
from storms import by_hour, runoff_by_hour

import hydroloop as hl
from hydroloop.measures import turnover_time
from hydroloop.weather import pearson3_factor

BOOK = "Chow, Maidment & Mays 1988, Applied Hydrology, Example {} (from memory)"

# Example 5.5.3: sums after each hour [in].
RAIN = ".20 .90 1.27 2.31 4.65 5.29 5.36"
EXCESS = "0 .06 .18 .76 2.59 3.15 3.21"
ALL_AT_ONCE = (5.0,)


def air_days():
    """Turnover of the water in the air."""
    record = hl.steady_record({"air": 577_000.0}, {"air": 577_000.0 / 12_900.0}, {}, steps=1)
    return 365.25 * turnover_time(record).item()


def chow(example, quantity, printed, units, ours, *, tolerance=None):
    return Check(
        BOOK.format(example),
        quantity,
        float(printed),
        half(printed) if tolerance is None else tolerance,
        ours,
        units,
        "memory",
    )


CHECKS: list[Check] = [
    chow("1.1.1", "residence time of water in the air", "8.2", "d", air_days),
    chow(
        "5.5.1",
        "5.00 in on average ground, curve number 83.8",
        "3.25",
        "in",
        lambda: runoff_by_hour(ALL_AT_ONCE, 83.8)[0],
    ),
    # 83.8 is rounded itself: the book goes on with 92.3 for wet ground, which is 92.25 of it.
    chow(
        "5.5.2",
        "5.00 in on wet ground",
        "4.13",
        "in",
        lambda: runoff_by_hour(ALL_AT_ONCE, 83.8, "100 %")[0],
        tolerance=0.015,
    ),
    *(
        chow(
            "5.5.3",
            f"sum of the excess rain after {hour} h, curve number 80",
            text,
            "in",
            lambda hour=hour: runoff_by_hour(by_hour(RAIN), 80)[hour - 1],
        )
        for hour, text in enumerate(EXCESS.split(), start=1)
        if float(text) > 0.0
    ),
    *(
        chow(
            "12.3.1",
            f"factor K, skew -0.0696, {years} years",
            text,
            "-",
            lambda years=years: pearson3_factor(-0.0696, 1.0 - 1.0 / years),
        )
        for years, text in ((5, "0.845"), (50, "2.016"))
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what the book prints."""
    check.holds()
