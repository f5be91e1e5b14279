"""Scenarios at the ends of what `check` allows: they run, close, and are told; nothing is infinite.

The long form, thousands of them: python tests/extreme_scenarios.py 0 10000.
"""

from __future__ import annotations

import pytest
from extreme_scenarios import extreme_scenario, faults_of
from small_scenarios import one_town


@pytest.mark.parametrize("seed", range(60))
def test_what_passes_the_check_closes_and_is_told(seed, tmp_path):
    """Closes to 1e-12, labels finite and whole; of every third, measures finite or none, text
    without a number that is none."""
    most = 0 if seed % 3 else 10**9
    assert faults_of(extreme_scenario(seed, tmp_path), most_stores=most) == []


@pytest.mark.parametrize(
    "changes",
    [
        # A little sewage beside workplaces that consume all of theirs, in sewers that hold nothing.
        {
            "homes__use_per_person": "1e-9 L/person/day",
            "workplaces__consumed": "100 %",
            "sewers__travel_time": "0 day",
        },
        # A river of a metre that drains a large catchment, and a town that uses next to nothing.
        {"homes__use_per_person": "1e-9 L/person/day", "wells": {"capacity": "1e-9 m3/day"}},
    ],
    ids=["sewage", "wells"],
)
def test_next_to_nothing_beside_a_lot(changes):
    """Where a rule takes large flows from each other, a small one is not lost in their rounding."""
    river = {
        "river__wren__length": "1 m",
        "river__wren__catchment": "60190 km2",
        "town__larkmill__intake__at": "0 km",
        "town__larkmill__outfall__at": "1 m",
    }
    town = {f"town__larkmill__{key}": value for key, value in changes.items()}
    scenario = one_town(**(town | (river if "wells" in changes else {})))
    assert faults_of(scenario) == []


def test_the_last_drop_has_whole_labels_or_none(tmp_path):
    """A river of which 1e-193 m3 are left: no class of it is missed in the sum."""
    assert faults_of(extreme_scenario(668, tmp_path), most_stores=0) == []
