"""Every scenario that comes with hydroloop is right as it stands."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.record import ALLOWED_GAP, closure_gap
from hydroloop.scenario import bundled_scenarios, read_scenario
from hydroloop.waterworks import simulate


def test_there_are_scenarios():
    """The first town, the five towns, the old town and the long river are there."""
    assert {"first_town", "five_towns", "old_town", "long_river"} <= set(bundled_scenarios())


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
