"""Units of the plants: what an operator writes comes in, and goes out, in one convention."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.errors import InputError
from hydroloop.plants import (
    available_ct,
)
from hydroloop.units import DIMENSIONS, in_unit, parse

FLOW = ("1 Mgal/day", "flow")


def read(text, dimension):
    return parse(text, dimension).value


@pytest.mark.parametrize(
    ("ours", "dimension", "unit", "expected"),
    [
        (lambda: read(*FLOW) / read("1000 ft2", "small_area"), "surface_rate", "gpd/ft2", 1000.0),
        (
            lambda: read("2000 gpm", "flow") / read("500 ft2", "small_area"),
            "surface_rate",
            "gpm/ft2",
            4.0,
        ),
        (lambda: read(*FLOW) / read("100 ft", "short_length"), "weir_load", "gpd/ft", 1e4),
        (
            lambda: read(*FLOW) * read("2 mg/L", "concentration") / 1000.0,
            "mass_flow",
            "lb/day",
            16.69,
        ),
        (lambda: available_ct(read("1.2 mg/L", "concentration"), 50.0), "ct", "mg min/L", 60.0),
    ],
)
def test_american_units_in_and_out(ours, dimension, unit, expected):
    """What a function of the plants gives, in the unit that an American operator reads."""
    assert in_unit(ours(), dimension, unit) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_out_is_the_way_in(dimension):
    """A number written in any example's unit and taken out in it is the number written."""
    for example in DIMENSIONS[dimension].examples:
        number, _, unit = example.replace(",", "").partition(" ")
        if unit and unit not in ("N", "S") and " to " not in example:
            assert in_unit(read(example, dimension), dimension, unit) == pytest.approx(
                float(number)
            )


def test_a_surface_rate_is_held_as_the_plants_hold_it():
    """398 gpd/ft2 is 16.2 m/d, a flow over an area; as a speed it is refused."""
    assert read("398 gpd/ft2", "surface_rate") == pytest.approx(16.2, abs=0.05)
    with pytest.raises(InputError, match="a flow for each area"):
        parse("398 gpd/ft2", "speed")


def test_arrays_go_out_too():
    """A whole column is converted at once; a unit of another kind is refused."""
    assert in_unit(np.array([0.0, 20.0]), "temperature", "F").tolist() == [32.0, 68.0]
    with pytest.raises(InputError, match="is a mass"):
        in_unit(1.0, "flow", "kg")
    with pytest.raises(InputError, match="there is no dimension"):
        in_unit(1.0, "flows", "m3/day")
    with pytest.raises(InputError, match="in quotes"):
        parse(5, "flow")
