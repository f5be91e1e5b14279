"""Plans: read with all problems at once, and taken step by step."""

from __future__ import annotations

import pytest
from small_scenarios import one_town

from hydroloop import read_scenario
from hydroloop.errors import InputError
from hydroloop.waterworks.sizes import town_sizes
from hydroloop.whatif import READY_MADE, read_plan, read_plan_text
from hydroloop.whatif.ready_made import changes_of

PLAN = """\
[plan]
title = "Less lost, more stored"
by = "the Herons"
points = 100

[[step]]
what = "Mend the mains"
why = "a sixth never arrives"
who = "the water works"
points = 40
measure = "repair_leaks"
town = "larkmill"
to = "8 %"

[[step]]
what = "Fewer people, less river"
points = 12.5
set = { town.larkmill.people = 15000, "town.larkmill.homes.toilets" = "20 %" }
scale = { river.wren.inflow = 0.5 }
"""


def test_a_plan_is_read_and_taken():
    """Title, steps, points and keys stand where the file puts them."""
    plan = read_plan_text(PLAN)
    assert (plan.title, plan.by, plan.budget, plan.points) == (
        "Less lost, more stored",
        "the Herons",
        100.0,
        52.5,
    )
    assert [step.who for step in plan.steps] == ["the water works", ""]
    before = one_town()
    after = plan.taken(before)
    assert after.town["larkmill"].mains.real_losses == 0.08
    assert after.town["larkmill"].people == 15000.0
    assert after.town["larkmill"].homes.toilets == 0.2
    assert after.river["wren"].inflow == pytest.approx(0.5 * before.river["wren"].inflow)


@pytest.mark.parametrize("table", ["set", "scale"])
def test_a_stage_that_is_missing_is_told_once(table):
    """A step with seven keys of a stage that the scenario lacks gets one line: that it is missing,
    all seven by name, and how it is added; one key of another stage has a line of its own."""
    keys = ("at", "flow_below", "flow_above", "hold", "homes", "workplaces", "yards")
    lines = ", ".join(f'"stage.severe.{key}" = 0.5' for key in keys)
    step = f'[[step]]\nwhat = "Cut"\n{table} = {{ {lines}, "stage.grave.at" = 0.5 }}\n'
    plan = read_plan_text(f'[plan]\ntitle = "Cuts"\n{step}')
    with pytest.raises(InputError) as error:
        plan.taken(one_town())
    first, second = error.value.lines()
    assert f'there is no stage "severe", so its keys {", ".join(keys)} cannot be changed.' in first
    assert 'To add it, set all its keys at once: --set "stage.severe={' in first
    assert 'stage.grave.at: there is no stage "grave".' in second


def test_a_plan_from_a_file(tmp_path):
    """A file reads like its text, and messages name it."""
    (tmp_path / "herons.toml").write_text(PLAN)
    assert read_plan(tmp_path / "herons.toml").points == 52.5
    (tmp_path / "herons.toml").write_text(PLAN.replace("points = 40", "points = -4"))
    with pytest.raises(InputError, match=r"^herons\.toml:10: points: -4 is no number of points"):
        read_plan(tmp_path / "herons.toml")
    with pytest.raises(InputError, match="there is no such file"):
        read_plan(tmp_path / "nowhere.toml")


def test_all_problems_of_a_file_at_once():
    """Every mistake has its own line with the nearest name."""
    wrong = """\
[plan]
titel = "x"
[[step]]
what = "a"
measure = "repair_leak"
[[step]]
what = "b"
st = { a = 1 }
[[step]]
measure = "growth"
bay = "3 %"
"""
    with pytest.raises(InputError) as told:
        read_plan_text(wrong, name="p.toml")
    said = str(told.value).splitlines()
    assert said == [
        'p.toml:2: plan.titel: there is no such key. Did you mean "title"?',
        "p.toml: plan.title: is missing. Write a line of text in quotes.",
        'p.toml:5: measure: there is no ready-made measure "repair_leak". '
        'Did you mean "repair_leaks"?',
        'p.toml:8: st: there is no such key. Did you mean "set"?',
        "p.toml:6: changes nothing. Name a measure, or write set = { ... } or scale = { ... }.",
        'p.toml:11: bay: growth has no such option. Did you mean "by"?',
        "p.toml:9: what: is missing. Write a line of text in quotes.",
    ]


def test_all_impossible_steps_at_once():
    """Steps that cannot be taken are all named, with file and line, and the good ones are not."""
    asked = """\
[plan]
title = "Too much"
[[step]]
what = "nowhere"
measure = "repair_leaks"
town = "larkmil"
to = "8 %"
[[step]]
what = "beyond the whole"
measure = "disconnect_pavement"
share = "130 %"
[[step]]
what = "fine"
measure = "yard_rules"
cut = "50 %"
[[step]]
what = "more than is used"
set = { town.larkmill.homes.toilets = "90 %", town.larkmill.homes.baths = "30 %" }
"""
    with pytest.raises(InputError) as told:
        read_plan_text(asked, name="p.toml").taken(one_town())
    heads = [problem.where for problem in told.value.problems]
    assert heads[0] == 'p.toml:3: step "nowhere"'
    assert heads[1] == 'p.toml:8: step "beyond the whole"'
    assert set(heads[2:]) == {'p.toml:16: step "more than is used"'}
    assert "larkmill" in told.value.problems[0].cure


TWO_WAYS = """\
[plan]
title = "Both at once"
[[step]]
what = "a value and a factor"
set = { town.larkmill.people = 30000 }
scale = { "town.*.people" = 0.5 }
[[step]]
what = "a measure and a value"
measure = "repair_leaks"
by = "50 %"
set = { town.larkmill.mains.real_losses = "10 %" }
[[step]]
what = "to a goal and by a share"
measure = "repair_leaks"
to = "8 %"
by = "50 %"
[[step]]
what = "so many people, and so many more"
measure = "growth"
people = 30000
by = "20 %"
[[step]]
what = "first a value, then a factor on another key"
set = { town.larkmill.people = 30000 }
scale = { river.wren.inflow = 0.5 }
"""


def test_a_step_changes_a_key_in_one_way():
    """Of two changes of one key in a step none is lost in silence: each such step is refused."""
    with pytest.raises(InputError) as told:
        read_plan_text(TWO_WAYS, name="p.toml").taken(one_town())
    assert [(one.where, one.key, one.what) for one in told.value.problems] == [
        ('p.toml:3: step "a value and a factor"', "town.*.people", "is both set and scaled."),
        (
            'p.toml:7: step "a measure and a value"',
            "town.larkmill.mains.real_losses",
            "is changed by repair_leaks already.",
        ),
        ('p.toml:12: step "to a goal and by a share"', "to", "cannot stand beside by."),
        ('p.toml:17: step "so many people, and so many more"', "by", "cannot stand beside people."),
    ]


def test_a_key_stands_once_in_a_table():
    """Written with and without quotes a key is the same key, and TOML does not see it."""
    text = (
        '[plan]\ntitle = "a"\n[[step]]\nwhat = "b"\n'
        'set = { "town.larkmill.people" = 3000, town.larkmill.people = 4000 }\n'
    )
    with pytest.raises(InputError, match=r"town.larkmill.people: is there twice in set\. Write it"):
        read_plan_text(text)


def test_a_wrong_value_is_shown_as_it_was_written():
    """In the words of the file, not of Python."""
    text = '[plan]\ntitle = "a"\n[[step]]\nwhat = ["b"]\npoints = {}\nset = {{ a = 1 }}\n'
    for written in ("true", '"ten"'):
        with pytest.raises(InputError) as told:
            read_plan_text(text.format(written))
        assert f"points: {written} is no number of points" in str(told.value)
        assert "what: a list is no text" in str(told.value)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[plan]\ntitle = "a"\n', "there is no step"),
        ("[plan\n", "is not valid TOML"),
        ('plan = 3\n[[step]]\nwhat = "a"\nset = { a = 1 }\n', "is not a table"),
        (
            '[plan]\ntitle = "a"\npoints = 5\n[[step]]\nwhat = "b"\npoints = 6\nset = { a = 1 }\n',
            "6 points together, which is more than 5",
        ),
        ('[plan]\ntitle = "a"\n[[step]]\nwhat = "b"\nset = 4\n', "is not a table"),
        ('[plan]\ntitle = 7\n[[step]]\nwhat = "b"\nset = { a = 1 }\n', "7 is no text"),
        (
            '[plan]\ntitle = "a"\n[more]\n[[step]]\nwhat = "b"\nset = { a = 1 }\n',
            "no part of a plan",
        ),
    ],
)
def test_what_is_no_plan(text, words):
    """Files that are no plan are told so."""
    with pytest.raises(InputError, match=words):
        read_plan_text(text)


def test_a_new_town_may_come():
    """A key in quotes with a table is one value: a new town."""
    text = (
        '[plan]\ntitle = "a"\n[[step]]\nwhat = "b"\n[step.set]\n'
        '"town.newton" = { people = 500, intake = { river = "wren", at = "20 km" }, '
        'outfall = { river = "wren", at = "21 km" } }\n'
    )
    assert list(read_plan_text(text).taken(one_town()).town) == ["larkmill", "newton"]


def after(measure, **options):
    """Larkmill after one ready-made measure, and before it."""
    before = one_town()
    changed = before.changed(changes_of(measure, options, before))
    return changed.town["larkmill"], before.town["larkmill"]


def test_leaks_repaired_to_and_by():
    """`to` is what is still lost, `by` the part of the losses that is mended."""
    now, before = after("repair_leaks", by="25 %")
    assert now.mains.real_losses == pytest.approx(0.75 * before.mains.real_losses)
    with pytest.raises(InputError, match="is more than the 12 % that are lost now"):
        after("repair_leaks", to="30 %")


def test_fixtures_yards_and_pavement():
    """Each takes off the share it says."""
    now, before = after("efficient_fixtures", saving="30 %", homes="50 %")
    assert now.homes.use_per_person == pytest.approx(0.85 * before.homes.use_per_person)
    now, before = after("yard_rules", cut="40 %")
    assert now.yards.area_per_person == pytest.approx(0.6 * before.yards.area_per_person)
    now, before = after("disconnect_pavement", share="50 %")
    assert now.sewers.storm_share == pytest.approx(0.5 * town_sizes(before).storm_share)


def test_tank_intake_reuse_and_recharge():
    """Each adds to what is there, also where that was worked out from the people."""
    now, before = after("storage_tank", volume="500 m3")
    assert town_sizes(now).tanks_volume == pytest.approx(town_sizes(before).tanks_volume + 500.0)
    now, before = after("bigger_intake", by="20 %")
    assert town_sizes(now).intake_limit == pytest.approx(1.2 * town_sizes(before).intake_limit)
    assert town_sizes(now).plant_capacity == pytest.approx(1.2 * town_sizes(before).plant_capacity)
    now, _ = after("reuse_route", to="plant", flow="100 m3/day")
    assert now.reuse.plant == 100.0
    now, _ = after("recharge", flow="50 m3/day")
    assert now.reuse.groundwater == 50.0


def test_growth_leaves_the_works_as_they_are():
    """More people drink from the same works, unless the works are said to grow with them."""
    now, before = after("growth", by="50 %")
    assert now.people == pytest.approx(1.5 * before.people)
    sizes, earlier = town_sizes(now), town_sizes(before)
    for name in (
        "plant_capacity",
        "intake_limit",
        "tanks_volume",
        "mains_volume",
        "sewer_capacity",
        "sewer_storage",
        "design_flow",
        "secondary_capacity",
        "land_area",
    ):
        assert getattr(sizes, name) == pytest.approx(getattr(earlier, name), rel=1e-12), name
    now, before = after("growth", people="40000", works="grow")
    assert now.people == 40000.0
    assert town_sizes(now).plant_capacity == pytest.approx(2 * town_sizes(before).plant_capacity)


@pytest.mark.parametrize(("by", "times"), [("150 %", 2.5), ("20 %", 1.2), (0.2, 1.2)])
def test_more_may_pass_the_whole(by, times):
    """A town may more than double, and so may an intake; other shares end at the whole."""
    now, before = after("growth", by=by)
    assert now.people == pytest.approx(times * before.people)
    now, before = after("bigger_intake", by=by)
    assert town_sizes(now).intake_limit == pytest.approx(times * town_sizes(before).intake_limit)


@pytest.mark.parametrize(
    ("by", "words"),
    [
        ("20000 %", "20000 % is more than 100 times what there is"),
        ("-150 %", "-150 %"),
        ("150 people", "150 people"),
        ("nan", "nan"),
        (float("inf"), "inf"),
        ("120 % to 150 %", "120 % to 150 %"),
        (50, "50 is more than the whole, and has no percent"),
        ("1.5", "1.5 is more than the whole, and has no percent"),
    ],
)
def test_more_that_cannot_be(by, words):
    """What is no share above zero, or may be one without its sign, is refused with its key."""
    with pytest.raises(InputError) as told:
        after("growth", by=by)
    assert words in str(told.value)
    assert told.value.problems[0].key == "by"


def test_every_ready_made_measure_says_what_is_missing():
    """Without options each is either possible or says in one line which option it needs."""
    for name, ready in READY_MADE.items():
        assert "town" in ready.options
        assert ready.meaning
        missing = key_that_is_missing(name)
        assert missing is None or missing in ready.options, name
    assert key_that_is_missing("storage_tank") == "volume"
    assert key_that_is_missing("efficient_fixtures") is None


def key_that_is_missing(measure):
    """Option that a measure asks for if it is told nothing."""
    before = one_town()
    try:
        before.changed(changes_of(measure, {}, before))
    except InputError as error:
        return error.problems[0].key
    return None


def test_towns_of_a_measure():
    """One town may be left unnamed; several must be chosen; a star means all."""
    five = read_scenario("five_towns")
    assert len(changes_of("repair_leaks", {"town": "*", "by": "50 %"}, five)) == 5
    two = {"town": ["osselby", "larkmill"], "to": "5 %"}
    assert len(changes_of("repair_leaks", two, five)) == 2
    with pytest.raises(InputError, match=r'or "\*" for all'):
        changes_of("repair_leaks", {"to": "5 %"}, five)
    with pytest.raises(InputError, match="tamberly has no intake"):
        changes_of("bigger_intake", {"town": "tamberly", "by": "5 %"}, five)


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"to": "12 ML"}, "is a volume, but a share is wanted"),
        ({"to": "8 % to 12 %"}, "is a range"),
        ({"to": True}, "is not a quantity"),
        ({"to": "-3 %"}, "-3 %"),
        ({}, "to: is missing"),
    ],
)
def test_wrong_options(options, words):
    """An option that cannot be is told with its key."""
    with pytest.raises(InputError) as told:
        after("repair_leaks", **options)
    assert words in str(told.value)
    assert told.value.problems[0].key == "to"
