"""Salt and pollution in mixed tanks and lakes, compared with textbooks of differential equations.

All from memory. Edwards & Penney, Differential Equations and Boundary Value Problems, section 1.5
(Lake Erie and Lake Ontario that clear, a reservoir, tanks that fill and empty). Boyce & DiPrima,
Elementary Differential Equations, section 2.3. Zill, A First Course in Differential Equations,
section 3.1 (a tank of 300 gal, brine of 2 lb/gal, 3 gal/min). Units as printed: a unit of volume is
our m3, one of time our day.

Tracing goes by steps, and its error falls in proportion to them: compared is the limit, from a run
and one of half the step. Half of the last digit; Zill's 477.27 is 477.28 cut off, and 64.375 is
printed 64.38.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from typing import NamedTuple

import numpy as np
import pytest
from conserves import assert_closes
from published_checks import Check, half

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import Material, trace_material

STEPS = 600


class Tank(NamedTuple):
    """A mixed tank: volume and concentration at the start, flows, concentration of what enters, and
    how long it is followed."""

    volume: float
    at_start: float
    enters: float
    leaves: float
    entering: float
    time: float


def amounts(tank: Tank, steps: int) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Time, volume and what is dissolved, at the edges of so many steps."""
    time = np.linspace(0.0, tank.time, steps + 1)
    volume = tank.volume + (tank.enters - tank.leaves) * time
    network = Network(
        ["a/tank"], ["upstream", "a/tank"], ["a/tank", "downstream"], ["upstream", "river"]
    )
    rates = np.tile([tank.enters, tank.leaves], (steps, 1))
    # Edges are held in whole nanoseconds, so a step is a day and rates are those of a step.
    record = build_record(
        network, edges_of("2031-01-01", steps), volume[:, None], rates * tank.time / steps
    )
    assert_closes(record)
    # A material begins with none: what enters is one part, and mixes with what was there.
    part = trace_material(record, Material(inflow=1.0), warm_up="none").concentration.values[:, 0]
    return time, volume, (tank.at_start + part * (tank.entering - tank.at_start)) * volume


def limit(found: Callable[[int], float]) -> float:
    """What a number that depends on the count of steps comes to as they grow short."""
    return 2.0 * found(2 * STEPS) - found(STEPS)


@cache
def amount(tank: Tank, when: float | None = None) -> float:
    """What is dissolved at a time, or at the end."""

    def at(steps: int) -> float:
        time, _, held = amounts(tank, steps)
        return float(np.interp(tank.time if when is None else when, time, held))

    return limit(at)


@cache
def time_to(tank: Tank, concentration: float) -> float:
    """Time until a concentration is reached, on an exponential way to that of what enters."""

    def at(steps: int) -> float:
        time, volume, held = amounts(tank, steps)
        left = np.log(np.abs(held / volume - tank.entering))
        return float(np.interp(-np.log(abs(concentration - tank.entering)), -left, time))

    return limit(at)


def most(tank: Tank) -> float:
    """The most that is ever dissolved in it."""
    return limit(lambda steps: float(amounts(tank, steps)[2].max()))


def brine_then_water() -> float:
    """A tank of 100 gal of water: 10 min of brine, 10 min of water, at 2 gal/min."""
    salt = amount(Tank(100, 0.0, 2, 2, 0.5, 10))
    return amount(Tank(100, salt / 100, 2, 2, 0.0, 10))


ERIE = Tank(480, 5.0, 350, 350, 1.0, 2.5)
ONTARIO = Tank(1640, 5.0, 410, 410, 1.0, 8)
RESERVOIR = Tank(8000, 0.25, 500, 500, 0.05, 30)
ZILL = Tank(300, 50 / 300, 3, 3, 2.0, 400)


def printed(book, quantity, text, units, ours, *, tolerance=None):
    return Check(
        f"{book} (from memory)",
        quantity,
        float(text),
        half(text) if tolerance is None else tolerance,
        ours,
        units,
        "memory",
    )


PENNEY, BOYCE = "Edwards & Penney, s. 1.5", "Boyce & DiPrima, s. 2.3"
CHECKS: list[Check] = [
    printed(
        f"{PENNEY} Example 4",
        "Lake Erie from five to two times Lake Huron",
        "1.901",
        "a",
        lambda: time_to(ERIE, 2.0),
    ),
    printed(
        f"{PENNEY} Example 5",
        "salt in a tank of 120 gal when it is full",
        "202",
        "lb",
        lambda: amount(Tank(90, 1.0, 4, 3, 2.0, 30)),
    ),
    printed(
        f"{PENNEY} Problem 33",
        "1000 L flushed at 5 L/s from 100 to 10 kg",
        "461",
        "s",
        lambda: time_to(Tank(1000, 0.1, 5, 5, 0.0, 600), 0.01),
    ),
    printed(
        f"{PENNEY} Problem 34",
        "a reservoir of 8 thousand million ft3 from 0.25 to 0.10 %",
        "22.2",
        "d",
        lambda: time_to(RESERVOIR, 0.10),
    ),
    printed(
        f"{PENNEY} Problem 35",
        "Lake Ontario from five to two times Lake Erie",
        "5.5452",
        "a",
        lambda: time_to(ONTARIO, 2.0),
    ),
    printed(
        f"{PENNEY} Problem 36",
        "most salt in a tank that runs empty",
        "23.09",
        "lb",
        lambda: most(Tank(60, 0.0, 2, 3, 1.0, 59)),
    ),
    printed(
        f"{PENNEY} Problem 37",
        "salt in a tank of 400 gal when it is full",
        "393.75",
        "lb",
        lambda: amount(Tank(100, 0.5, 5, 3, 1.0, 150)),
    ),
    printed(
        f"{BOYCE} Example 1",
        "salt within 2 % of its limit, at 3 gal/min",
        "130.4",
        "min",
        lambda: time_to(Tank(100, 0.5, 3, 3, 0.25, 160), 0.255),
    ),
    printed(
        f"{BOYCE} Example 1",
        "the same at 8.69 gal/min",
        "45",
        "min",
        lambda: time_to(Tank(100, 0.5, 8.69, 8.69, 0.25, 60), 0.255),
    ),
    printed(
        f"{BOYCE} Problem 1",
        "200 L of dye rinsed at 2 L/min to 1 %",
        "460.5",
        "min",
        lambda: time_to(Tank(200, 1.0, 2, 2, 0.0, 500), 0.01),
    ),
    printed(f"{BOYCE} Problem 3", "brine, then water", "7.42", "lb", brine_then_water),
    printed(
        f"{BOYCE} Problem 4",
        "salt in a tank of 500 gal when it overflows",
        "0.968",
        "lb/gal",
        lambda: amount(Tank(200, 0.5, 3, 2, 1.0, 300)) / 500,
    ),
    *(
        printed(
            "Zill, s. 3.1 Example 5",
            f"salt after {minutes} min",
            text,
            "lb",
            lambda minutes=minutes: amount(ZILL, minutes),
            tolerance=0.01 if minutes == 150 else None,
        )
        for minutes, text in (
            (50, "266.41"),
            (100, "397.67"),
            (150, "477.27"),
            (200, "525.57"),
            (300, "572.62"),
            (400, "589.93"),
        )
    ),
    printed(
        "Zill, s. 3.1, a tank of 100 gal that gains 2 gal/min",
        "salt after 30 min",
        "64.38",
        "lb",
        lambda: amount(Tank(100, 0.1, 6, 4, 0.5, 30)),
        tolerance=0.0051,
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What is dissolved, and when, is what the textbooks print."""
    check.holds()
