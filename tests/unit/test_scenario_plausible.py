"""Plausibility: values that are allowed but unusual give a warning, not an error."""

from __future__ import annotations

import pytest
from small_scenarios import ONE_TOWN, one_town

from hydroloop.errors import InputError
from hydroloop.scenario import all_keys, read_toml
from hydroloop.scenario.key import note
from hydroloop.scenario.quantities import read
from hydroloop.scenario.tree import find


def warnings_of(text: str) -> list[str]:
    """Every warning of a scenario that is allowed."""
    return [str(problem) for problem in read_toml(text).warnings]


def test_a_usual_scenario_has_no_warning():
    """A town of usual figures is not nagged about."""
    assert one_town().warnings == ()


def test_an_unusual_value_is_named_with_range_and_source():
    """The warning has file, line, key, what was given, the usual range and its source."""
    text = ONE_TOWN + '[town.larkmill.mains]\nreal_losses = "0.5 %"\n'
    assert warnings_of(text) == [
        f'scenario:{text.count(chr(10))}: town.larkmill.mains.real_losses: "0.5 %" is unusual: '
        f"the usual range is 3 % to 40 % "
        f"({note(find(('town', 'x', 'mains', 'real_losses')).field, 'source')}). "
        "Check it, or go on if you mean it."
    ]


@pytest.mark.parametrize(
    ("value", "count"),
    [
        ('"3 %"', 0),
        ('"40 %"', 0),
        ('"41 %"', 1),
        ('"10 % to 45 %"', 1),
        ('"1 % to 10 %"', 1),
        ("0.4", 0),
        ("0.02", 1),
    ],
)
def test_the_ends_of_the_usual_range_are_usual(value, count):
    """The range includes its ends; a range of values is unusual if either end is."""
    text = ONE_TOWN + f"[town.larkmill.mains]\nreal_losses = {value}\n"
    assert len(warnings_of(text)) == count


def test_a_plain_number_has_a_usual_range_too():
    """A factor without unit is held against its range."""
    assert "0.2 to 2.0" in warnings_of(ONE_TOWN.replace("seed = 3", "rain_scale = 3.5"))[0]


@pytest.mark.parametrize(("warmer", "count"), [("-5", 0), ("-6", 1), ("6", 0), ("7", 1)])
def test_a_range_may_reach_below_zero(warmer, count):
    """Colder and warmer are both held against their ends."""
    assert len(warnings_of(ONE_TOWN.replace("seed = 3", f"warmer_by = {warmer}"))) == count


def test_a_town_that_takes_its_own_water_in_again_is_pointed_out():
    """An outfall above the town's own intake is allowed, with a warning."""
    text = ONE_TOWN.replace('"15 km"', '"5 km"')
    assert "above the town's own intake" in warnings_of(text)[0]


def test_a_plant_that_is_a_thousand_times_too_small_is_pointed_out():
    """gal in place of Mgal is caught by what the people use on an average day."""
    text = ONE_TOWN + '[town.larkmill.plant]\ncapacity = "6,000 gal/day"\n'
    # 20,000 people at 58.6 + 33 gal/person/day, the documented defaults: 1.83 Mgal/day
    assert "(1.83 Mgal/day)" in warnings_of(text)[0]
    assert "0.0033 of" in warnings_of(text)[0]


def test_wells_may_stand_in_for_a_small_plant():
    """A town with wells besides is not warned about its plant."""
    text = ONE_TOWN + (
        '[town.larkmill.plant]\ncapacity = "6,000 gal/day"\n'
        '[town.larkmill.wells]\ncapacity = "2 Mgal/day"\n'
    )
    assert warnings_of(text) == []


@pytest.mark.parametrize("area", ["1 m2", "900 km2"])
def test_a_reservoir_of_odd_depth_is_pointed_out(area):
    """A mean depth of a kilometre, or of a millimetre, is most often a slip of the unit."""
    text = ONE_TOWN + (
        f'[reservoir.lake]\nriver = "wren"\nat = "5 km"\ncapacity = "1e6 m3"\narea = "{area}"\n'
    )
    assert any("mean depth" in line for line in warnings_of(text))


def test_a_warning_of_a_change_says_change():
    """A warning about a changed value points at the change."""
    changed = one_town().changed({"town.larkmill.mains.real_losses": "60 %"})
    assert [problem.where for problem in changed.warnings] == ["change"]


def test_a_season_that_fills_the_memory_is_told():
    """Thirty years of hours take gigabytes and minutes; thirty of days, or one of hours, do not."""
    year = {"season.end": "2032-04-30", "season.step": "1 hour"}
    for days in ({"season.end": "2061-04-30"}, year):
        assert not [one for one in one_town().changed(days).warnings if one.key == "season"]
    told = one_town().changed({"season.end": "2091-04-30", "season.step": "1 hour"}).warnings
    assert [one for one in told if one.key == "season" and "GB of memory" in one.what]


QUANTITIES = [(one, find(one.key.split("."))) for one in all_keys() if one.usual]


@pytest.mark.parametrize(("one", "here"), QUANTITIES, ids=[one.key for one, _ in QUANTITIES])
def test_every_default_lies_within_its_usual_range(one, here):
    """No default of ours would be warned about, and both ends of each range can be read."""
    low, high = note(here.field, "usual")
    default = here.field.default
    if here.dimension:
        low, high = (read(end, here.dimension).value for end in (low, high))
        try:
            default = read(default, here.dimension).value
        except InputError:
            default = low  # none, or needed
    assert low <= (default if isinstance(default, int | float) else low) <= high
    assert low < high


@pytest.mark.parametrize(("scale", "count"), [("0.5", 1), ("1", 0), ("1.0", 0)])
def test_less_rain_alone_is_pointed_out(scale, count):
    """Rain that is scaled leaves a river with a given inflow as it is: the cure is a dry season."""
    found = warnings_of(ONE_TOWN.replace("seed = 3", f"rain_scale = {scale}"))
    assert len(found) == count
    assert all("not river.wren.inflow" in one and "dry_season.method" in one for one in found)
