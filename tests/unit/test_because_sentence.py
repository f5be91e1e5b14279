"""Because, in a sentence: numbers that add up to what is printed, and words true for the gate."""

from __future__ import annotations

import re

import numpy as np
import pytest
import xarray as xr
from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.charts.because_words import adding_up, because_sentence, parts_sentence
from hydroloop.charts.words import percent
from hydroloop.gates import USES
from hydroloop.tracing.returning import ABOVE, WAYS

PLACES = ["upper", "mill_valley", "lower", "fourth", "fifth", ABOVE]


def parts(**shares):
    """Parts of a used share: ``upper=0.1`` by the river, ``lower__ground=0.1`` by another way."""
    table = xr.DataArray(
        np.zeros((len(PLACES), len(WAYS))),
        {"used_in": PLACES, "way": list(WAYS)},
        ("used_in", "way"),
    )
    for name, share in shares.items():
        place, _, way = name.partition("__")
        way, place = way.replace("_", " ") or "river", place.replace("above", ABOVE)
        table.loc[{"used_in": place, "way": ABOVE if place == ABOVE else way}] = share
    return table


def test_the_towns_and_the_own_reclaimed_water_are_told():
    """As a teacher would say it, largest first."""
    said = parts_sentence(
        parts(upper=0.11, mill_valley=0.04, lower__reclaimed_to_plant=0.06), "lower"
    )
    assert said == (
        "The 21 % is made up of 11 % last used in Upper, 6 % in Lower's own homes and pumped "
        "back as reclaimed water and 4 % in Mill Valley."
    )


def test_all_and_nearly_all_are_said_without_numbers():
    """One town has no number of its own."""
    assert parts_sentence(parts(upper=0.3), "lower") == "All of it was last used in Upper."
    said = parts_sentence(parts(upper=0.3, above=0.004), "lower")
    assert said == "Nearly all of it was last used in Upper."
    assert parts_sentence(parts(above=0.1), "lower") == "All of it was last used above the map."


def test_a_way_that_all_of_it_came_is_said_once():
    """A well draws what came through the ground, wherever it was used."""
    said = parts_sentence(parts(upper__ground=0.012, lower__ground=0.008), "lower")
    assert said == (
        "The 2 %, which came through the ground, is made up of 1.2 % last used in Upper and "
        "0.8 % in Lower's own homes."
    )


def test_small_parts_are_gathered():
    """Not more than five pieces, the smallest as one."""
    said = parts_sentence(
        parts(upper=0.1, mill_valley=0.05, lower=0.04, fourth=0.02, fifth=0.01, above=0.01), "lower"
    )
    assert said.endswith("4 % in Lower's own homes, 2 % in Fourth and 2 % in other places.")


def test_parts_too_small_to_matter_have_no_name():
    """Below half a percent of the tap water several are one; a single one, or all, are named."""
    three = parts(upper=0.009, lower=0.003, fourth=0.003)
    assert parts_sentence(three, "lower").endswith(
        "0.9 % last used in Upper and 0.6 % in other places."
    )
    two = parts(upper=0.012, lower=0.003)
    assert parts_sentence(two, "lower").endswith("0.3 % in Lower's own homes.")
    small = parts(upper=0.003, lower=0.002, fourth=0.001)
    assert parts_sentence(small, "lower").endswith("0.1 % in Fourth.")


def test_nothing_is_said_of_nothing():
    """Without used water, without parts, and where nobody knows."""
    assert parts_sentence(parts(), "lower") == ""
    assert parts_sentence(parts(upper=np.nan), "lower") == ""
    assert because_sentence(xr.Dataset(), "lower") == ""


@pytest.mark.parametrize("gate", [*USES, "chosen flows"])
def test_words_are_true_for_what_counts_as_a_use(gate):
    """Only a home is called a home, and water is not called used at a plant that treats it."""
    said = parts_sentence(parts(upper=0.2, lower=0.1), "lower", gate)
    assert ("homes" in said) == (gate == "home")
    assert ("treated" in said) == (gate == "wastewater-plant")
    assert ("toilet" in said) == (gate == "toilet")


@settings(deadline=None)
@given(st.lists(st.floats(0.0, 0.16), min_size=6, max_size=6))
def test_numbers_add_up_to_what_is_printed(shares):
    """Whatever the parts, the printed numbers sum to the printed share."""
    table = parts(
        **dict(
            zip(("upper", "mill_valley", "lower", "fourth", "fifth", "above"), shares, strict=True)
        )
    )
    said = parts_sentence(table, "lower")
    if "made up" in said:
        whole, *numbers = (float(one) for one in re.findall(r"([\d.]*\d) %", said))
        assert sum(numbers) == pytest.approx(whole, abs=1e-9)
        assert said.startswith(f"The {percent(sum(shares)).removeprefix('more than ')} is made")


def test_parts_are_rounded_to_the_nearest_that_adds_up():
    """12.1, 4.4, 1.7, 1.5, 1.1 and .6 make 21: what loses most by rounding down goes up."""
    found = adding_up([0.1209, 0.0439, 0.0169, 0.0152, 0.0105, 0.0058], 0.2132)
    assert found == ["12", "4", "2", "1", "1", "1"]


@pytest.mark.parametrize(("whole", "printed"), [(0.9996, 99.9), (0.0003, 0.1), (0.43, 43.0)])
def test_parts_add_up_to_what_is_printed_of_the_ends(whole, printed):
    """Also where the whole is told as more than 99.9 %, or less than 0.1 %."""
    found = adding_up([0.7 * whole, 0.3 * whole], whole)
    assert sum(map(float, found)) == pytest.approx(printed)
