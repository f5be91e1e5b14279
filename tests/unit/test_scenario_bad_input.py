"""Bad input: every mistake is found, all at once, with line, cause and cure."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_scenarios import ONE_TOWN

from hydroloop.errors import ScenarioError
from hydroloop.scenario import all_keys, read_scenario, read_toml

LAKE = '[reservoir.lake]\nriver = "wren"\nat = "5 km"\ncapacity = "2 Mgal"\narea = "1 ha"\n'


def problems_of(text: str) -> list[str]:
    """Every line of the refusal of a text."""
    with pytest.raises(ScenarioError) as caught:
        read_toml(text)
    return [str(problem) for problem in caught.value.problems]


def only_problem(text: str) -> str:
    """The one line of the refusal of a text in which one thing is wrong."""
    found = problems_of(text)
    assert len(found) == 1, found
    assert "\n" not in found[0]
    return found[0]


@pytest.mark.parametrize(
    ("old", "new", "key", "says"),
    [
        # unknown keys, near and far
        ("people =", "peeple =", "town.larkmill.peeple", 'Did you mean "people"?'),
        ("seed = 3", "seeds = 3", "weather.seeds", 'Did you mean "seed"?'),
        ("[weather]", "[wheather]", "wheather", 'Did you mean "weather"?'),
        # wrong units and kinds
        ('"3 m3/s"', '"3 m3"', "river.wren.inflow", "is a volume, but an inflow is a flow"),
        ('"40 km"', '"40 km2"', "river.wren.length", "is an area, but a length is wanted"),
        ('"40 km"', "40", "river.wren.length", "has no unit"),
        ('"40 km"', "true", "river.wren.length", "true is not a quantity"),
        ('"40 km"', "[1, 2]", "river.wren.length", "a list is not a quantity"),
        ("20000", '"lots"', "town.larkmill.people", "does not begin with a number"),
        ("20000", '"9**9**9"', "town.larkmill.people", "is not a number with a unit"),
        ("20000", "nan", "town.larkmill.people", "nan is not a number that can be used"),
        ("20000", "inf", "town.larkmill.people", "inf is not a number that can be used"),
        ("20000", "-5", "town.larkmill.people", "is negative"),
        ("20000", "0", "town.larkmill.people", "must lie above zero"),
        ("20000", "0.5", "town.larkmill.people", "out of bounds"),
        ("20000", "9" * 40, "town.larkmill.people", "far too large"),
        ("seed = 3", "seed = 3.5", "weather.seed", "is not a whole number"),
        ("seed = 3", "seed = -3", "weather.seed", "out of bounds"),
        ("seed = 3", "seed = true", "weather.seed", "true is not a whole number"),
        ("seed = 3", "rain_scale = nan", "weather.rain_scale", "not a number that can be used"),
        ("seed = 3", "rain_scale = -1", "weather.rain_scale", "out of bounds"),
        ("seed = 3", 'climate = "wet"', "weather.climate", 'Did you mean "wet_winter"?'),
        ("seed = 3", 'latitude = "95 N"', "weather.latitude", "beyond the pole"),
        ("seed = 3", 'file = "no.csv"', "weather.file", 'there is no file "no.csv"'),
        ("seed = 3", 'file = "../x.csv"', "weather.file", "lies outside the folder"),
        ("seed = 3", 'file = "a\\u0000b"', "weather.file", "cannot be shown (U+0000)"),
        ('"One town"', '"  "', "title", "is empty"),
        ('"One town"', '"one\\ntown"', "title", "more than one short line"),
        ('"One town"', "7", "title", "7 is not a text"),
        # dates
        ("2031-08-31", "2031-04-30", "season.end", "comes before the first day, 2031-05-01"),
        ("2031-05-01", "1600-01-01", "season.start", "out of reach"),
        ("2031-08-31", "2031-08-31T00:00:00", "season.end", "is not a date"),
        ("2031-08-31", '"31 August"', "season.end", "is not a date"),
        ("2031-05-01", "1800-01-01", "season.end", "the season has"),
        ("[weather]", '[weather]\nelevation = "20 km"', "weather.elevation", "out of bounds"),
        # rivers
        (
            '"wren", at = "10 km"',
            '"wrenn", at = "10 km"',
            "town.larkmill.intake.river",
            'there is no river "wrenn". Did you mean "wren"?',
        ),
        ('at = "15 km"', 'at = "-3 km"', "town.larkmill.outfall.at", "above the head"),
        ('at = "15 km"', 'at = "41 km"', "town.larkmill.outfall.at", "beyond the end"),
        ('at = "15 km"', 'at = "30 to 50 km"', "town.larkmill.outfall.at", "beyond the end"),
        ('inflow = "3 m3/s"', "", "river.wren", "the river has no water"),
        ('"3 m3/s"', '"0 m3/s"', "river.wren.inflow", "is zero, and nothing else feeds"),
        ('"3 m3/s"', '"3 m3/s"\njoins = "wren"', "river.wren.joins", "cannot join itself"),
        ('"3 m3/s"', '"3 m3/s"\njoins = "ash"', "river.wren.joins", 'there is no river "ash"'),
        ('"3 m3/s"', '"3 m3/s"\njoins_at = "3 km"', "river.wren.joins_at", "not into which"),
        ('"3 m3/s"', '"3 m3/s"\ncell = "1 ft"', "river.wren.cell", "stores"),
        ('"3 m3/s"', '"3 m3/s"\ncurve_number = 120', "river.wren.curve_number", "out of bounds"),
        (
            '"3 m3/s"',
            '"3 m3/s"\nused_before = ["50 %", "20 %"]',
            "river.wren.used_before",
            "add up to 70 %",
        ),
        ('"3 m3/s"', '"3 m3/s"\nused_before = []', "river.wren.used_before", "0 shares"),
        (
            '"3 m3/s"',
            '"3 m3/s"\nused_before = ["x", "20 %"]',
            "river.wren.used_before.0",
            "does not begin with a number",
        ),
        ('"3 m3/s"', "{ fil = 'x.csv' }", "river.wren.inflow.fil", 'Did you mean "file"?'),
        ('"3 m3/s"', "{ file = '' }", "river.wren.inflow.file", "is empty"),
        # supply
        ('intake = { river = "wren", at = "10 km" }', "", "town.larkmill", "has no water"),
        (
            'river = "wren", at = "10 km"',
            'at = "10 km"',
            "town.larkmill.intake",
            "neither a river nor a reservoir",
        ),
        ('river = "wren", at = "10 km"', 'river = "wren"', "town.larkmill.intake.at", "is missing"),
        (
            'outfall = { river = "wren", at = "15 km" }',
            "",
            "town.larkmill.outfall",
            "is missing (where treated wastewater returns to a river)",
        ),
        (
            'outfall = { river = "wren", at = "15 km" }',
            'outfall = "wren"',
            "town.larkmill.outfall",
            "stands where a table is wanted",
        ),
        # names
        ("[town.larkmill]", "[town.wren]", "town.wren", 'a river is called "wren" already'),
        ("[town.larkmill]", '[town."lark/mill"]', 'town."lark/mill"', "is not a plain name"),
        ("[town.larkmill]", '[town."*"]', "town.*", "is not a plain name"),
        ("[town.larkmill]", '[town.""]', 'town.""', "is not a plain name"),
    ],
)
def test_each_mistake_is_named_with_its_key(old, new, key, says):
    """One mistake gives one line: the key, what was given, what to do."""
    assert old in ONE_TOWN
    line = only_problem(ONE_TOWN.replace(old, new, 1))
    assert f": {key}: " in line
    assert says in line


@pytest.mark.parametrize(
    ("extra", "key", "says"),
    [
        (
            '[town.larkmill.plant]\ncapacity = "12 ML"\n',
            "town.larkmill.plant.capacity",
            'is a volume, but a capacity is a flow. Write for example "12 ML/day".',
        ),
        (
            '[town.larkmill.plant]\ncapacity = "0 ML/day"\n',
            "town.larkmill.plant.capacity",
            "must lie above zero",
        ),
        (
            '[town.larkmill.plant]\ncapacity = "0 to 5 ML/day"\n',
            "town.larkmill.plant.capacity",
            "must lie above zero",
        ),
        (
            '[town.larkmill.plant]\ncapacity = "60 gal/person/day"\n',
            "town.larkmill.plant.capacity",
            "for the whole town",
        ),
        (
            '[town.larkmill.homes]\nuse_per_person = "4 Mgal/day"\n',
            "town.larkmill.homes.use_per_person",
            "is a flow, but an? use per person",
        ),
        (
            "[town.larkmill.mains]\nreal_losses = 16\n",
            "town.larkmill.mains.real_losses",
            'Write "16 %"',
        ),
        (
            '[town.larkmill.mains]\nreal_losses = "-1 %"\n',
            "town.larkmill.mains.real_losses",
            "is negative",
        ),
        (
            '[town.larkmill.homes]\ntoilets = "70 %"\n',
            "town.larkmill.homes.toilets",
            "add up to more than the whole",
        ),
        (
            '[town.larkmill.sewers]\nkind = "combind"\n',
            "town.larkmill.sewers.kind",
            'Did you mean "combined"?',
        ),
        (
            '[town.larkmill.reuse]\nreservoir = "1 ML/day"\n',
            "town.larkmill.reuse.reservoir",
            "not into which reservoir",
        ),
        (
            '[town.larkmill.reuse]\ninto = "lake"\n',
            "town.larkmill.reuse.into",
            'there is no reservoir "lake". There is none.',
        ),
        (
            '[town.larkmill.land]\naquifer = "deep"\n',
            "town.larkmill.land.aquifer",
            'there is no aquifer "deep"',
        ),
        (
            '[town.larkmill.wells]\ncapacity = "1 ML/day"\naquifer = "deep"\n',
            "town.larkmill.wells.aquifer",
            'there is no aquifer "deep"',
        ),
        (
            '[town.larkmill.storm_outlet]\nriver = "ash"\nat = "3 km"\n',
            "town.larkmill.storm_outlet.river",
            'there is no river "ash"',
        ),
        (
            "[town.larkmill.toilets]\nx = 1\n",
            "town.larkmill.toilets",
            'Did you mean "homes.toilets"?',
        ),
        (LAKE.replace("2 Mgal", "0 m3"), "reservoir.lake.capacity", "must lie above zero"),
        (LAKE.replace("5 km", "50 km"), "reservoir.lake.at", "beyond the end"),
        (LAKE + 'start = "2 %"\n', "reservoir.lake.start", "below its dead storage"),
        (LAKE + 'release = ["1 ML/day"]\n', "reservoir.lake.release", "the list has 1 values"),
        (LAKE + LAKE.replace("lake", "pond"), "reservoir.pond.at", "at the same place"),
        (
            '[aquifer.deep]\narea = "3 km2"\nriver = "ash"\nat = "3 km"\n',
            "aquifer.deep.river",
            'there is no river "ash"',
        ),
        ('[river.ash]\nlength = "3 km"\njoins = "wren"\n', "river.ash", "has no water"),
        (
            '[river.ash]\nlength = "3 km"\ninflow = "1 m3/s"\njoins = "wren"\njoins_at = "44 km"\n',
            "river.ash.joins_at",
            "beyond the end",
        ),
    ],
)
def test_each_mistake_in_a_table_is_named_with_its_key(extra, key, says):
    """One mistake further down gives one line as well."""
    line = only_problem(ONE_TOWN + extra)
    assert f": {key}: " in line
    assert says in line or re.search(says, line)


def test_an_intake_takes_from_one_place():
    """An intake that names both a river and a reservoir is refused."""
    text = ONE_TOWN.replace('{ river = "wren", at', '{ reservoir = "lake", river = "wren", at', 1)
    assert "names a river and a reservoir" in only_problem(text + LAKE)


def test_an_intake_in_a_reservoir_has_no_distance():
    """A distance below the head goes with a river."""
    text = ONE_TOWN.replace('{ river = "wren", at', '{ reservoir = "lake", at', 1)
    assert "goes with a river" in only_problem(text + LAKE)


def test_rivers_that_flow_in_a_circle_are_told_once():
    """A circle of three rivers is one problem that names all of them."""
    text = ONE_TOWN.replace('"3 m3/s"', '"3 m3/s"\njoins = "ash"') + (
        '[river.ash]\nlength = "9 km"\njoins = "oak"\n[river.oak]\nlength = "9 km"\n'
        'joins = "wren"\n'
    )
    assert "in a circle: wren -> ash -> oak -> wren" in only_problem(text)


@pytest.mark.parametrize(
    "step", ['"5 hour"', '"30 min"', '"2 day"', '"0 h"', '"1 to 2 hour"', '"0.7 day"']
)
def test_a_step_divides_the_day(step):
    """A whole number of steps of one hour or more makes a day."""
    text = ONE_TOWN.replace("2031-08-31", f"2031-08-31\nstep = {step}")
    assert ": season.step: " in only_problem(text)


@pytest.mark.parametrize("step", ["1 day", "24 h", "12 hour", "8 hour", "1 hour", "60 min"])
def test_steps_that_divide_the_day_are_taken(step):
    """Days, half days and hours are taken."""
    text = ONE_TOWN.replace("2031-08-31", f'2031-08-31\nstep = "{step}"')
    assert 0 < read_toml(text).season.step <= 1


@pytest.mark.parametrize("step", ["0.3333333 day", "0.99999999 day", "1.00000000001 hour"])
def test_a_rounded_step_is_the_part_of_the_day_that_it_means(step):
    """So that as many steps as are run make exactly the day, and the account closes."""
    text = ONE_TOWN.replace("2031-08-31", f'2031-08-31\nstep = "{step}"')
    steps = 1 / read_toml(text).season.step
    assert steps == round(steps)


def test_all_problems_come_at_once_and_in_file_order(tmp_path):
    """Mistakes of every sort are told together, each with its line, in the order of the file."""
    text = (
        'title = "x"\n[season]\nstart = 2031-05-01\nend = 2031-04-01\n[river.wren]\n'
        'length = "40 km"\ninflow = "3 m3"\n[town.larkmill]\npeeple = 20000\n'
        'intake = { river = "wrenn", at = "10 km" }\noutfall = { river = "wren", at = "66 km" }\n'
    )
    file = tmp_path / "mill.toml"
    file.write_text(text)
    with pytest.raises(ScenarioError) as caught:
        read_scenario(file)
    found = [(problem.where, problem.key) for problem in caught.value.problems]
    assert found == [
        ("mill.toml:4", "season.end"),
        ("mill.toml:7", "river.wren.inflow"),
        ("mill.toml:9", "town.larkmill.peeple"),
        ("mill.toml:10", "town.larkmill.intake.river"),
        ("mill.toml:11", "town.larkmill.outfall.at"),
    ]


def test_a_scenario_without_places_says_what_is_missing():
    """Title, season, river and town are all missed at once."""
    keys = {line.split(": ")[1] for line in problems_of("about = 'x'")}
    assert keys == {"title", "season", "river", "town"}


def test_empty_tables_of_places_are_not_enough():
    """A scenario with empty tables has neither river nor town."""
    text = 'title = "x"\nriver = {}\ntown = {}\n[season]\nstart = 2031-05-01\nend = 2031-06-01\n'
    assert ["there is no river" in problems_of(text)[0], "there is no town" in problems_of(text)[1]]


def test_tables_of_the_wrong_kind_are_refused():
    """A number or a list where a table belongs is said in words of the file."""
    found = problems_of("title = 1\ntown = 3\nriver = 'x'\nseason = []\nweather = 7\n")
    assert len(found) == 5
    assert all("function" not in line and "Input should" not in line for line in found)


def test_a_deep_tree_of_unknown_keys_is_refused_quickly():
    """Three thousand tables inside each other are one unknown key."""
    found = problems_of(ONE_TOWN.replace("[weather]", "[" + "a." * 900 + "a]\n[weather]"))
    assert len(found) == 1
    assert "too many dots" in found[0]
    found = problems_of(ONE_TOWN.replace("[weather]", "[" + "a." * 40 + "a]\n[weather]"))
    assert [one for one in found if "too deeply" not in one] == []


def test_a_missing_river_of_a_point_is_asked_for_by_name():
    """The example for a missing river is a name in a point, and a table at the top."""
    line = only_problem(ONE_TOWN.replace('outfall = { river = "wren", at', "outfall = { at"))
    assert "town.larkmill.outfall.river: is missing" in line
    assert 'river = "wren"' in line


NAMES = {"town": "larkmill", "river": "wren", "reservoir": "lake", "aquifer": "deep"}
KEYS = [one.key.replace("NAME", NAMES.get(one.key.split(".")[0], "x")) for one in all_keys()]
JUNK = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(),
        st.floats(),
        st.text(max_size=20),
        st.dates(),
        st.datetimes(),
        st.sampled_from(["0 m3", "-1 %", "5 km", "1e9 km", "1 to 2 m3/s", "wren", "lake"]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=13), st.dictionaries(st.text(max_size=6), inner, max_size=3)
    ),
    max_leaves=14,
)
WHOLE = ONE_TOWN + LAKE + '[aquifer.deep]\narea = "9 km2"\nriver = "wren"\nat = "9 km"\n'


@settings(max_examples=400, deadline=None)
@given(st.dictionaries(st.sampled_from(KEYS), JUNK, min_size=1, max_size=3))
def test_any_value_at_any_key_is_taken_or_refused_in_lines(changes):
    """No value whatever at any key of the schema does anything but work or give clear lines."""
    try:
        new = read_toml(WHOLE).changed(changes)
        problems = [*new.warnings, *read_toml(new.text).warnings]
    except ScenarioError as error:
        problems = error.problems
    lines = [str(problem) for problem in problems]
    assert all(line.isprintable() and len(line) < 700 for line in lines), lines
    assert not any("Input should" in line or "function-" in line for line in lines), lines
