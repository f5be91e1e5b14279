"""Storms on dry and on wet ground in a run, compared with the handbook's curve numbers.

USDA NRCS, National Engineering Handbook 630, chapter 10, Table 10-1 (from memory) says which curve
number dry or wet ground has; USDA SCS 1986, TR-55, Table 2-1, the runoff of a storm at that number.
Each storm falls on catchments whose soil is empty or full. The handbook prints whole numbers, and a
run takes them from a formula: the tolerance is half a curve number, from TR-55's columns five above
and five below. Cells of Table 10-1 that the formula misses stand among the numbers that are not
met.
"""

from __future__ import annotations

import pytest
from published_checks import Check
from storms import runoff_of_a_day

WET, DRY = {50: 70, 45: 65, 35: 55, 30: 50}, {85: 70}
"""Curve number that wet, or dry, ground has, by that of average ground, as printed."""
COLUMNS = (45, 50, 55, 60, 65, 70, 75)
RUNOFF = {
    4.0: ".18 .33 .53 .76 1.03 1.33 1.67",
    6.0: ".80 1.14 1.52 1.92 2.35 2.81 3.28",
}


def checks(words: str, soil: str, numbers: dict[int, int]):
    """Each storm on ground of each number, at one moisture."""
    for rain, text in RUNOFF.items():
        row = dict(zip(COLUMNS, map(float, text.split()), strict=True))
        for number, then in numbers.items():
            yield Check(
                "NEH 630 chapter 10 Table 10-1 (from memory), with TR-55 (1986) Table 2-1",
                f"{rain:g} in on {words} ground, curve number {number}, then {then}",
                row[then],
                (row[then + 5] - row[then - 5]) / 20.0,
                lambda rain=rain, number=number: runoff_of_a_day(rain, tuple(numbers), soil=soil)[
                    number
                ],
                "in",
                "memory",
            )


CHECKS: list[Check] = [*checks("wet", "100 %", WET), *checks("dry", "0 %", DRY)]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check: Check):
    """What runs off dry and wet ground in a run is what the handbooks print."""
    check.holds()
