"""Bounds: one table for what each number can mean, held by check, by run and by explain."""

from __future__ import annotations

import math

import pytest
from small_scenarios import one_town

from hydroloop import simulate
from hydroloop.bounds import bound_of
from hydroloop.errors import InputError, ScenarioError
from hydroloop.scenario import all_keys, explain
from hydroloop.scenario.draft import Draft
from hydroloop.scenario.limits import limit_checks
from hydroloop.scenario.quantities import ends_of, read
from hydroloop.scenario.tree import find
from hydroloop.units import WITHOUT_UNIT
from hydroloop.weather import weather_for

NUMBERS = [one for one in all_keys() if one.held or "number" in one.takes]


def _bound(note):
    here = find(note.key.split("."))
    return bound_of(note.key.split("."), here.dimension), here


def _findings(note, here, value):
    """What the table says of a value at a key."""
    if here.dimension not in ("", *WITHOUT_UNIT):
        value = f"{value!r} {note.held}"
    data = value
    for word in reversed(note.key.split(".")):
        data = {word: data}
    return list(limit_checks(Draft(data, None)))


@pytest.mark.parametrize("note", NUMBERS, ids=lambda note: note.key)
def test_every_number_has_bounds_around_what_is_usual(note):
    """Default and usual range lie within; beyond an end a value is refused, at it it is not."""
    bound, here = _bound(note)
    ends = (lambda value: read(value, here.dimension)[1:3]) if here.dimension else ends_of
    usual = (here.field.json_schema_extra or {}).get("usual") or []
    given = [*usual, *([] if here.field.is_required() else [here.field.default])]
    for value in given:
        if isinstance(value, str | int | float):
            assert bound.holds(*ends(value)), value
    assert ("bounds", bound.words(here.dimension)) in explain(note.key).facts
    assert not _findings(note, here, bound.high)
    beyond = bound.high + 1 if isinstance(bound.high, int) else bound.high * 1.001
    # More than the whole is no share at all, and beyond the pole there is no latitude.
    if here.dimension != "angle" and (here.dimension != "share" or bound.high < 1.0):
        assert [found.path for found in _findings(note, here, beyond)] == [
            tuple(note.key.split("."))
        ]
    assert bool(_findings(note, here, bound.low)) == bound.above


@pytest.mark.parametrize(
    ("key", "value"),
    [("mains.real_losses", "100 %"), ("plant.sludge", "100 %"), ("plant.backwash", "100 %")],
)
def test_what_is_shared_out_leaves_something(key, value):
    """Losses of the whole would divide by nothing: refused when the file is read."""
    with pytest.raises(ScenarioError, match="out of bounds") as caught:
        one_town(**{f"town__larkmill__{key.replace('.', '__')}": value})
    assert [problem.key for problem in caught.value.problems] == [f"town.larkmill.{key}"]


@pytest.mark.parametrize(
    ("key", "argument", "unit"),
    [
        ("elevation", "elevation_m", " m"),
        ("wind", "wind_m_per_s", " m/s"),
        ("warmer_by", "warmer_by_c", ""),
        ("rain_scale", "rain_scale", ""),
    ],
)
def test_check_and_run_hold_the_same_ends_of_the_weather(key, argument, unit):
    """At an end a file passes and the season runs; just beyond, both refuse it."""
    bound = bound_of(["weather", key], {" m": "elevation", " m/s": "speed"}.get(unit, ""))
    place = {"latitude_deg": 45.0, "elevation_m": 100.0}
    for end, beyond in ((bound.low, bound.low - 0.5), (bound.high, bound.high + 0.5)):
        values = [f"{value}{unit}" if unit else value for value in (end, beyond)]
        simulate(one_town(season__end="2031-05-02", **{f"weather__{key}": values[0]}))
        with pytest.raises(InputError):
            one_town(**{f"weather__{key}": values[1]})
        with pytest.raises(InputError, match=f"{key}: .*out of bounds"):
            weather_for("2031-05-01", "2031-05-02", 1.0, **(place | {argument: beyond}))


def test_check_and_run_know_the_same_years():
    """A season of the last day that can be run passes, one of the next is refused by check."""
    last = {"season__start": "2199-12-30", "season__end": "2199-12-31"}
    assert math.isfinite(float(simulate(one_town(**last))["volume"].sum()))
    with pytest.raises(ScenarioError, match="from 1700 to 2199"):
        one_town(season__start="2199-12-30", season__end="2200-01-01")
