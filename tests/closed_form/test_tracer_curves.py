"""Tracer curves whose moments are known.

A triangle from 10 to 30 has mean 20, variance 100/6 and T10 = 10 + sqrt(20). Equal tanks in a row
have a gamma distribution: T10/T = 0.105, 0.266, 0.436, 0.487, 0.622 for 1, 2, 4, 5, 10 tanks, and
T90/T10 = 21.9, 7.31, 3.29 for 1, 2, 5.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats import gamma

from hydroloop.errors import AskError, HydroloopWarning
from hydroloop.plants import pulse_test, step_test, tanks_in_series_time


def test_triangle():
    """Straight lines are integrated exactly, moments and shares within a step too."""
    curve = pulse_test([10, 20, 30], [0, 10, 0])
    assert curve.mean == pytest.approx(20.0)
    assert curve.variance == pytest.approx(100 / 6)
    assert curve.t10 == pytest.approx(10 + np.sqrt(20))
    assert curve.share_between(0, 17) == pytest.approx(0.245)
    assert curve.share_between(20, 99) == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("tanks", "factor"), [(1, 0.105), (2, 0.266), (4, 0.436), (5, 0.487), (10, 0.622)]
)
def test_tanks_in_a_row(tanks, factor):
    """T10 over the mean time of equal tanks."""
    assert tanks_in_series_time(tanks, 0.1) == pytest.approx(factor, abs=0.0006)


@pytest.mark.parametrize(("tanks", "index"), [(1, 21.9), (2, 7.31), (5, 3.29)])
def test_pulse_and_step_find_the_tanks(tanks, index):
    """A pulse and a step through equal tanks give back mean, number of tanks and Morrill index."""
    time = np.linspace(0.0, 14.0, 4001)
    pulse = pulse_test(time, gamma.pdf(time, tanks, scale=1 / tanks))
    step = step_test(time, 2.0 * gamma.cdf(time, tanks, scale=1 / tanks) + 0.3, dose=2.0, base=0.3)
    for curve in (pulse, step):
        assert curve.mean == pytest.approx(1.0, rel=2e-3)
        assert curve.tanks == pytest.approx(tanks, rel=2e-3)
        assert curve.morrill_index == pytest.approx(index, rel=5e-3)
        assert curve.t10 == pytest.approx(tanks_in_series_time(tanks, 0.1), rel=5e-3)


@settings(max_examples=30)
@given(st.lists(st.floats(0.0, 9.0), min_size=3, max_size=9), st.floats(0.01, 0.99))
def test_shares_and_their_times_agree(readings, share):
    """By the time of a share just that share has left, whatever the curve."""
    readings = [*readings, 1.0, 0.0]
    curve = pulse_test(np.arange(len(readings)) ** 1.3, readings)
    assert curve.share_between(0.0, curve.time_of(share)) == pytest.approx(share, abs=1e-6)
    assert curve.left[-1] == pytest.approx(1.0)


def test_simpson_is_exact_for_a_parabola():
    """C = t (4 - t): a share of 5/32 by t = 1, half by t = 2, and none in no time."""
    time = np.linspace(0, 4, 9)
    curve = pulse_test(time, time * (4 - time), rule="simpson")
    assert [curve.share_between(0, t) for t in (1, 2, 9)] == pytest.approx([5 / 32, 0.5, 1.0])
    assert curve.share_between(2, 2) == 0.0
    assert curve.mean == pytest.approx(2.0)


def test_bad_curves_are_refused():
    """Times that fall, lengths that differ, nothing that came out; a cut tail is warned of."""
    with pytest.raises(AskError, match="do not rise"):
        pulse_test([0, 2, 1], [0, 1, 0])
    with pytest.raises(AskError, match="shapes that do not fit"):
        pulse_test([0, 1, 2], [0, 1, 0, 0])
    with pytest.raises(AskError, match="no tracer came out"):
        pulse_test([0, 1, 2], [1, 1, 1], base=1.0)
    with pytest.warns(HydroloopWarning, match="tail is cut off"):
        half_way = step_test([0, 1, 2], [0, 0.5, 1.0], dose=2.0)
    with pytest.raises(AskError, match=r"only 0\.5"):
        half_way.time_of(0.9)
    with pytest.warns(HydroloopWarning, match="tail is cut off"):
        pulse_test([0, 1, 2], [0, 2, 1])
