"""Curve-number runoff in SI units.

FHWA 2002, Highway Hydrology, HDS No. 2, FHWA-NHI-02-001, Example 5.4: 122 mm
of rain on land of curve number 77.
"""

from __future__ import annotations

import pytest
from published_checks import Check, half

from hydroloop.weather.curve_number import runoff_depth


def hds2(quantity, printed, units, ours, *, tolerance=None):
    return Check(
        source="HDS-2 (2002) Example 5.4",
        quantity=quantity,
        printed=float(printed),
        tolerance=half(printed) if tolerance is None else tolerance,
        ours=ours,
        units=units,
    )


CHECKS: list[Check] = [
    # It goes on with a retention rounded to 76 mm and a fifth of it to 15 mm: 0.6.
    hds2("runoff of 122 mm, CN 77", "62", "mm", lambda: runoff_depth(122.0, 77), tolerance=0.6),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what HDS-2 prints."""
    check.holds()
