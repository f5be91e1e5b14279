"""Every scenario that comes with hydroloop is right as it stands."""

from __future__ import annotations

import numpy as np
import pytest
from house.source_tree import ROOT

from hydroloop.record import ALLOWED_GAP, closure_gap
from hydroloop.scenario import bundled_scenarios, read_scenario
from hydroloop.waterworks import simulate


def test_there_are_scenarios():
    """The first town, the five towns, the old town and the long river are there."""
    assert {"first_town", "five_towns", "old_town", "long_river"} <= set(bundled_scenarios())


def test_the_tutorial_names_all_of_them():
    """Whoever learns hydroloop by the tutorial is told of every scenario that comes with it."""
    text = (ROOT / "docs" / "tutorial.md").read_text(encoding="utf-8")
    assert [name for name in bundled_scenarios() if f"*{name}*" not in text] == []
    numbers = ("No", "One", "Two", "Three", "Four", "Five", "Six", "Seven")
    assert f"{numbers[len(bundled_scenarios())]} places come with hydroloop" in text


@pytest.mark.parametrize("name", bundled_scenarios())
def test_scenario_passes_check(name: str):
    """A bundled scenario reads without a problem and without a warning."""
    scenario = read_scenario(name)
    assert not scenario.warnings, [str(problem) for problem in scenario.warnings]


@pytest.mark.parametrize("name", bundled_scenarios())
def test_scenario_runs_and_closes(name: str):
    """A bundled scenario runs through its season, and its account closes."""
    record = simulate(read_scenario(name))
    assert np.abs(closure_gap(record)).max() <= ALLOWED_GAP
    assert record["rate"].sum() > 0.0
