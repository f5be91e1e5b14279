"""Streams and lakes with something dissolved that decays, compared with textbooks.

All from memory. Masters & Ela, Introduction to Environmental Engineering and Science: Example 1.4
(two polluted streams), 1.5 (a polluted lake) and 1.8 (its sewage is taken away). Chapra, Surface
Water-Quality Modeling, Example 3.1 and the response times of its lecture 3: a lake of 50,000 m3
with three sources, decay of .319 a day at its 25 C. Tracing goes by steps, whose error falls in
proportion to them: compared is the limit, from steps and from half as long ones.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from conserves import assert_closes
from published_checks import Check, half

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import Material, trace_material

M3_S = 86_400.0
STEPS = 200


def limit(found: Callable[[int], float]) -> float:
    """What a number that depends on the count of steps comes to as they grow short."""
    return 2.0 * found(2 * STEPS) - found(STEPS)


def below_two_streams() -> float:
    """Chloride where 10 m3/s with 20 mg/L and 5 m3/s with 40 mg/L have mixed [mg/L]."""
    flows = [
        ("upstream", "a/river", "upstream", 10.0),
        ("upstream", "b/river", "upstream", 5.0),
        ("a/river", "c/river", "river", 10.0),
        ("b/river", "c/river", "river", 5.0),
        ("c/river", "downstream", "river", 15.0),
    ]
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(["a/river", "b/river", "c/river"], source, target, kind)
    record = build_record(network, edges_of("2031-01-01", 30), [[5.0] * 3] * 31, [rate] * 30)
    assert_closes(record)
    salt = Material(inflow=np.array([20.0, 40.0, 0.0, 0.0, 0.0]))
    found = trace_material(record, salt, warm_up="repeat")
    return float(found.concentration.sel(store="c/river").isel(edge=-1))


def lake(
    volume: float, flow: float, enters: float, decay: float, days: float, steps: int
) -> np.ndarray:
    """Concentration of a lake that begins clean, at the edges of so many steps [mg/L]."""
    network = Network(
        ["a/lake"], ["upstream", "a/lake"], ["a/lake", "downstream"], ["upstream", "river"]
    )
    edges = edges_of("2031-01-01", steps, days / steps)
    record = build_record(network, edges, [[volume]] * (steps + 1), [[flow, flow]] * steps)
    assert_closes(record)
    recipe = Material(inflow=enters, decay={"a/lake": decay})
    return trace_material(record, recipe, warm_up="none").concentration.values[:, 0]


def polluted_lake() -> float:
    """A lake of 1e7 m3 after long: 5 m3/s with 10 mg/L, and sewage of 0.5 m3/s with 100 [mg/L]."""
    enters = (5.0 * 10.0 + 0.5 * 100.0) / 5.5
    return float(lake(1e7, 5.5 * M3_S, enters, 0.2, 100.0, STEPS)[-1])


def without_sewage(days: float) -> float:
    """The same lake so long after its sewage was taken away [mg/L]: what is left of the water that
    was there, which fades as a clean lake fills with what enters, and what has come since."""

    def at(steps: int) -> float:
        filled = lake(1e7, 5.0 * M3_S, 10.0, 0.2, days, steps)[-1]
        full = lake(1e7, 5.0 * M3_S, 10.0, 0.2, 200.0, steps)[-1]
        return float(filled + polluted_lake() * (1.0 - filled / full))

    return limit(at)


VOLUME, FLOW, LOAD, DECAY = 50_000.0, 7_500.0, 140_000.0, 0.319  # m3, m3/d, g/d, 1/d


def three_sources() -> float:
    """Chapra's lake after long: 50 kg/d, 0.6 g/m2 a day on 25,000 m2, 10 mg/L in 7,500 m3/d."""
    return float(lake(VOLUME, FLOW, LOAD / FLOW, DECAY, 60.0, STEPS)[-1])


def time_to(share: float) -> float:
    """Days in which Chapra's lake comes so near to what it comes to."""

    def at(steps: int) -> float:
        held = lake(VOLUME, FLOW, LOAD / FLOW, DECAY, 12.0, steps)
        left = 1.0 - held / three_sources()
        return float(
            np.interp(-np.log(1.0 - share), -np.log(left), np.linspace(0.0, 12.0, steps + 1))
        )

    return limit(at)


def printed(source, quantity, text, ours, units="mg/L"):
    return Check(
        f"{source} (from memory)", quantity, float(text), half(text), ours, units, "memory"
    )


MASTERS, CHAPRA = "Masters & Ela, Example {}", "Chapra 1997, Example {}"
CHECKS: list[Check] = [
    printed(MASTERS.format("1.4"), "chloride below two streams", "26.7", below_two_streams),
    printed(MASTERS.format("1.5"), "lake with sewage, decay .20 a day", "3.5", polluted_lake),
    printed(
        MASTERS.format("1.8"),
        "the lake a week after its sewage was taken away",
        "2.1",
        lambda: without_sewage(7.0),
    ),
    printed(MASTERS.format("1.8"), "the lake long after", "1.8", lambda: without_sewage(90.0)),
    printed(CHAPRA.format("3.1"), "lake with three sources", "5.97", three_sources),
    *(
        printed(
            "Chapra 1997, lecture 3, response times",
            f"time to {percent} % of the way",
            text,
            lambda percent=percent: time_to(percent / 100.0),
            "d",
        )
        for percent, text in ((90, "4.9"), (95, "6.4"))
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check: Check):
    """What is dissolved where waters mix, stay and decay is what the textbooks print."""
    check.holds()
