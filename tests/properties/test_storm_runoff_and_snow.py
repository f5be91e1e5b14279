"""Laws of runoff and snow over random storms and days."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.weather.curve_number import runoff_depth
from hydroloop.weather.snow import melt_depth, snowfall_share

numbers = st.floats(20, 100)
depths = st.floats(0, 500)


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


@settings(max_examples=100, deadline=None)
@given(temperature=st.floats(-60, 60), snow=depths, step=st.floats(0.01, 1))
def test_melt_never_exceeds_what_lies_there(temperature, snow, step):
    """Melt lies between nothing and all, and cold days melt nothing."""
    melt = melt_depth(temperature, snow, step)
    assert 0.0 <= melt <= snow
    assert temperature > 0.0 or melt == 0.0
    assert 0.0 <= snowfall_share(temperature) <= 1.0
