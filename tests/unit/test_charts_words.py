"""Numbers and names as the pictures say them."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydroloop.charts.season_axes import time_marks
from hydroloop.charts.spreading import spread
from hydroloop.charts.words import (
    date_words,
    flow_words,
    joined,
    percent,
    span_words,
    time_words,
    two_figures,
    use_words,
)
from hydroloop.units import display_unit


@pytest.mark.parametrize(
    ("share", "words"),
    [
        (0.0, "0 %"),
        (0.0004, "less than 0.1 %"),
        (0.0006, "0.1 %"),
        (0.0996, "10 %"),
        (0.614, "61 %"),
        (0.9949, "99 %"),
        (0.997, "99.7 %"),
        (0.99996, "more than 99.9 %"),
        (1.0, "100 %"),
        (float("nan"), "an unknown share"),
    ],
)
def test_percent_never_hides_a_rest(share, words):
    """Nearly nothing is not 0 % and nearly all is not 100 %."""
    assert percent(share) == words


def test_last_use_class_is_open():
    """The last class says that it holds all that follow, whatever its number."""
    assert [use_words(2, last) for last in (2, 3)] == ["twice or more", "twice"]
    assert use_words(7, 7) == "7 or more times"
    assert use_words(1, 1) == "once or more"


def test_times_take_the_unit_that_fits():
    """Minutes, hours and days in two figures; what is not known is said."""
    assert [time_words(days) for days in (0.0001, 0.02, 0.5, 1.0, 12.34, np.nan)] == [
        "under 2 min",
        "29 min",
        "12 hours",
        "24 hours",
        "12 days",
        "an unknown time",
    ]


def test_flows_keep_three_figures_at_most():
    """A tiny town's gallons are rounded, not printed to the last one."""
    unit = display_unit("flow", "us", largest=50.0)
    assert flow_words(87.54, unit) == "23,100 gal/day"
    assert flow_words(0.0, unit) == "0 gal/day"


def test_lists_and_dates_read_as_sentences():
    """Commas and a last "and"; the year once where both dates share it."""
    assert [joined(["a"]), joined(["a", "b"])] == ["a", "a and b"]
    time = np.array(["2030-11-01", "2031-06-30"], dtype="datetime64[D]")
    assert span_words(time) == "1 November 2030 to 30 June 2031"
    assert span_words(time[:1]) == date_words(time[0]) == "1 November 2030"
    assert two_figures(float("inf")) == "unknown"


@given(st.lists(st.floats(-5, 15), max_size=12).map(sorted), st.floats(0.01, 2))
def test_spread_labels_keep_order_distance_and_bounds(wanted, gap):
    """Labels stay in order and within bounds, and a gap apart where there is room for that."""
    placed = spread(wanted, gap, 0.0, 10.0)
    room = (len(wanted) - 1) * gap <= 10.0
    assert len(placed) == len(wanted)
    assert (placed >= -1e-9).all()
    assert (placed <= 10 + 1e-9).all()
    assert (np.diff(placed) >= (gap if room else 0) - 1e-9).all()


def test_labels_with_room_do_not_move():
    """Nothing moves that need not."""
    assert spread([1.0, 3.0, 9.0], 1.0, 0.0, 10.0).tolist() == [1.0, 3.0, 9.0]


def test_labels_that_fall_are_refused():
    """The order is the caller's to give."""
    with pytest.raises(ValueError, match="rise"):
        spread([2.0, 1.0], 0.1, 0.0, 3.0)


@pytest.mark.parametrize("days", [1, 5, 20, 75, 183, 365, 900, 4000])
def test_time_axis_has_at_most_a_dozen_marks(days):
    """However long the season, its marks rise, are not too many, and the first tells the year."""
    time = np.arange(days) + np.datetime64("2030-11-15")
    marks = time_marks(time)
    assert 1 <= len(marks) <= 12
    assert all(a.at < b.at for a, b in pairwise(marks))
    assert days <= 75 or marks[0].words.endswith(("2030", "2031"))
