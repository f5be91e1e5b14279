"""Curve-number runoff in SI units.

FHWA 2002, Highway Hydrology, HDS No. 2, FHWA-NHI-02-001, Example 5.4: five pieces of land, 122 mm
of rain. Areas from its table (0.6 ha of woodland; its text says 0.4). Units as printed, ha and mm.
"""

from __future__ import annotations

import pytest
from published_checks import Check, half

from hydroloop.weather.curve_number import retention_depth, runoff_depth, weighted_curve_number

AREAS_HA = (5.2, 4.6, 6.0, 1.2, 0.6)
NUMBERS = (70, 75, 83, 94, 70)


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
    hds2("weighted curve number", "77.4", "-", lambda: weighted_curve_number(NUMBERS, AREAS_HA)),
    hds2("retention, CN 77", "76", "mm", lambda: retention_depth(77)),
    hds2("initial abstraction, a fifth of it", "15", "mm", lambda: 0.2 * retention_depth(77)),
    # It goes on with the rounded 76 and 15 mm: 0.6.
    hds2("runoff of 122 mm, CN 77", "62", "mm", lambda: runoff_depth(122.0, 77), tolerance=0.6),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what HDS-2 prints."""
    check.holds()
