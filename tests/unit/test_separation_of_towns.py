"""What each step catches: the same whether towns are asked for one by one or together."""

from __future__ import annotations

import csv

import numpy as np
import pytest

import hydroloop as hl
from hydroloop.measures import measures
from hydroloop.outputs.run import tables
from hydroloop.outputs.run.result import Result
from hydroloop.studies.separation import separations


@pytest.fixture(scope="module")
def scenario():
    return hl.read_scenario("first_town").changed({"season.end": "2031-06-30"})


@pytest.fixture(scope="module")
def record(scenario):
    return hl.simulate(scenario)


def test_towns_together_are_the_towns_one_by_one(scenario, record):
    """Following every material once for all towns changes no number."""
    together = separations(scenario, record, list(scenario.town))
    for town, found in together.items():
        alone = separations(scenario, record, [town])[town]
        assert found == alone


def test_filters_catch_what_their_water_carries(scenario, record):
    """Iron caught by a town's filters is the share that the scenario gives of what flows on.

    Caught: share r of the carried mass; passed on into the clearwell: 1 - r. So caught / passed is
    r / (1 - r), with the passed mass the flow into the clearwell times what it brings there.
    """
    from hydroloop.measures.materials import recipes
    from hydroloop.tracing import operator, trace_material

    town, share = "penhollow", scenario.quality.iron_removed
    iron = trace_material(operator(record), recipes(record, scenario.quality)["iron"])
    flow = f"{town}/filters > {town}/clearwell"
    held = iron["concentration"].sel(store=f"{town}/filters").values[1:]
    passed = float(np.mean(record["rate"].sel(flow=flow).values * held)) * (1.0 - share) / 1000.0
    caught = separations(scenario, record, [town])[town].caught["filters"]["iron"]
    assert caught / passed == pytest.approx(share / (1.0 - share), rel=1e-9)


def test_the_table_holds_every_town_and_step(scenario, record, tmp_path):
    """A run writes the catch of each step of each town as CSV, in kilograms a day."""
    result = Result(scenario, record, measures(record, scenario), "us")
    table = tables.caught(result)
    with table.write(tmp_path, "us").open(newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    found = separations(scenario, record, list(scenario.town))
    assert len(rows) == sum(len(one.caught) for one in found.values())
    for row in rows:
        for name, amount in found[row["town"]].caught[row["step"]].items():
            assert float(row[f"{name} [kg/day]"]) == pytest.approx(amount, rel=1e-6)
