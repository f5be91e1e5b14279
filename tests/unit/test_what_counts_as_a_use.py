"""Ready gates: which flows they are, where they may be chosen, and that the words fit."""

from __future__ import annotations

import numpy as np
import pytest
from cli.commands import call

import hydroloop as hl
from hydroloop.errors import AskError
from hydroloop.gates import USES
from hydroloop.measures import measures
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.run.answer import town_sentences
from hydroloop.outputs.run.glass import glass_document
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.whatif.changed import as_it_is
from hydroloop.tracing import find_gate, operator
from hydroloop.whatif.season_table import season_table


@pytest.fixture(scope="module")
def scenario():
    return hl.read_scenario("five_towns").changed({"season.end": "2031-02-28"})


@pytest.fixture(scope="module")
def record(scenario):
    return hl.simulate(scenario)


def test_each_gate_holds_the_one_before(record):
    """Homes are among homes and workplaces; toilets of both are among these, at work too."""
    op = operator(record)
    home, both, toilet, plant = (find_gate(op, name) for name in USES)
    assert (both >= home).all()
    assert (both >= toilet).all()
    assert (toilet & ~home).sum() == 5
    assert not (plant & both).any()
    kinds, ends = np.array(op.kinds), np.array(op.roles)
    assert set(kinds[plant]) == {"outfall", "reclaimed"}
    # Out of the tank reclaimed water goes on: it left the plant before.
    assert (ends[op.source[plant]] != "reclaimed").all()


def test_a_scenario_says_what_counts(scenario, record):
    """What the scenario counts is what measures and tracing take where nothing else is asked."""
    changed = scenario.changed({"season.count_as": "toilet"})
    other = hl.simulate(changed)
    assert np.allclose(hl.count_uses(other).share, hl.count_uses(record, "toilet").share)
    table = measures(other, changed)
    assert table.attrs["gate"] == "toilet"
    assert np.allclose(table.season_used_share, table.season_toilet_share)
    assert np.allclose(table.season_used_share, table.season_share_as.sel(count_as="toilet"))


def test_shares_stand_beside_each_other(scenario, record):
    """Of the lowest town: toilets least, then homes, homes and workplaces, wastewater plants."""
    shares = measures(record, scenario).season_share_as.sel(town="osselby")
    home, both, toilet, plant = (float(shares.sel(count_as=name)) for name in USES)
    assert toilet < home < both < plant


def test_members_count_what_their_scenario_does(scenario, record):
    """Beside each other, a member that counts toilets and one that counts homes keep their own."""
    other = scenario.changed({"season.count_as": "toilet"})
    table = season_table([scenario, other])
    single = measures(record, scenario)
    for k, name in enumerate(("home", "toilet")):
        assert table.season_used_share.isel(member=k).values == pytest.approx(
            single.season_share_as.sel(count_as=name).values, abs=1e-9
        )


@pytest.mark.parametrize("name", list(USES))
def test_words_are_those_of_the_gate(scenario, record, name):
    """The answer and the glass say what was counted, and nothing else."""
    table = measures(record, scenario, gate=name)
    result = Result(scenario, record, table)
    said = town_sentences(result, "osselby") + " ".join(
        as_text(glass_document(result, "osselby", as_it_is(scenario)))
    )
    assert USES[name].through in said
    assert ("a home" in said) == (name in ("home", "home-or-workplace"))


def test_a_record_without_such_flows_says_so():
    """A gate that a record has no flow for is refused in words."""
    from hydroloop.record import Network, build_record, edges_of

    lake = Network(["lake"], ["rain", "lake"], ["lake", "downstream"], ["rain", "river"])
    record = build_record(lake, edges_of("2031-01-01", 1), [[1], [1]], [[1, 1]])
    with pytest.raises(AskError, match='no flow that is a use by "toilet"'):
        hl.count_uses(record, "toilet")


def test_drops_say_what_was_counted():
    """A drop that met no wastewater plant is told so, whatever it did in homes."""
    done = call("drops", "first_town", "larkmill", "--count-as", "wastewater-plant", "--count", "3")
    assert "in a home" not in done.stdout
    assert "in a wastewater plant" in done.stdout
