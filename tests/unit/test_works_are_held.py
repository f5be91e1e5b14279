"""Works belong to the file: what-ifs do not resize them, unless they change the works."""

from __future__ import annotations

import json

import pytest
from click.testing import CliRunner
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.cli.main import main
from hydroloop.outputs.whatif.held import held_sentence, works_block
from hydroloop.scenario import read_toml
from hydroloop.waterworks.sizes import town_sizes
from hydroloop.weather import CLIMATES
from hydroloop.whatif.difference import changes_between
from hydroloop.whatif.plan import read_plan_text

SIZED_BY = {
    "town.larkmill.people": 60000,
    "town.larkmill.homes.use_per_person": "90 gal/person/day",
    "town.larkmill.mains.real_losses": "3 %",
    "town.larkmill.yards.area_per_person": "0 m2",
    "town.larkmill.sewers.infiltration": "60 gal/person/day",
}


def sizes(scenario):
    return town_sizes(scenario.town["larkmill"])


def asked(*words):
    done = CliRunner().invoke(main, ["capacity", "first_town", *words, "--no-pictures", "--json"])
    assert done.exit_code == 0, done.output
    return json.loads(done.stdout)


@pytest.mark.parametrize(("key", "value"), list(SIZED_BY.items()))
def test_what_works_are_sized_by_does_not_resize_them(key, value):
    """Neither people nor what they use nor leaks make other works of those in the file; the text
    that is written reads back to the same works."""
    before = one_town()
    after = before.changed({key: value})
    assert sizes(after) == sizes(before)
    assert sizes(read_toml(after.text)) == sizes(before)
    assert "stay as its file has them" in held_sentence(after, "us")
    assert not held_sentence(before, "us")


def test_works_change_with_their_own_keys():
    """A capacity is taken as given; built_for sizes anew, and `default` for the town as it is."""
    before = one_town()
    assert sizes(before.changed({"town.larkmill.plant.capacity": 9e3})).plant_capacity == 9e3
    twice = before.scaled({"town.larkmill.people": 2.0})
    resized = twice.changed({"town.larkmill.built_for": None, "town.larkmill.land.area": None})
    assert sizes(resized).plant_capacity == pytest.approx(2.0 * sizes(before).plant_capacity)
    assert sizes(resized).land_area == pytest.approx(2.0 * sizes(before).land_area)
    assert not resized.held


def test_every_road_to_a_change_holds_the_works():
    """--set, --scale and a plan's steps leave the same works."""
    before = one_town()
    plan = read_plan_text(
        '[plan]\ntitle = "a"\n[[step]]\nwhat = "b"\nset = { "town.larkmill.people" = 40000 }\n'
    )
    ways = [
        before.changed({"town.larkmill.people": 40000}),
        before.scaled({"town.larkmill.people": 2.0}),
        plan.taken(before),
        before.changed({"town.larkmill.people": 1000}).changed({"town.larkmill.people": 40000}),
    ]
    assert {sizes(one) for one in ways} == {sizes(before)}


def test_a_member_keeps_the_works_of_the_middle():
    """People drawn from a range do not bring their own plant."""
    town = one_town(town__larkmill__people="10000 to 30000")
    member = town.changed({"town.larkmill.people": 30000})
    assert sizes(member) == sizes(town) == sizes(one_town())


def test_the_verdict_follows_the_people():
    """Four times the people ask four times as much of the same plant: the load is what a plan for
    growth says of it, and not the same for any number of people."""
    loads = {
        people: asked("--set", f"town.larkmill.people={people}")["facts"]["water_load"]
        for people in (20000, 40000, 80000)
    }
    assert loads[40000] == pytest.approx(2.0 * loads[20000], rel=1e-6)
    assert loads[80000] == pytest.approx(4.0 * loads[20000], rel=1e-6)


def test_capacity_takes_a_plan(tmp_path):
    """`capacity --plan` says what a plan's growth makes of the plant, and what was held."""
    (tmp_path / "grow.toml").write_text(
        '[plan]\ntitle = "Growth"\n[[step]]\nwhat = "more"\nmeasure = "growth"\n'
        'town = "larkmill"\npeople = 80000\n'
    )
    words = ["--plan", str(tmp_path / "grow.toml")]
    found, same = asked(*words), asked("--set", "town.larkmill.people=80000")
    assert found["facts"] == same["facts"]
    assert found["tables"]["steps"] == same["tables"]["steps"]
    assert "Larkmill's works stay as its file has them" in json.dumps(found["words"])
    assert found["ran"]["plans"][0]["title"] == "Growth"
    shown = CliRunner().invoke(main, ["capacity", "first_town", *words, "--no-pictures"]).stdout
    assert shown.index("works stay") < shown.index("water plant")


def test_two_files_keep_their_own_works():
    """Between two files the works differ too, and the split over the changes ends at the other."""
    before, after = one_town(), one_town(town__larkmill__people=40000)
    parts, whole = changes_between(before, after), before
    assert [part.name for part in parts] == ["town.larkmill.people", "works of larkmill"]
    for part in parts:
        whole = part.act(whole)
    assert sizes(whole) == sizes(after)


@pytest.mark.parametrize("climate", list(CLIMATES))
def test_a_default_town_passes_its_own_check(climate):
    """Built by published rules from its people alone, a town's plants are large enough with one
    unit out, whatever climate it stands in; and the verdict says that the sizes are assumed."""
    from hydroloop.studies.capacity_study import capacity_study

    scenario = one_town(weather__climate=climate)
    study = capacity_study(scenario, hl.simulate(scenario), "larkmill")
    assert study.assumed
    assert study.water.is_enough, study.water.load
    assert all(row.is_met for row in study.water.rows if row.judged and row.verdict != "slow")
    assert all(one.is_met for one in study.standby)
    works = study.wastewater
    assert works.demand <= works.capacity
    assert all(row.is_met for row in works.rows if row.judged and row.out == 0)


def test_works_that_grow_with_the_people_are_told():
    """A plan that lets the works grow says for how much they are built; one that does not, not."""
    before = one_town()
    for works, is_told in (("grow", True), ("stay", False)):
        plan = read_plan_text(
            '[plan]\ntitle = "a"\n[[step]]\nwhat = "b"\nmeasure = "growth"\n'
            f'town = "larkmill"\nby = "300 %"\nworks = "{works}"\n'
        )
        said = " ".join(one.words for one in works_block(before, plan.taken(before), "us"))
        assert ("Larkmill's works grow too" in said) is is_told
        assert ("Larkmill's works stay" in said) is not is_told
