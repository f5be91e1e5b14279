"""The chain of wet and dry days, and gamma rain, against what their algebra says.

Let p1 = P(wet after wet), p0 = P(wet after dry). In the long run the share of wet days w holds
w = w p1 + (1 - w) p0, so w = p0 / (1 + p0 - p1). A wet day is followed by a wet one with p1, so the
correlation of a day with the next is p1 - p0, a dry spell lasts 1 / p0 days on average, and the
variance of the mean of n days is w (1 - w) / n times (1 + r) / (1 - r), r = p1 - p0.
A wet day's rain has mean a b and variance a b^2 (shape a, scale b).
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from hydroloop.weather import CLIMATES, generate_weather, season_days
from hydroloop.weather.fit import fit_gamma
from hydroloop.weather.generator import (
    RESIDUAL_A,
    residual_covariance,
    temperature_residuals,
)

P1, P0, SHAPE, SCALE_MM = 0.65, 0.25, 0.8, 9.0
YEARS = 200


@pytest.fixture(scope="module")
def even_weather():
    """Two centuries of a climate that is the same in every month."""
    same = {
        "wet_after_wet": (P1,) * 12,
        "wet_after_dry": (P0,) * 12,
        "rain_shape": (SHAPE,) * 12,
        "rain_scale_mm": (SCALE_MM,) * 12,
        "tmin_c": (10.0,) * 12,
        "tmax_c": (20.0,) * 12,
        "tmin_sd_c": (2.0,) * 12,
        "tmax_sd_c": (3.0,) * 12,
        "tmin_wet_c": (1.0,) * 12,
        "tmax_wet_c": (-4.0,) * 12,
    }
    climate = dataclasses.replace(CLIMATES["wet_winter"], **same)
    return generate_weather(climate, season_days("2000-01-01", f"{1999 + YEARS}-12-31"), seed=11)


def test_share_of_wet_days(even_weather):
    """The share of wet days is p0 / (1 + p0 - p1), within four standard errors."""
    wet = even_weather["rain_mm"] > 0
    share, r = P0 / (1 + P0 - P1), P1 - P0
    error = math.sqrt(share * (1 - share) / len(wet) * (1 + r) / (1 - r))
    assert abs(wet.mean() - share) < 4 * error


def test_correlation_of_wet_days_and_length_of_dry_spells(even_weather):
    """A day and the next correlate with p1 - p0, and dry spells last 1 / p0 days."""
    wet = even_weather["rain_mm"] > 0
    correlation = np.corrcoef(wet[:-1], wet[1:])[0, 1]
    assert abs(correlation - (P1 - P0)) < 4 / math.sqrt(len(wet))
    spells = ((~wet[1:]) & wet[:-1]).sum()
    mean_length = (~wet).sum() / spells
    # The standard deviation of a geometric length is sqrt(1 - p0) / p0.
    assert abs(mean_length - 1 / P0) < 4 * math.sqrt(1 - P0) / P0 / math.sqrt(spells)


def test_mean_and_spread_of_a_wet_day(even_weather):
    """Rain of a wet day has mean a b and variance a b^2."""
    rain = even_weather["rain_mm"][even_weather["rain_mm"] > 0]
    spread = math.sqrt(SHAPE) * SCALE_MM
    assert abs(rain.mean() - SHAPE * SCALE_MM) < 4 * spread / math.sqrt(len(rain))
    # The kurtosis of a gamma variate is 3 + 6 / a, which gives the error of a variance.
    error = spread**2 * math.sqrt((2 + 6 / SHAPE) / len(rain))
    assert abs(rain.var() - spread**2) < 4 * error


def test_thoms_formula_finds_the_gamma_again(even_weather):
    """Fitting the generated amounts gives back shape and scale within 3 %."""
    rain = even_weather["rain_mm"]
    shape, scale = fit_gamma(rain[rain > 0])
    assert abs(shape / SHAPE - 1) < 0.03
    assert abs(scale / SCALE_MM - 1) < 0.04


def test_temperature_keeps_its_mean_and_shifts_with_rain(even_weather):
    """Mean Tmax stays 20 C, and wet days are 4 C cooler than dry ones, by construction."""
    wet, tmax = even_weather["rain_mm"] > 0, even_weather["tmax_c"]
    # Days of a lag-1 correlation near 0.6 carry a quarter as much as independent ones.
    error = 3.6 / math.sqrt(len(tmax) / 4)
    # Where a cold afternoon would fall below the night the two are exchanged: a hair of a shift.
    assert abs(tmax.mean() - 20.0) < 4 * error + 0.05
    assert abs((tmax[wet].mean() - tmax[~wet].mean()) + 4.0) < 8 * error + 0.1


def test_residuals_reproduce_lag_one_of_the_matrices():
    """Cov(x(t), x(t-1)) = A M for x(t) = A x(t-1) + B e(t), as B e(t) is new."""
    residuals = temperature_residuals(np.random.default_rng(3).standard_normal((60_000, 3)))
    expected = np.array(RESIDUAL_A) @ residual_covariance()
    found = residuals[1:].T @ residuals[:-1] / (len(residuals) - 1)
    assert np.abs(found - expected).max() < 4 * math.sqrt(4 / len(residuals))
