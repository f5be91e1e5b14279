"""Cuts of demand by the stages of a town's drought plan.

Water-supply plan of a Connecticut town (Manchester): phases begin as storage falls below 60, 40 and
30 % and cut use by 10, 20 and at least 30 %; advisories above that cut nothing by rule. The plan is
written as a scenario whose reservoir stands just under and just above each mark, and the cut is
read from the first day of the run.
"""

from __future__ import annotations

from functools import lru_cache

import pytest
from published_checks import Check
from small_scenarios import one_town

import hydroloop as hl

PHASES = {"phase_1": (60, 10), "phase_2": (40, 20), "phase_3": (30, 30)}
"""Storage below which a phase begins, and the cut it asks for, as printed [%]."""

PLAN = """
[reservoir.mere]
river = "wren"
at = "5 km"
capacity = "6000 ML"
area = "0.4 km2"
""" + "".join(
    f"""
[stage.{name}]
reservoir = "mere"
storage_below = "{below} %"
homes = "{cut} %"
workplaces = "{cut} %"
yards = "{cut} %"
compliance = "100 %"
"""
    for name, (below, cut) in PHASES.items()
)


@lru_cache(maxsize=16)
def cut_at(storage_percent: float) -> float:
    """Share of all use that is cut on a first day that begins with so much in store [%]."""
    record = hl.simulate(
        one_town(
            PLAN,
            reservoir__mere__start=f"{storage_percent} %",
            season__end="2031-05-03",
            town__larkmill__intake={"reservoir": "mere"},
        )
    )
    day = record.isel(time=0).sel(town="larkmill")
    cut, asked = float(day["cut"].sum()), float(day["demand"].sum())
    return 100.0 * cut / (cut + asked)


def checks():
    """Each phase just under its mark, and what holds just above it."""
    before = 0
    for name, (below, cut) in PHASES.items():
        source = f"drought plan of a Connecticut town (Manchester), {name.replace('_', ' ')}"
        yield Check(
            source,
            f"cut just below {below} % storage",
            cut,
            1e-9,
            lambda below=below: cut_at(below - 0.5),
            "%",
        )
        yield Check(
            source,
            f"cut just above {below} % storage, before it",
            before,
            1e-9,
            lambda below=below: cut_at(below + 0.5),
            "%",
        )
        before = cut


CHECKS: list[Check] = list(checks())


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What the run cuts is what the plan asks for."""
    check.holds()
