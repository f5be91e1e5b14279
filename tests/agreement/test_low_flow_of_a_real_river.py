"""Low flow of the North Fork Shenandoah, worked out twice.

The statistics were computed from the same files by another route (not published results): they
show that years, windows and fit are what they say. With nine years the 7Q10 is an exercise value.
Units: ft3/s, as gauged.
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from scipy import stats

from hydroloop.weather import read_flow
from hydroloop.weather.frequency import fit_log_pearson3, pearson3_factor
from hydroloop.weather.low_flow import flow_exceeded, low_flow, yearly_minima

FILE = Path(__file__).resolve().parents[1] / "data" / "north_fork_shenandoah.csv"
CFS = 0.3048**3 * 86_400.0


def gauge(number):
    flow = read_flow(FILE, column=f"USGS {number}")["flow"]
    return flow.values / CFS, flow["time"].values.astype("datetime64[D]")


def test_seven_day_minima_of_april_years():
    """The lowest weeks of the nine years from April to March are those of another reading."""
    found = yearly_minima(*gauge("01634000"))
    assert found.years.tolist() == list(range(2008, 2017))
    assert found.minima.round(3).tolist() == [
        89.943,
        55.2,
        78.5,
        135.143,
        105.186,
        119.143,
        101.414,
        120.143,
        111.286,
    ]
    above = yearly_minima(*gauge("01632000"))
    assert above.minima.round(3).tolist() == [
        6.226,
        4.856,
        0.341,
        3.569,
        5.619,
        5.61,
        1.967,
        2.724,
        2.531,
    ]


def test_low_flow_once_in_ten_and_two_years():
    """7Q10 and 7Q2 of both gauges, and of calendar years, agree with another fit."""
    flow, days = gauge("01634000")
    april = yearly_minima(flow, days).minima
    ten = low_flow(april, 10)
    assert ten.value == pytest.approx(68.65, abs=0.005)
    assert ten.skew == pytest.approx(-1.306, abs=0.0005)
    assert ten.is_exercise
    assert low_flow(april, 2).value == pytest.approx(104.61, abs=0.005)
    calendar = yearly_minima(flow, days, starts_in=1).minima
    assert low_flow(calendar, 10).value == pytest.approx(62.48, abs=0.005)
    assert low_flow(calendar, 2).value == pytest.approx(95.81, abs=0.005)


def test_a_strong_negative_skew_lifts_the_fit_above_the_lowest_year():
    """Upstream the fitted 7Q10 is three times the lowest year: a trap of short records."""
    minima = yearly_minima(*gauge("01632000")).minima
    found = low_flow(minima, 10)
    assert found.value == pytest.approx(0.899, abs=0.0005)
    assert found.skew == pytest.approx(-1.94, abs=0.005)
    assert found.value > 2.5 * minima.min()


def test_flow_duration():
    """Flows exceeded 5 to 99 % of the time agree with another reading (Weibull positions)."""
    flow, _ = gauge("01634000")
    shares = [0.05, 0.10, 0.50, 0.90, 0.95, 0.99]
    expected = [1830, 1250, 324, 116, 99.875, 76.51]
    assert [flow_exceeded(flow, share) for share in shares] == pytest.approx(expected, abs=0.006)


def test_factor_agrees_with_scipy_statistics():
    """The factor from the incomplete gamma function is scipy's Pearson III quantile."""
    chances = np.array([0.002, 0.02, 0.1, 0.5, 0.9, 0.99])
    for skew in (-3.0, -1.306, -0.2, -1e-3, 0.0, 0.01, 0.7, 4.0):
        assert pearson3_factor(skew, chances) == pytest.approx(
            stats.pearson3.ppf(chances, skew), abs=2e-7
        )


def test_factor_goes_over_smoothly_into_the_normal_quantile():
    """For a small skew g the factor is z + (z^2 - 1) g / 6, where the form changes and around.

    The first term of the expansion of Cornish and Fisher; the next is of the order of g^2.
    """
    chances = np.array([0.01, 0.1, 0.5, 0.99])
    z = stats.norm.ppf(chances)
    for skew in (-1e-4, -2e-5, -9e-6, 9e-6, 2e-5, 1e-4):
        expected = z + (z**2 - 1.0) * skew / 6.0
        assert pearson3_factor(skew, chances) == pytest.approx(expected, abs=5e-9)


def test_skew_agrees_with_scipy_statistics():
    """The unbiased skew of the logarithms is scipy's."""
    values = np.random.default_rng(4).lognormal(0.0, 0.8, 21)
    assert fit_log_pearson3(values).skew == pytest.approx(
        float(stats.skew(np.log10(values), bias=False)), abs=1e-12
    )


def test_the_shortcut_formula_stays_close():
    """Wilson and Hilferty's cube, with Tukey's quantile, stays near the exact factor.

    z = 4.91 ((1/T)^.14 - (1 - 1/T)^.14); K = (2/g)((1 + g z/6 - g^2/36)^3 - 1); as given in a
    university exercise on low flow.
    """
    skew, years = 0.2, 10.0
    z = 4.91 * ((1 / years) ** 0.14 - (1 - 1 / years) ** 0.14)
    shortcut = (2 / skew) * ((1 + skew * z / 6 - skew**2 / 36) ** 3 - 1)
    assert pearson3_factor(skew, 0.1) == pytest.approx(shortcut, abs=0.001)
