"""Changing a scenario: other values, factors, and the text that says so."""

from __future__ import annotations

import datetime as dt
import shlex
import tomllib

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_scenarios import ONE_TOWN, one_town

from hydroloop.errors import ScenarioError
from hydroloop.scenario import explain, read_toml, value_from_text

TWO_TOWNS = ONE_TOWN + (
    '[town.penhollow]  # further down\npeople = 9000\nintake = { river = "wren", at = "20 km" }\n'
    'outfall = { river = "wren", at = "25 km" }\n'
)


def refused(changes, scenario=None) -> list[str]:
    """Every line of the refusal of changes."""
    with pytest.raises(ScenarioError) as caught:
        (scenario or one_town()).changed(changes)
    return [str(problem) for problem in caught.value.problems]


def test_a_change_gives_a_new_scenario_and_leaves_the_old_one():
    """Nothing is changed in place."""
    old = one_town()
    new = old.changed({"town.larkmill.people": 24000})
    assert (old.town["larkmill"].people, new.town["larkmill"].people) == (20000.0, 24000.0)
    assert "24000" in new.text
    assert "24000" not in old.text


def test_a_plain_number_is_in_the_held_unit():
    """A number without unit is taken in the unit in which the key is held."""
    new = one_town().changed(
        {
            "river.wren.inflow": 12345.6,
            "river.wren.length": np.float64(44.5),
            "town.larkmill.homes.toilets": 0.3,
            "town.larkmill.people": np.int64(300),
        }
    )
    assert new.river["wren"].inflow == 12345.6
    assert new.river["wren"].length == 44.5
    assert new.town["larkmill"].homes.toilets == 0.3
    assert new.town["larkmill"].people == 300.0


def test_changes_are_given_keys_and_may_be_ranges():
    """A changed key counts as given; a range is kept as in a file."""
    new = one_town().changed({"town.larkmill.mains.real_losses": "8 % to 14 %"})
    assert "town.larkmill.mains.real_losses" in new.given
    assert new.ranges["town.larkmill.mains.real_losses"] == (0.08, 0.14)


def test_a_star_means_every_place_of_that_kind():
    """One key with a star changes all towns."""
    new = read_toml(TWO_TOWNS).changed({"town.*.mains.real_losses": "5 %"})
    assert [town.mains.real_losses for town in new.town.values()] == [0.05, 0.05]


def test_none_takes_a_key_out():
    """A key set to None falls back to its default, and leaves the text."""
    new = one_town().changed({"weather.seed": None})
    assert new.weather.seed == 1
    assert "seed" not in new.text


def test_a_table_adds_a_town():
    """A whole new town can be added with its tables."""
    new = one_town().changed(
        {
            "town.new_town": {
                "people": 500,
                "intake": {"river": "wren", "at": 3},
                "outfall": {"river": "wren", "at": "4 km"},
            }
        }
    )
    assert new.town["new_town"].intake.at == 3.0
    assert read_toml(new.text).town["new_town"].people == 500.0


def test_a_date_may_be_changed_either_way():
    """Dates are taken as dates and as texts."""
    assert one_town().changed({"season.end": "2031-06-30"}).season.end == dt.date(2031, 6, 30)
    assert one_town().changed({"season.end": dt.date(2031, 6, 30)}).season.end.month == 6


def test_a_wrong_change_is_refused_with_all_its_problems():
    """Unknown keys and places, wrong units and clashes come together, and say change."""
    lines = refused(
        {
            "town.larkmil.people": 3,
            "town.larkmill.homs.toilets": "3 %",
            "town.larkmill.plant.capacity": "12 ML",
            "season.end": "2031-01-01",
        }
    )
    assert len(lines) == 4
    assert all(line.startswith("change: ") for line in lines)
    text = "\n".join(lines)
    assert 'there is no town "larkmil". Did you mean "larkmill"?' in text
    assert 'Did you mean "homes"?' in text
    assert "is a volume, but a capacity is a flow" in text
    assert "comes before the first day" in text


@pytest.mark.parametrize(
    "key",
    [
        "",
        ".",
        "town",
        "town.",
        "town.larkmill",
        "x",
        "town.larkmill.people.x",
        "town..people",
        "season.start.year",
        "title.x",
        "river.*.nothing",
        "reservoir.*.start",
    ],
)
def test_a_key_that_is_none_is_refused(key):
    """Half a key, an empty key or a key below a value is refused and never written."""
    assert refused({key: 3})


@pytest.mark.parametrize("value", [float("nan"), float("inf"), "9**9**9", [1], object(), True, ""])
def test_a_value_that_is_none_is_refused(value):
    """What is no quantity is refused in a change as in a file."""
    lines = refused({"town.larkmill.plant.capacity": value})
    assert len(lines) == 1
    assert lines[0].startswith("change: town.larkmill.plant.capacity: ")


def test_comments_and_layout_are_kept():
    """The text keeps its comments; only what was changed is written anew."""
    text = TWO_TOWNS.replace("seed = 3", "seed = 3  # any will do")
    new = read_toml(text).changed({"weather.seed": 8, "town.penhollow.intake.at": "21 km"})
    assert "seed = 8  # any will do" in new.text
    assert "# further down" in new.text
    assert 'intake = { river = "wren", at = "21 km" }' in new.text


def test_an_unchanged_text_is_the_text_as_read():
    """Without changes the text is what was read, to the letter."""
    assert one_town().to_toml() == ONE_TOWN


def test_changes_upon_changes_are_all_in_the_text():
    """A change of a change holds both."""
    new = one_town().changed({"weather.seed": 8}).changed({"town.larkmill.yards.efficiency": 0.5})
    again = read_toml(new.text)
    assert again.model == new.model
    assert (again.weather.seed, again.town["larkmill"].yards.efficiency) == (8, 0.5)


def test_the_last_of_several_changes_counts():
    """A key within a table that was replaced in between has its last value, comments kept."""
    new = (
        read_toml(TWO_TOWNS)
        .changed({"town.larkmill.homes.toilets": 0.3})
        .changed({"town.larkmill.homes": {"baths": "20 %"}})
        .changed({"town.larkmill.homes.toilets": 0.1})
    )
    assert read_toml(new.text).town["larkmill"].homes.toilets == 0.1
    assert "# further down" in new.text


def without_held(scenario):
    """What a scenario's text says, but for the works that are held and stand in no table."""
    said = tomllib.loads(scenario.text)
    for path in scenario.held:
        table = said["town"][path[1]][path[2]]
        del table[path[3]]
        if not table:
            del said["town"][path[1]][path[2]]
    return said


OUT_OF_ORDER = TWO_TOWNS + '[town.larkmill.homes]  # apart\ntoilets = "20 %"\n'
DOTTED = (
    'title = "x"\nseason.start = 2031-05-01\nseason.end = 2031-06-01\n'
    'river.wren.length = "40 km"\nriver.wren.inflow = "3 m3/s"\ntown.larkmill.people = 3000\n'
    'town.larkmill.intake.river = "wren"\ntown.larkmill.intake.at = "1 km"\n'
    'town.larkmill.outfall = { river = "wren", at = "2 km" }\n'
    'town.penhollow = { people = 9, intake = { river = "wren", at = "3 km" }, '
    'outfall = { river = "wren", at = "4 km" } }\n'
)


@pytest.mark.parametrize("text", [OUT_OF_ORDER, DOTTED], ids=["out of order", "dotted"])
@pytest.mark.parametrize(
    "changes",
    [
        {"town.larkmill.people": 5, "town.penhollow.people": 6},
        {"town.larkmill.homes.toilets": 0.3, "town.penhollow.homes.baths": 0.2},
        {"town.penhollow.outfall.at": 5, "town.larkmill.plant.capacity": "3 ML/day"},
        {"town.penhollow": None},
        {"season.step": 0.5, "weather.seed": 4},
        {"town.larkmill.homes": {"toilets": 0.1}},
    ],
)
def test_a_file_may_be_laid_out_in_any_way(text, changes):
    """Tables apart, dotted keys and inline tables can all be changed, and the text says so."""
    new = read_toml(text).changed(changes)
    assert without_held(new) == new.data
    assert read_toml(new.text).model == new.model


def test_a_factor_scales_what_is_there():
    """Values, defaults and ranges are multiplied; a range at both ends."""
    scenario = one_town('[town.larkmill.mains]\nreal_losses = "8 % to 14 %"\n')
    new = scenario.scaled(
        {
            "river.wren.inflow": 0.5,
            "town.larkmill.people": 1.5,
            "weather.rain_scale": 0.8,
            "town.larkmill.homes.use_per_person": 0.9,
            "town.*.mains.real_losses": 0.5,
        }
    )
    assert new.river["wren"].inflow == scenario.river["wren"].inflow * 0.5
    assert new.town["larkmill"].people == 30000.0
    assert new.weather.rain_scale == 0.8
    assert new.town["larkmill"].homes.use_per_person == pytest.approx(
        scenario.town["larkmill"].homes.use_per_person * 0.9, rel=1e-15
    )
    assert new.ranges["town.larkmill.mains.real_losses"] == (0.04, 0.07)


def test_a_factor_on_an_inflow_file_is_kept_beside_the_file(tmp_path):
    """A river that is read from a file is scaled by the file's own factor, each time anew."""
    (tmp_path / "flow.csv").write_text("date,flow [m3/s]\n2031-05-01,3\n")
    text = ONE_TOWN.replace('"3 m3/s"', '{ file = "flow.csv" }')
    new = read_toml(text, folder=tmp_path).scaled({"river.wren.inflow": 0.5})
    assert new.river["wren"].inflow.scale == 0.5
    assert new.scaled({"river.wren.inflow": 0.5}).river["wren"].inflow.scale == 0.25
    assert read_toml(new.text, folder=tmp_path).model == new.model


def test_a_factor_scales_every_month():
    """Twelve monthly releases are all scaled."""
    months = ", ".join(f'"{n} ML/day"' for n in range(1, 13))
    lake = (
        '[reservoir.lake]\nriver = "wren"\nat = "5 km"\ncapacity = "2 Mgal"\narea = "1 ha"\n'
        f"release = [{months}]\n"
    )
    new = one_town(lake).scaled({"reservoir.lake.release": 2})
    assert new.reservoir["lake"].release == pytest.approx([2000.0 * n for n in range(1, 13)])


@pytest.mark.parametrize(
    ("key", "factor", "says"),
    [
        ("town.larkmill.plant.capacity", 2, "no value of its own"),
        ("weather.seed", 2, "not a number that can be scaled"),
        ("title", 2, "not a number that can be scaled"),
        ("town.larkmill.homes", 2, "not a number that can be scaled"),
        ("town.larkmil.people", 2, 'Did you mean "larkmill"?'),
        ("town.larkmill.peeple", 2, 'Did you mean "people"?'),
        ("river.wren.inflow", -1, "-1 is not a factor"),
        ("river.wren.inflow", float("nan"), "nan is not a factor"),
        ("river.wren.inflow", "half", '"half" is not a factor'),
        ("river.wren.inflow", True, "true is not a factor"),
        ("town.larkmill.homes.toilets", 4, "add up to more than the whole"),
    ],
)
def test_a_factor_that_makes_no_sense_is_refused(key, factor, says):
    """What has no number, or a factor that is none, is refused with its reason."""
    with pytest.raises(ScenarioError) as caught:
        one_town().scaled({key: factor})
    assert says in str(caught.value)


@pytest.mark.parametrize(
    ("typed", "value"),
    [
        ("24000", 24000),
        ("0.5", 0.5),
        ("true", True),
        ("2031-04-01", dt.date(2031, 4, 1)),
        ("4.5 Mgal/day", "4.5 Mgal/day"),
        ("8 % to 14 %", "8 % to 14 %"),
        ("45 N", "45 N"),
        ('"combined"', "combined"),
        ("combined", "combined"),
        ('["50 %", "50 %"]', ["50 %"] * 2),
        (" 7 ", 7),
        ("", ""),
        ("default", None),
        ("1\nx = 2", "1\nx = 2"),
        ("24_000", 24000),
        ("[" * 5000,) * 2,
    ],
)
def test_what_is_typed_on_a_command_line_is_understood(typed, value):
    """Numbers, dates and lists are read as in a file; a quantity needs no quotes."""
    assert value_from_text(typed) == value


@pytest.mark.parametrize(
    ("key", "typed", "value"),
    [
        ("river.wren.inflow", "12", "12"),
        ("town.*.homes.use_per_person", "60", "60"),
        ("weather.rain_scale", "0.5", 0.5),
        ("dry_season.years", "20", 20),
        ("river.wren", "3", 3),
    ],
)
def test_a_quantity_typed_without_its_unit_stays_text(key, typed, value):
    """On a command line as in a file: numbers stay numbers only where no unit is wanted."""
    assert value_from_text(typed, key) == value


FIELDS = st.sampled_from(
    [
        "town.larkmill.people",
        "river.wren.inflow",
        "town.larkmill.plant.clearwell",
        "town.larkmill.yards.soil_depth",
        "town.larkmill.land.area",
        "weather.rain_scale",
        "town.larkmill.workplaces.use_per_person",
        "river.wren.speed",
        "town.penhollow.tanks.volume",
        "town.penhollow.sewers.infiltration",
        "weather.wind",
    ]
)


@settings(max_examples=100, deadline=None)
@given(st.dictionaries(FIELDS, st.floats(1.0, 19.0), max_size=4))
def test_the_text_of_any_change_reads_back_to_the_same_scenario(changes):
    """Whatever is changed, the text says it to the last digit."""
    new = read_toml(TWO_TOWNS).changed(changes)
    assert read_toml(new.text).model == new.model
    assert without_held(new) == new.data
    assert "# further down" in new.text


def test_a_stage_is_added_as_the_message_says():
    """A key of a stage that is not there is refused, and the command that is offered adds one."""
    (line,) = refused({"stage.alert.river": "wren"})
    assert 'there is no stage "alert"' in line
    option, pair = shlex.split(line[line.index("--set") :])
    key, _, value = pair.partition("=")
    assert (option, key) == ("--set", "stage.alert")
    added = one_town().changed({key: value_from_text(value, key)})
    assert list(added.stage) == ["alert"]
    assert added.stage["alert"].river == "wren"
    assert f"{option} " in dict(explain("stage").facts)["added by"]


def test_a_slip_of_the_pen_is_not_told_how_to_add():
    """A name that is nearly one that is there is offered that one alone."""
    (line,) = refused({"town.larkmil.people": 3})
    assert line.endswith('Did you mean "larkmill"?')
