"""Laws of the operator's round: what is invented by the seed's own draws, and ends of its limits.

With z standard normal, pH deviates from 7.6 by d(t) = 0.9 d(t-1) + 0.05 z(t), so that d(t) is the
sum over s <= t of 0.9^(t - s) 0.05 z(s); turbidity is 0.07 exp(0.15 z), three times that in one
hour.
"""

from __future__ import annotations

from zlib import crc32

import numpy as np
import pytest

from hydroloop.errors import AskError
from hydroloop.plants.readings import above_means, flags, invented_day, judged_limits
from hydroloop.plants.tap_limits import limits_of


@pytest.mark.parametrize(("seed", "whose"), [(0, ""), (7, "larkmill 2031-08-15")])
def test_an_invented_day_is_made_of_its_draws(seed, whose):
    """The draws of the seed and of whose day it is, put into the laws above."""
    draws = np.random.default_rng([seed, crc32(whose.encode())])
    z, noise, hour = draws.standard_normal(24), draws.standard_normal(24), draws.integers(0, 24)
    day = invented_day(seed, whose)
    behind = np.subtract.outer(np.arange(24), np.arange(24))
    weights = np.where(behind >= 0, 0.9 ** np.maximum(behind, 0), 0.0)
    assert day["pH"] == pytest.approx(7.6 + 0.05 * weights @ z)
    times = np.where(np.arange(24) == hour, 3.0, 1.0)
    assert day["turbidity"] == pytest.approx(0.07 * times * np.exp(0.15 * noise))


def test_the_smallest_seed_is_zero():
    """A seed below zero is refused, and the message says so."""
    with pytest.raises(AskError, match="-1 is below zero"):
        invented_day(-1)


def test_flags_come_in_the_order_of_the_hours():
    """Whatever the order of the tests, at the far end too."""
    found = flags(
        {"iron": np.array([0.1, 0.1, 0.4]), "pH": np.array([9.0, 7.0, 6.0])},
        np.array([0.3, 0.1, 0.3]),
    )
    assert [(flag.hour, flag.test, flag.is_low) for flag in found] == [
        (0, "pH", False),
        (1, "free chlorine", True),
        (2, "iron", False),
        (2, "pH", True),
    ]
    assert [flag.reading for flag in found] == [9.0, 0.1, 0.4, 6.0]


def test_fluoride_is_flagged_from_fifteen_percent_above_its_optimum():
    """1.15 x 0.7 mg/L is 0.805."""
    found = flags({"fluoride": np.array([0.71, 0.804, 0.806])})
    assert [(flag.hour, flag.limit.high) for flag in found] == [(2, 0.7)]


@pytest.mark.parametrize(("high", "told"), [(0, 0), (1, 0), (2, 2), (20, 20)])
def test_more_than_one_reading_in_twenty_is_worth_a_word(high, told):
    """Of 20 turbidities one may lie above 0.3 NTU, two may not; one at it lies within."""
    readings = np.full(20, 0.3)
    readings[:high] = 0.31
    assert len(above_means({"turbidity": readings})) == told


def test_one_reading_above_the_mean_of_a_year_is_told():
    """One hour of three above 4.0 mg/L of chlorine, at the far end too; a limit for each reading is
    none on a mean."""
    outlet, far = np.array([4.0, 4.1, 3.0]), np.array([4.2, 0.0, 4.0])
    found = above_means({"free chlorine": outlet}, far)
    assert [(flag.hour, flag.reading, flag.limit.high) for flag in found] == [
        (1, 4.1, 4.0),
        (0, 4.2, 4.0),
    ]
    assert above_means({"iron": np.array([9.0])}) == []


def test_limits_at_the_outlet_and_at_the_far_end():
    """Each has its own 0.2 mg/L of chlorine; the mean of a year is neither's."""
    for far, source in ((False, "40 CFR 141.72(a)(3), (b)(2)"), (True, "30 TAC 290.110(b)(4)")):
        (limit,) = judged_limits("free chlorine", far_end=far)
        assert (limit.low, limit.high, limit.source) == (0.2, None, source)


def test_a_reading_at_either_end_of_a_limit_meets_it():
    """pH 6.5 and 8.5 do, a missing reading does not."""
    (limit,) = limits_of("pH")
    met = [limit.is_met(ph) for ph in (6.49, 6.5, 7.0, 8.5, 8.51, float("nan"))]
    assert met == [False, True, True, True, False, False]
