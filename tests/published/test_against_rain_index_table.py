"""Standardised precipitation index and the cumulative probability it stands for.

Table 1 of an article in J. Earth Science & Climatic Change 6:319 (journal name from its number, by
memory). Its row for plus and minus three is left out: it prints .0014 for .0013. Held the way it
is printed, from index to probability: the index of the printed probability lies within what the
last digit of the probability leaves open.
"""

from __future__ import annotations

import math

import pytest
from published_checks import Check

from hydroloop.weather.rain_index import standard_score

TABLE = {-2.5: 0.0062, -2.0: 0.0228, -1.5: 0.0668, -1.0: 0.1587, -0.5: 0.3085, 0.0: 0.50,
         0.5: 0.6915, 1.0: 0.8413, 1.5: 0.9332, 2.0: 0.9772, 2.5: 0.9938}


def open_by_rounding(index):
    """Half a unit in the fourth place of the probability, over the normal density there."""
    return 0.5e-4 / (math.exp(-0.5 * index**2) / math.sqrt(2.0 * math.pi)) * 1.05


CHECKS: list[Check] = [
    Check("J. Earth Science & Climatic Change 6:319 Table 1", f"index at probability {chance:g}",
          index, open_by_rounding(index), lambda chance=chance: standard_score(chance))
    for index, chance in TABLE.items()
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what the table prints."""
    check.holds()
