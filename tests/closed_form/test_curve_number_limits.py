"""Curve-number runoff and degree-day snow where the answer can be written down."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.weather.curve_number import composite_curve_number, retention_depth, runoff_depth
from hydroloop.weather.snow import melt_depth, snow_season, snowfall_share


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


def test_composite_ends():
    """No pavement leaves the lawn's number, all of it connected gives 98, unconnected half way."""
    assert composite_curve_number(61, 0.0) == 61
    assert composite_curve_number(61, 1.0) == pytest.approx(98)
    assert composite_curve_number(61, 1.0, 1.0) == pytest.approx((61 + 98) / 2)


def test_a_pack_of_snow_at_steady_warmth():
    """At T > 0 a pack of W melts in ceil(W / (k T)) days, k T a day but for the last."""
    days = snow_season(np.zeros(6), np.full(6, 2.5), 1.0, start_mm=34.0)
    assert days["melt_mm"].tolist() == [10.0, 10.0, 10.0, 4.0, 0.0, 0.0]


def test_shorter_steps_melt_the_same():
    """k T dt adds up: four quarter days melt what one day melts, as long as snow is left."""
    quarter = sum(melt_depth(3.0, 100.0, 0.25) for _ in range(4))
    assert quarter == pytest.approx(melt_depth(3.0, 100.0, 1.0))


def test_half_of_the_precipitation_is_snow_between_the_thresholds():
    """The share is a straight line: a half at the middle, and 0 and 1 at the ends."""
    assert snowfall_share(1.0) == 0.5
    assert snowfall_share(0.0) == 1.0
    assert snowfall_share(2.0) == 0.0
