"""Numbers without a unit may be ranges too: read, refused, scaled and drawn like any quantity."""

from __future__ import annotations

import pytest
from small_scenarios import one_town

from hydroloop.errors import ScenarioError
from hydroloop.scenario import read_toml
from hydroloop.scenario.quantities import is_plain
from hydroloop.scenario.schema import ScenarioFile
from hydroloop.scenario.schema_quality import Quality
from hydroloop.scenario.schema_town import Land
from hydroloop.whatif import drawn_job, run_job

CURVE = "town.larkmill.land.curve_number"


def test_a_range_stands_at_its_middle():
    """The run takes the middle, the ends are kept, and the text is written back as it was."""
    scenario = one_town(**{"town__larkmill__land__curve_number": "60 to 80"})
    assert scenario.town["larkmill"].land.curve_number == 70.0
    assert scenario.ranges == {CURVE: (60.0, 80.0)}
    assert read_toml(scenario.text).ranges == scenario.ranges


@pytest.mark.parametrize(
    ("key", "text", "ends"),
    [
        ("dry_season.warmer_by", "2 to 4", (2.0, 4.0)),
        ("weather.warmer_by", "-1.5 to +2", (-1.5, 2.0)),
        ("quality.chlorine_decay_per_day", "1e-1 – .9", (0.1, 0.9)),
        ("town.larkmill.plant.disinfection.ph", "7 to 8", (7.0, 8.0)),
    ],
)
def test_ranges_of_any_such_key(key, text, ends):
    """Signs, powers of ten and a dash are read."""
    assert one_town(**{key.replace(".", "__"): text}).ranges == {key: ends}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("80 to 60", '"80 to 60" runs backwards. Write the smaller value first.'),
        ("90 to 120", '"90 to 120" is out of bounds. Write a number from 1 to 100.'),
        ("60 to many", '"60 to many" is not a number.'),
        ("60 mm to 80 mm", '"60 mm to 80 mm" is not a number.'),
    ],
)
def test_what_is_no_range(text, words):
    """Ends the wrong way round, beyond what the number can mean, or no numbers."""
    with pytest.raises(ScenarioError) as told:
        one_town(**{"town__larkmill__land__curve_number": text})
    assert len(told.value.problems) == 1
    assert words in str(told.value)


def test_an_unusual_end_is_told():
    """A warning where one end lies outside the usual range."""
    scenario = one_town(**{"town__larkmill__land__curve_number": "20 to 60"})
    assert [warning.key for warning in scenario.warnings] == [CURVE]


def test_a_title_with_numbers_is_no_range():
    """Only numbers may be ranges."""
    assert one_town(title="From 5 to 7").ranges == {}
    assert one_town(title="5 to 7").ranges == {}


def test_scaling_scales_both_ends():
    """`--scale` on a range keeps it a range."""
    scenario = one_town(**{"town__larkmill__land__curve_number": "60 to 80"}).scaled({CURVE: 0.5})
    assert scenario.ranges == {CURVE: (30.0, 40.0)}


def test_members_draw_from_it():
    """Each member has a value of its own within the range, and it changes what comes out."""
    scenario = one_town(
        **{"weather__warmer_by": "0 to 6", "season__end": "2031-05-31", "weather__seed": 3}
    )
    table = run_job(drawn_job(scenario, 8, seed=2))
    drawn = table["drawn"].sel(key="weather.warmer_by").values
    assert ((drawn >= 0.0) & (drawn <= 6.0)).all()
    assert len(set(drawn)) == 8
    assert float(table["mean_withdrawn"].std()) > 0.0


def test_every_number_with_a_fraction_may_be_a_range():
    """No key of the schema takes a number that cannot be written as a range."""

    def numbers(table):
        for name, field in table.model_fields.items():
            if field.annotation is float and not field.metadata:
                yield f"{table.__name__}.{name}"

    def tables(table, seen):
        if table in seen:
            return
        seen.add(table)
        for field in table.model_fields.values():
            for inner in _classes(field.annotation):
                tables(inner, seen)

    seen: set = set()
    tables(ScenarioFile, seen)
    assert {Quality, Land} <= seen
    assert [name for table in seen for name in numbers(table)] == []
    assert is_plain(Land.model_fields["curve_number"])


def _classes(annotation):
    from typing import get_args

    from hydroloop.scenario.key import Part

    if isinstance(annotation, type) and issubclass(annotation, Part):
        yield annotation
    for inner in get_args(annotation):
        yield from _classes(inner)
