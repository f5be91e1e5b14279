"""Printing quantities as people say them."""

from __future__ import annotations

import pytest

from hydroloop.errors import AskError
from hydroloop.units import DIMENSIONS, display_unit, format_quantity, parse


@pytest.mark.parametrize(
    ("text", "dimension", "system", "printed"),
    [  # each is the same quantity, read and printed: no number here comes from the program
        ("4.5 Mgal/day", "flow", "us", "4.5 Mgal/day"),
        ("4,500 gal/day", "flow", "us", "4,500 gal/day"),
        ("12 ML/day", "flow", "metric", "12 ML/day"),
        ("340 m3/day", "flow", "metric", "340 m3/day"),
        ("0.5 m3/day", "flow", "metric", "500 L/day"),
        ("350 cfs", "river_flow", "us", "350 ft3/s"),
        ("2.5 m3/s", "river_flow", "metric", "2.5 m3/s"),
        ("4 L/s", "river_flow", "metric", "4 L/s"),
        ("2 Mgal", "volume", "us", "2 Mgal"),
        ("7.5 ML", "volume", "metric", "7.5 ML"),
        ("1,200 acre_ft", "stored_volume", "us", "1,200 acre-ft"),
        ("1.5e6 m3", "stored_volume", "metric", "1.5 million m3"),
        ("12 mi", "length", "us", "12 mi"),
        ("0.3 km", "length", "metric", "300 m"),
        ("640 acre", "area", "us", "1 mi2"),
        ("30 ha", "area", "metric", "30 ha"),
        ("430 ft2", "small_area", "us", "430 ft2"),
        ("1 ft", "depth", "us", "12 in"),
        ("150 mm", "depth", "metric", "150 mm"),
        ("16.4 %", "share", "us", "16.4 %"),
        ("1 day", "duration", "us", "24 hours"),
        ("3 days", "duration", "us", "3 days"),
        ("30 min", "duration", "metric", "30 min"),
        ("30 s", "duration", "metric", "30 s"),
        ("58.6 gal/person/day", "per_person", "us", "58.6 gal/person/day"),
        ("220 L/person/day", "per_person", "metric", "220 L/person/day"),
        ("1.3 ft/s", "speed", "us", "1.3 ft/s"),
        ("45 N", "angle", "us", "45 deg"),
        ("330 ft", "elevation", "us", "330 ft"),
        ("24,000 people", "count", "us", "24,000 people"),
        ("68 F", "temperature", "us", "68 °F"),
        ("20 C", "temperature", "metric", "20 °C"),
        ("0 m3/day", "flow", "metric", "0 ML/day"),
        ("12,345.6 m3/day", "flow", "metric", "12.3 ML/day"),
        ("999.7 m3/day", "flow", "metric", "1 ML/day"),
    ],
)
def test_a_quantity_prints_as_people_say_it(text, dimension, system, printed):
    """Three figures, the unit that suits the size, and the system asked for."""
    assert format_quantity(parse(text, dimension).value, dimension, system) == printed


def test_a_person_and_a_day_are_not_plural():
    """One of a kind has no plural."""
    assert format_quantity(1, "count") == "1 person"


def test_what_is_not_a_number_prints_as_unknown():
    """A value that is missing does not print as a number."""
    assert format_quantity(float("nan"), "flow") == "unknown"


@pytest.mark.parametrize("system", ["us", "metric"])
@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_the_unit_of_a_chart_agrees_with_reading(dimension, system):
    """One shown unit, read back, is one over the factor in the held unit."""
    unit = display_unit(dimension, system)
    held = (1 - unit.offset) / unit.factor
    assert parse(f"1 {unit.name}", dimension).value == pytest.approx(held, rel=1e-12)


def test_an_unknown_dimension_is_an_error():
    """A dimension that does not exist is not passed over."""
    with pytest.raises(AskError, match="there is no dimension"):
        display_unit("colour", "us")
