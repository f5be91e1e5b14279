"""Which of some dry seasons is picked, where it can be counted out by hand.

Of n values the m-th smallest has the Weibull position m / (n + 1): of nine, one half is the fifth,
0.3 the third, and whatever lies beyond an end is the end. The value once in T years is
(1 - e) X(m) + e X(m + 1) for the whole part m and the rest e of (n + 1) / T.
"""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.weather import CLIMATES, generate_rain_mm, season_days
from hydroloop.weather.dry import (
    Pick,
    at_rank,
    driest,
    invented_rain_mm,
    lowest_mean,
    once_in,
    picked,
    season_seeds,
)
from hydroloop.weather.frequency import ranked_value

NINE = np.array([5.0, 9.0, 1.0, 7.0, 3.0, 8.0, 2.0, 6.0, 4.0])  # the k-th smallest is k


@pytest.mark.parametrize(
    ("chance", "rank"),
    [(0.5, 5), (0.3, 3), (0.34, 3), (0.36, 4), (0.9, 9), (0.99, 9), (0.01, 1), (0.1, 1)],
)
def test_a_season_by_its_chance(chance, rank):
    """The one whose position is nearest, taken as it is."""
    pick = at_rank(NINE, chance)
    assert (NINE[pick.place], pick.factor, pick.rank) == (rank, 1.0, rank / 10.0)
    assert not pick.is_exercise


def test_a_season_as_it_is():
    """Its rank counts those as dry; of two that are driest the first is taken."""
    assert picked(NINE, 0) == Pick(0, 1.0, 0.5, False)
    assert driest(np.array([3.0, 1.0, 2.0, 1.0])) == Pick(1, 1.0, 2.0 / 5.0, False)


def test_a_river_that_dries_up_is_not_multiplied():
    """Where the value asked for is zero, the first season without flow is it."""
    values = np.array([4.0, 0.0, 2.0, 0.0, 8.0])
    assert once_in(values, 3.0, frequency="ranks") == Pick(1, 1.0, 1.0 / 3.0, True)
    assert once_in(values, 4.0) == Pick(1, 1.0, 0.25, True)


def test_the_nearest_by_its_ratio_is_brought_there():
    """Six values, once in 7 / 2.5 years: half of 4 and half of 10 is 7. The ratio 10 / 7 is nearer
    than 7 / 4, the distance is the same; and 7 / 10 brings it there."""
    pick = once_in(np.array([10.0, 1.0, 4.0, 20.0, 30.0, 40.0]), 2.8, frequency="ranks")
    assert pick.place == 0
    assert (pick.factor, pick.rank) == pytest.approx((0.7, 2.5 / 7.0), rel=1e-12)


@pytest.mark.parametrize(("years", "value"), [(4.0, 1.0), (1.6, 2.5), (4.0 / 3.0, 3.0), (1.1, 3.0)])
def test_between_ranks_and_beyond_the_largest(years, value):
    """Three values: at a rank, half-way between two, at the last, and beyond it as the last."""
    assert ranked_value(np.array([3.0, 1.0, 2.0]), years) == pytest.approx(value, rel=1e-12)


def test_the_lowest_mean_of_days_in_a_row():
    """Two seasons of three days; a window longer than a season is the season."""
    seasons = np.array([[1.0, 3.0, 2.0], [6.0, 0.0, 3.0]])
    assert lowest_mean(seasons, 2).tolist() == [2.0, 1.5]
    assert lowest_mean(seasons, 30).tolist() == [2.0, 3.0]


@pytest.mark.parametrize("southern", [False, True])
def test_invented_rain_is_the_generators(southern):
    """Each seed's own season, the given seed first, and all of them different; turned by half a
    year in the south."""
    seeds = season_seeds(5, 4)
    assert (len(set(seeds)), seeds[0]) == (4, 5)
    climate = CLIMATES["wet_winter"]
    climate = climate.other_hemisphere() if southern else climate
    days = season_days("2031-05-01", "2031-09-30")
    assert invented_rain_mm(
        "wet_winter", "2031-05-01", "2031-09-30", seeds, southern=southern
    ).tolist() == [generate_rain_mm(climate, days, seed).sum() for seed in seeds]
