"""Day length by month at 46 N.

Mimikou & Baltas 2002, as given in a test of an evapotranspiration library; hours, printed for
mid-month days. Tolerance 0.12 h: the source reads a table by half degrees.
"""

from __future__ import annotations

import pytest
from published_checks import Check

from hydroloop.weather import sun

# The 15th of each month, as day of a common year.
MID_MONTH = (15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349)
PRINTED = (8.9, 10.1, 11.6, 13.3, 14.7, 15.5, 15.2, 13.9, 12.3, 10.7, 9.2, 8.5)

CHECKS: list[Check] = [
    Check(
        source="Mimikou & Baltas 2002 (as given in a library's test)",
        quantity=f"day length at 46 N, month {month}",
        printed=printed,
        tolerance=0.12,
        ours=lambda day=day: sun.day_length_h(46.0, day),
        units="h",
        known="second-hand",
    )
    for month, (day, printed) in enumerate(zip(MID_MONTH, PRINTED, strict=True), start=1)
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """Day lengths agree with the printed ones."""
    check.holds()
