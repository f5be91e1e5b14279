"""Laws of runoff and snow over random storms and winters."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.weather.curve_number import runoff_depth, storm_in_progress
from hydroloop.weather.snow import melt_depth, snow_season, snowfall_share

numbers = st.floats(20, 100)
depths = st.floats(0, 500)
winters = st.lists(st.tuples(st.floats(0, 100), st.floats(-30, 30)), min_size=1, max_size=60)


@settings(max_examples=100, deadline=None)
@given(rain=depths, number=numbers, more_rain=depths, more_number=st.floats(0, 50))
def test_runoff_is_part_of_the_rain_and_grows_with_rain_and_number(
    rain, number, more_rain, more_number
):
    """0 <= Q <= P; more rain or a higher curve number never gives less."""
    runoff = runoff_depth(rain, number)
    slack = 1e-9 * (1 + rain)
    assert 0.0 <= runoff <= rain + slack
    assert runoff_depth(rain + more_rain, number) >= runoff - slack
    assert runoff_depth(rain, min(100.0, number + more_number)) >= runoff - slack


@settings(max_examples=50, deadline=None)
@given(rain=st.lists(depths, min_size=1, max_size=24), number=numbers)
def test_a_storm_in_progress_adds_up_to_the_storm(rain, number):
    """Steps are never negative nor more than their rain, and add up to the storm's runoff."""
    steps = storm_in_progress(np.array(rain), number)
    slack = 1e-9 * (1 + sum(rain))
    assert (steps >= -slack).all()
    assert (steps <= np.array(rain) + slack).all()
    assert abs(steps.sum() - runoff_depth(sum(rain), number)) <= slack


@settings(max_examples=50, deadline=None)
@given(winter=winters, start=st.floats(0, 300), step=st.sampled_from([1 / 24, 0.25, 1.0]))
def test_snow_is_never_lost(winter, start, step):
    """What falls and what lay there melts or lies there still, and never below zero."""
    falls, warmth = (np.array(column) for column in zip(*winter, strict=True))
    season = snow_season(falls, warmth, step, start_mm=start)
    change = np.diff(season["snow_mm"]) - (season["snowfall_mm"] - season["melt_mm"])
    assert np.abs(change).max() <= 1e-9
    assert (season["snow_mm"] >= 0.0).all()
    assert np.allclose(season["rain_mm"] + season["snowfall_mm"], falls, atol=1e-12)


@settings(max_examples=100, deadline=None)
@given(temperature=st.floats(-60, 60), snow=depths, step=st.floats(0.01, 1))
def test_melt_never_exceeds_what_lies_there(temperature, snow, step):
    """Melt lies between nothing and all, and cold days melt nothing."""
    melt = melt_depth(temperature, snow, step)
    assert 0.0 <= melt <= snow
    assert temperature > 0.0 or melt == 0.0
    assert 0.0 <= snowfall_share(temperature) <= 1.0
