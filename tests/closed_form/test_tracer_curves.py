"""Tracer curves whose moments are known.

A triangle from 10 to 30 has mean 20, variance 100/6 and T10 = 10 + sqrt(20). Equal tanks in a row
have a gamma distribution: T10/T = 0.105, 0.266, 0.436, 0.487, 0.622 for 1, 2, 4, 5, 10 tanks, and
T90/T10 = 21.9, 7.31, 3.29 for 1, 2, 5.
"""

from __future__ import annotations

import warnings

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


def test_uneven_times():
    """A triangle from 10 over 20 to 40: mean 70/3, variance (a2 + b2 + c2 - ab - ac - bc) / 18 =
    700/18, area 10 x 30 / 2; by 20 a third has left, and by 40 all."""
    curve = pulse_test([10, 20, 40], [2, 12, 2], base=2.0)
    assert (curve.area, curve.mean) == pytest.approx((150.0, 70 / 3))
    assert curve.variance == pytest.approx(700 / 18)
    assert curve.left == pytest.approx([0.0, 1 / 3, 1.0])
    assert curve.slope == pytest.approx([0.0, 1 / 15, 0.0])
    assert curve.share_between(20, 40) == pytest.approx(2 / 3)
    # After 20 the rest (1 - F) is ((40 - t) / 20)^2 x 2/3.
    assert curve.share_between(20, 35) == pytest.approx(2 / 3 * (1 - 1 / 16))
    assert curve.time_of(0.9) == pytest.approx(40 - 20 * np.sqrt(0.15))


def test_a_step_that_begins_late():
    """A rise from 10 to 30 is uniform: mean 20, variance 20^2 / 12, T10 at 12, T90 at 28."""
    curve = step_test([10, 15, 30], [0.5, 1.0, 2.5], dose=2.0, base=0.5)
    assert (curve.mean, curve.variance) == pytest.approx((20.0, 400 / 12))
    assert (curve.area, curve.t10, curve.morrill_index) == pytest.approx((1.0, 12.0, 28 / 12))
    assert curve.tanks == pytest.approx(12.0)
    assert curve.slope is None


def test_shares_before_within_and_after_the_readings():
    """None before the first, all after the last, and all between both ends."""
    pulse = pulse_test([10, 20, 30], [0, 10, 0])
    step = step_test([10, 20, 30], [0.0, 0.5, 1.0], dose=1.0)
    for curve in (pulse, step):
        assert curve.share_between(0, 10) == 0.0
        assert curve.share_between(10, 30) == pytest.approx(1.0)
        assert curve.share_between(5, 20) == pytest.approx(0.5)
        assert curve.share_between(30, 99) == pytest.approx(0.0)


def test_a_share_that_had_left_before_the_first_reading():
    """Where a fifth has left at the first reading, a tenth is put to that reading."""
    curve = step_test([4, 8, 12], [0.2, 0.6, 1.0], dose=1.0)
    assert (curve.t10, curve.time_of(0.2), curve.time_of(0.4)) == pytest.approx((4.0, 4.0, 6.0))
    assert curve.share_between(0, 3) == 0.0


def test_a_share_is_reached_for_the_first_time():
    """Where nothing leaves for a while, at the beginning of that while."""
    assert step_test([0, 1, 2, 3], [0, 0.5, 0.5, 1.0], dose=1.0).time_of(0.5) == 1.0
    curve = pulse_test([0, 1, 2, 3, 4, 5], [0, 1, 0, 0, 1, 0])
    assert curve.time_of(0.5) == pytest.approx(2.0)
    falls_back = step_test([0, 1, 2, 3], [0, 0.4, 0.2, 1.0], dose=1.0)
    assert falls_back.time_of(0.3) == pytest.approx(0.75)


def test_moments_by_simpson():
    """t (4 - t) on 0 to 4 has area 32/3, mean 2 and variance 4/5; Simpson's rule is exact up to the
    third power, so with 8 pieces t^3 (4 - t) comes within 0.2 %."""
    time = np.linspace(0, 4, 9)
    curve = pulse_test(time, time * (4 - time) + 3.0, base=3.0, rule="simpson")
    assert (curve.area, curve.mean) == pytest.approx((32 / 3, 2.0))
    assert curve.variance == pytest.approx(0.8, rel=0.01)
    assert curve.rule == "simpson"


@pytest.mark.parametrize(("last", "warns"), [(4.9, 0), (5.0, 0), (5.1, 1)])
def test_a_tail_of_a_twentieth_is_let_pass(last, warns):
    """A curve that ends above 5 % of its height is told, at the line that asked."""
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always")
        pulse_test([0, 1, 2], [0, 100, last])
        step_test([0, 1, 2], [0, 50, 100.01 - last], dose=100)
    assert [one.filename for one in told] == [__file__] * 2 * warns


@pytest.mark.parametrize("share", [0.001, 0.1, 0.5, 0.9, 0.999])
def test_one_mixed_tank_by_any_share(share):
    """1 - exp(-t) has left by t, so that a share has left by -ln(1 - share)."""
    assert tanks_in_series_time(1, share) == pytest.approx(-np.log(1 - share))


def test_readings_of_another_shape_are_refused():
    """Readings in rows, fewer than three, times that stand still, a rule that there is not."""
    with pytest.raises(AskError, match="one reading for each time"):
        pulse_test(np.ones((3, 3)), np.ones((3, 3)))
    with pytest.raises(AskError, match="do not rise"):
        pulse_test([0, 1, 1], [0, 1, 0])
    with pytest.raises(AskError):
        pulse_test([0, 1], [0, 1])
    with pytest.raises(AskError, match="There are straight and simpson"):
        pulse_test([0, 1, 2], [0, 1, 0], rule="trapezoid")
