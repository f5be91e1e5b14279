"""Low-flow frequency where it can be worked out by hand.

Ranks: of n values in ascending order the m-th has the Weibull position m / (n + 1); once in T years
means position 1 / T, so with n = 19 and T = 2.5 m = 20 / 2.5 = 8: the eighth smallest. For n = 19
and T = 3, (n + 1) / T = 6 + 2/3: a third of the sixth and two thirds of the seventh. T below n / 5
= 3.8 is allowed, 3.8 is not.

Zeros by conditional probability: with a share z of years without flow, P(X <= x) = z + (1 - z)
G(x). With logs -1, 0, 1 of the others (symmetric, so G is normal with mean 0 and deviation 1) and
z = 1/4: the value at p = 1/4 is 0, that at p = z + (1 - z) / 2 = 5/8 is 10^0 = 1.
"""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.errors import InputError
from hydroloop.weather.frequency import (
    distribution_free_value,
    fit_log_pearson3,
    is_exercise,
    plotting_positions,
    ranked_value,
)
from hydroloop.weather.low_flow import low_flow, yearly_minima

VALUES = np.random.default_rng(1).permutation(np.arange(1.0, 20.0))


def test_ranks():
    """The value of a rank, and between two ranks by the rest."""
    assert distribution_free_value(VALUES, 2.5) == 8.0
    assert distribution_free_value(VALUES, 3.0) == pytest.approx(6 / 3 + 7 * 2 / 3, rel=1e-15)


def test_ranks_allow_only_a_fifth_of_the_record():
    """Return periods from a fifth of the record up are refused, with what may be asked."""
    assert not is_exercise(19, 3.79)
    assert is_exercise(19, 3.8)
    with pytest.raises(InputError, match=r"less than 3\.8 years"):
        distribution_free_value(VALUES, 3.8)


def test_ranks_reach_to_the_lowest_year():
    """Once in n + 1 years is the lowest value; beyond that the ranks say nothing."""
    assert ranked_value(VALUES, 20.0) == 1.0
    with pytest.raises(InputError, match="once in 20 years"):
        ranked_value(VALUES, 20.5)


def test_zero_flows():
    """A share of zeros takes its part of the probability before the fit is asked."""
    fit = fit_log_pearson3(np.array([0.0, 0.1, 1.0, 10.0]))
    assert fit.zero_share == 0.25
    assert fit.value(0.25) == 0.0
    assert fit.value(0.10) == 0.0
    assert fit.value(0.625) == pytest.approx(1.0, rel=1e-12)


def test_alike_values_have_no_spread():
    """A river that is always the same has the same low flow in every return period."""
    found = low_flow(np.full(30, 4.0), 5.0)
    assert found.value == pytest.approx(4.0, rel=1e-12)
    assert found.skew == 0.0
    assert not found.is_exercise


def test_plotting_rules_are_symmetric():
    """Of every rule the positions mirror each other, and the middle of three is one half."""
    for rule in ("weibull", "blom", "cunnane", "gringorten", "hazen"):
        positions = plotting_positions(3, rule)
        assert positions[1] == pytest.approx(0.5, rel=1e-15)
        assert positions[0] + positions[2] == pytest.approx(1.0, rel=1e-15)
    assert plotting_positions(4, "hazen")[0] == 0.5 / 4


def test_only_whole_years_count():
    """A record from May 2001 to December 2003 has one whole year from April: 2002; its window
    does not reach over the year's end, where the flow is least."""
    days = np.arange("2001-05-01", "2004-01-01", dtype="datetime64[D]")
    flow = np.where(days == np.datetime64("2002-03-31"), 0.0, 10.0)
    flow[days == np.datetime64("2002-08-10")] = 3.0
    found = yearly_minima(flow, days, 7)
    assert found.years.tolist() == [2002]
    assert found.minima.tolist() == pytest.approx([(6 * 10 + 3) / 7], rel=1e-15)


@pytest.mark.parametrize("years", [1.0, 0.0, -3.0, float("nan"), float("inf")])
def test_return_periods_that_cannot_be(years):
    """A return period of one year or less, or no number at all, is refused."""
    with pytest.raises(InputError, match="return period"):
        low_flow(VALUES, years)


def test_too_few_years_for_a_skew():
    """Two years give no skew, and the message says how many are needed."""
    with pytest.raises(InputError, match="at least three"):
        fit_log_pearson3(np.array([1.0, 2.0]))
