"""The weather generator, a step at a time."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.errors import InputError
from hydroloop.weather import CLIMATES, generate_weather, pearson3_factor
from hydroloop.weather.generator import RESIDUAL_A, RESIDUAL_B, temperature_residuals


def test_residuals_follow_their_equation():
    """x(t) = A x(t-1) + B e(t), each term with its sign: what is left over is nothing."""
    noise = np.random.default_rng(5).normal(size=(50, 3))
    x = temperature_residuals(noise)
    a, b = np.array(RESIDUAL_A), np.array(RESIDUAL_B)
    np.testing.assert_allclose(x[1:], x[:-1] @ a.T + noise[1:] @ b.T, atol=1e-12)
    assert np.abs(x).max() > 1.0


def test_a_days_weather_does_not_ask_where_the_season_begins():
    """A season that begins ten days later has the same days."""
    days = np.arange("2031-01-01", "2031-03-01", dtype="datetime64[D]")
    climate = next(iter(CLIMATES.values()))
    whole, later = (generate_weather(climate, some, seed=3) for some in (days, days[10:]))
    assert whole["rain_mm"].sum() > 0.0
    for name in whole:
        np.testing.assert_allclose(whole[name][10:], later[name], atol=1e-9)


@pytest.mark.parametrize("probability", [0.0, 1.0])
def test_what_is_certain_has_no_factor(probability):
    """A probability lies between 0 and 1; its ends are refused."""
    with pytest.raises(InputError, match="probability"):
        pearson3_factor(0.2, probability)
