"""Share of a storm that runs off a town, compared with printed runoff coefficients.

FHWA 2002, HDS-2, Table 5.7 (after ASCE 1960): ranges by what the land is used for. Ours: 3 in of
rain on a day on towns whose soil is half full, with the paved share that TR-55 (1986), Table 2-2a,
gives such land and lawns in good condition on soil group B, curve number 61. Ranges are checked by
their middle and half their width. Lawns alone, on sand and on heavy soil, are not met, and stand
among the numbers that are not.
"""

from __future__ import annotations

from functools import cache

import pytest
from published_checks import Check
from storms import share_off_towns

# Range as printed, and the paved share of such land [%].
LAND = {
    "downtown, 85 % paved": ((0.70, 0.95), 85),
    "single families, a quarter acre, 38 % paved": ((0.30, 0.50), 38),
    "suburb, an acre, 20 % paved": ((0.25, 0.40), 20),
    "park, nothing paved": ((0.10, 0.25), 0),
    "asphalt, all paved": ((0.70, 0.95), 100),
}


@cache
def shares() -> dict[int, float]:
    paved = tuple(one for _, one in LAND.values())
    return dict(zip(paved, share_off_towns(3.0, tuple((one, 61) for one in paved)), strict=True))


CHECKS: list[Check] = [
    Check(
        "HDS-2 (2002) Table 5.7",
        f"{words}, printed {low} to {high}",
        0.5 * (low + high),
        0.5 * (high - low),
        lambda paved=paved: shares()[paved],
    )
    for words, ((low, high), paved) in LAND.items()
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check: Check):
    """As much of a storm runs off a town as the handbook has it for such land."""
    check.holds()
