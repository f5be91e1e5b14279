"""Fewer members of a large basin stand side by side in memory."""

from __future__ import annotations

import pytest
from small_scenarios import one_town

from hydroloop.waterworks import simulate
from hydroloop.whatif.block import block_size


def towns(number: int, days: str):
    """A season of so many towns, all alike, on one river."""
    scenario = one_town().changed({"season.end": days})
    town = scenario.data["town"]["larkmill"]
    return scenario.changed({f"town.a{k}": town for k in range(number - 1)})


@pytest.mark.parametrize(
    ("number", "end", "most"),
    [(1, "2031-12-31", 16), (40, "2031-12-31", 16), (40, "2033-12-31", 8), (600, "2035-12-31", 1)],
)
def test_a_block_takes_a_quarter_of_a_gigabyte(number, end, most):
    """Volumes and rates of all members of a block stay near it; one member is always run."""
    assert block_size(towns(number, end)) == most


def test_numbers_of_a_season_are_as_many_as_reckoned():
    """Thirty towns have the volumes and rates that the size of a block is reckoned from."""
    scenario = towns(30, "2031-05-10")
    record = simulate(scenario)
    numbers = record.sizes["time"] * (record.sizes["store"] + record.sizes["flow"])
    days = record.sizes["time"]
    cells = sum(river.length / river.cell for river in scenario.river.values())
    assert numbers == pytest.approx(days * (80 * 30 + 4 * cells), rel=0.25)
