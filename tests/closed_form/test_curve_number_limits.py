"""Curve-number runoff and degree-day snow where the answer can be written down."""

from __future__ import annotations

import pytest

from hydroloop.weather.curve_number import runoff_depth
from hydroloop.weather.snow import melt_depth, snowfall_share


def retention_depth(number: float) -> float:
    """S = 25.4 (1000 / CN - 10) mm."""
    return 25.4 * (1000.0 / number - 10.0)


def test_nothing_runs_off_until_a_fifth_of_the_retention_is_met():
    """Q = 0 for P up to 0.2 S, and rises from there."""
    retention = retention_depth(70)
    assert runoff_depth(0.2 * retention, 70) == 0.0
    assert runoff_depth(0.2 * retention + 1e-6, 70) > 0.0


def test_the_largest_storms_lose_six_fifths_of_the_retention():
    """P - Q = P - (P - 0.2 S)^2 / (P + 0.8 S) = (1.2 S P - 0.04 S^2) / (P + 0.8 S) -> 1.2 S."""
    retention, rain = retention_depth(60), 1e7
    assert rain - runoff_depth(rain, 60) == pytest.approx(1.2 * retention, rel=1e-3)


def test_everything_runs_off_a_curve_number_of_a_hundred():
    """CN 100 means S = 0 and Q = P, at no rain too."""
    assert runoff_depth(0.0, 100) == 0.0
    assert runoff_depth(12.5, 100) == 12.5


def test_rain_equal_to_the_retention():
    """At P = S: Q = (0.8 S)^2 / (1.8 S) = 0.64 S / 1.8."""
    retention = retention_depth(80)
    assert runoff_depth(retention, 80) == pytest.approx(0.64 * retention / 1.8)


def test_a_pack_of_snow_at_steady_warmth():
    """At T > 0 a pack of W melts in ceil(W / (k T)) days, k T a day but for the last."""
    left, melts = 34.0, []
    for _ in range(6):
        melts.append(melt_depth(2.5, left, 1.0))
        left -= melts[-1]
    assert melts == [10.0, 10.0, 10.0, 4.0, 0.0, 0.0]


def test_shorter_steps_melt_the_same():
    """k T dt adds up: four quarter days melt what one day melts, as long as snow is left."""
    quarter = sum(melt_depth(3.0, 100.0, 0.25) for _ in range(4))
    assert quarter == pytest.approx(melt_depth(3.0, 100.0, 1.0))


def test_half_of_the_precipitation_is_snow_between_the_thresholds():
    """The share is a straight line: a half at the middle, and 0 and 1 at the ends."""
    assert snowfall_share(1.0) == 0.5
    assert snowfall_share(0.0) == 1.0
    assert snowfall_share(2.0) == 0.0
