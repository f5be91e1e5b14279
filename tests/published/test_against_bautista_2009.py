"""Day length by month at 20 N.

Bautista et al. 2009, Atmosfera 22(4), as given in a test of an evapotranspiration library; hours,
printed for mid-month days. Tolerance 0.1 h: which day counts as mid-month is not said.
"""

from __future__ import annotations

import pytest
from published_checks import Check

from hydroloop.weather import sun

# The 15th of each month, as day of a common year.
MID_MONTH = (15, 46, 74, 105, 135, 166, 196, 227, 258, 288, 319, 349)
PRINTED = (10.9, 11.3, 11.9, 12.5, 12.9, 13.2, 13.1, 12.7, 12.1, 11.5, 11.0, 10.8)

CHECKS: list[Check] = [
    Check(
        source="Bautista et al. 2009 (as given in a library's test)",
        quantity=f"day length at 20 N, month {month}",
        printed=printed,
        tolerance=0.1,
        ours=lambda day=day: sun.day_length_h(20.0, day),
        units="h",
        known="second-hand",
    )
    for month, (day, printed) in enumerate(zip(MID_MONTH, PRINTED, strict=True), start=1)
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """Day lengths agree with the printed ones."""
    check.holds()
