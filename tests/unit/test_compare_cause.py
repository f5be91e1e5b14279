"""Two runs: the part of the used water that makes the difference, and who shares it."""

from __future__ import annotations

import re

import numpy as np
import pytest
import xarray as xr

import hydroloop as hl
from hydroloop.outputs.whatif.compare_cause import cause_sentence, parts_of_both, upstream_words


def compared(name, **changes):
    scenario = hl.read_scenario(name)
    return hl.compare(
        scenario,
        scenario.changed({key.replace("__", "."): value for key, value in changes.items()}),
    )


@pytest.fixture(scope="module")
def grown():
    """Osselby, which pumps reclaimed water back, with more people."""
    return compared("five_towns", town__osselby__people=130_000)


def test_more_people_share_the_same_reclaimed_water(grown):
    """Its used share falls, and the sentence says why."""
    said = cause_sentence(grown, "osselby", "us")
    assert said.startswith(
        "Most of the difference was last used in Osselby's own homes and "
        "pumped back as reclaimed water: "
    )
    assert "as more people share the same 2.5 Mgal/day of reclaimed water." in said


def test_a_town_upstream_is_named():
    """Penhollow drinks more of what Larkmill returns."""
    found = compared("first_town", town__larkmill__people=40_000)
    said = cause_sentence(found, "penhollow", "metric")
    assert said.startswith("Most of the difference was last used in Larkmill: ")
    assert cause_sentence(found, "larkmill", "metric") == ""


def test_a_short_town_upstream_holds_the_share_down():
    """Where the town above runs short, what it takes in less and gives back less is told: a lower
    river then need not mean more used water. Where it gets all it asks for, nothing is said."""
    river = hl.read_scenario("long_river")
    key = "river.tessle.inflow"
    found = {factor: hl.compare(river, river.scaled({key: factor})) for factor in (0.5, 0.2, 0.1)}
    shares = {
        factor: one.table["season_used_share"].sel(town="ottermarsh", run="after")
        for factor, one in found.items()
    }
    assert shares[0.5] > shares[0.2] > shares[0.1]
    assert upstream_words(found[0.5], "ottermarsh", "us") == ""
    said = upstream_words(found[0.2], "ottermarsh", "us")
    numbers = [float(number) for number in re.findall(r"[\d.]+(?= Mgal|,|:)", said)]
    table = found[0.2].table.sel(town="velderby")
    assert numbers == [
        pytest.approx(float(table[name].sel(run=run)) / 3785.411784, rel=0.005)
        for name in ("mean_withdrawn", "mean_effluent")
        for run in ("after", "before")
    ]
    assert upstream_words(found[0.2], "velderby", "us") == ""


def test_parts_are_those_of_the_runs_themselves(grown):
    """Parts from the runs that a compare has are those of a record of each scenario."""
    for run, scenario in (("before", grown.before), ("after", grown.after)):
        whole = hl.measures(hl.simulate(scenario), scenario)
        told = grown.used_parts.sel(run=run, drop=True)
        own = (
            whole[["season_used_share_by_way"]]
            .assign(reclaimed_to_supply=whole["reclaimed_to_supply"].mean("time"))
            .drop_vars("next_town")
        )
        xr.testing.assert_allclose(told, own.transpose(*told.dims), rtol=0.0, atol=1e-8)


def test_parts_of_the_difference_add_up(grown):
    """Over towns and ways, parts after less parts before are the difference of f."""
    parts = grown.used_parts["season_used_share_by_way"].sum(["used_in", "way"])
    moved = parts.sel(run="after") - parts.sel(run="before")
    whole = grown.difference["season_used_share"].sel(town=moved["town"])
    assert np.abs(moved - whole).max() <= 1e-8  # both runs have settled to 1e-9
    table = {column.name: column.values for column in parts_of_both(grown, "after").columns}
    for town in moved["town"].values:
        rows = [
            change
            for change, name in zip(table["change"], table["town"], strict=True)
            if name == town
        ]
        assert sum(rows) == pytest.approx(float(moved.sel(town=town)), abs=1e-7)
