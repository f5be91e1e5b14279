"""Laws of dry seasons: years stay whole, a factor of one changes nothing, the driest is a year."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.weather.bootstrap import (
    bootstrap_days,
    days_of_other_years,
    map_in_words,
    season_years,
    whole_shifts,
)
from hydroloop.weather.dry import at_rank, driest, of_each_season, once_in
from hydroloop.weather.frequency import fit_log_pearson3, ranked_value

FIRST, LAST = np.datetime64("1961-03-01"), np.datetime64("1999-10-15")
starts = st.integers(0, 3650).map(lambda d: np.datetime64("2027-01-01") + d)
lengths = st.integers(1, 1500)


def calendar(days):
    """Month and day of each day, 29 February told as 28 February."""
    return [str(day)[5:].replace("02-29", "02-28") for day in days]


@given(starts, lengths, st.integers(0, 2**31), st.integers(1, 3))
@settings(max_examples=60, deadline=None)
def test_bootstrap_keeps_years_whole(start, length, seed, block):
    """Each day is served by its own day of the calendar, each block by days in a row of the record,
    and the same seed draws the same."""
    days = start + np.arange(length)
    source = bootstrap_days(days, FIRST, LAST, seed=seed, block=block)
    assert calendar(source) == calendar(days)
    assert source.min() >= FIRST
    assert source.max() <= LAST
    part = season_years(days) // block
    for which in np.unique(part):
        steps = np.diff(source[part == which]).astype(int)
        # One day on, but for a leap day repeated (0) or left out (2).
        assert set(steps) <= {0, 1, 2}
        odd = np.flatnonzero(steps != 1)
        assert all(calendar(source[part == which][[i]]) == ["02-28"] for i in odd)
    again = bootstrap_days(days, FIRST, LAST, seed=seed, block=block)
    assert (again == source).all()


@given(starts, lengths, st.integers(-70, 70))
@settings(max_examples=80, deadline=None)
def test_other_years_keep_the_calendar(start, length, years):
    """A season shifted by years has the same days of the calendar, in order and as many."""
    days = start + np.arange(length)
    other = days_of_other_years(days, years)
    assert calendar(other) == calendar(days)
    assert (np.diff(other).astype(int) >= 0).all()
    moved = other.astype("datetime64[Y]") - days.astype("datetime64[Y]")
    assert (moved.astype(int) == years).all()
    assert days_of_other_years(days, 0).tolist() == days.tolist()


@given(starts, lengths)
@settings(max_examples=60, deadline=None)
def test_season_years_turn_on_the_first_day(start, length):
    """Every year of a season but the last has 365 or 366 days and begins where the first did."""
    days = start + np.arange(length)
    part = season_years(days)
    turns = days[np.flatnonzero(np.diff(part)) + 1]
    assert calendar(turns) == calendar(days[:1]) * len(turns)
    assert {int(count) for count in np.bincount(part)[:-1]} <= {365, 366}


@given(starts, st.integers(1, 700), st.integers(0, 2**31))
@settings(max_examples=40, deadline=None)
def test_driest_year_is_in_the_record(start, length, seed):
    """The driest season is one of the record's, and none has a smaller total."""
    days = start + np.arange(length)
    daily = np.random.default_rng(seed).gamma(0.5, 3.0, int((LAST - FIRST).astype(int)) + 1)
    shifts = whole_shifts(days, FIRST, LAST)
    seasons = of_each_season(daily, FIRST, days, shifts)
    pick = driest(seasons.sum(axis=1))
    source = days_of_other_years(days, shifts[pick.place])
    assert source[0] >= FIRST
    assert source[-1] <= LAST
    own = daily[(source - FIRST).astype(int)]
    assert (own == seasons[pick.place]).all()
    assert (seasons.sum(axis=1) >= own.sum() - 1e-9).all()
    assert 0.0 < pick.rank <= 1.0


values = st.lists(st.floats(0.01, 1e4), min_size=4, max_size=40).map(np.array)


@given(values, st.floats(1.5, 200.0))
@settings(max_examples=80, deadline=None)
def test_once_in_years_has_the_value_asked_for(flows, years):
    """The picked season times its factor has the low flow of the return period."""
    pick = once_in(flows, years)
    wanted = fit_log_pearson3(flows).value(1.0 / years)
    assert np.isclose(flows[pick.place] * pick.factor, wanted, rtol=1e-12)
    nearest = np.abs(np.log(flows / wanted))
    assert nearest[pick.place] == nearest.min()


@given(values, st.floats(1.1, 1e3), st.floats(1.1, 1e3))
@settings(max_examples=80, deadline=None)
def test_longer_return_periods_are_never_wetter(flows, one, other):
    """What comes more seldom is as dry or drier, by the fit and by the ranks."""
    short, long = sorted((one, other))
    fit = fit_log_pearson3(flows)
    assert fit.value(1.0 / long) <= fit.value(1.0 / short) * (1.0 + 1e-9)
    if long <= len(flows) + 1:
        assert ranked_value(flows, long) <= ranked_value(flows, short) * (1.0 + 1e-12)


@given(values, st.floats(0.01, 0.99))
@settings(max_examples=60, deadline=None)
def test_rank_counts_the_seasons_as_dry(totals, chance):
    """The season at a chance has about that share of seasons at or below it."""
    place = at_rank(totals, chance).place
    n = len(totals)
    assert (totals < totals[place]).sum() / (n + 1) <= chance + 1.0 / (n + 1)
    assert (totals <= totals[place]).sum() / (n + 1) >= chance - 1.0 / (n + 1)


@given(starts, st.integers(2, 900), st.integers(0, 2**31))
@settings(max_examples=40, deadline=None)
def test_the_map_in_words_names_every_day(start, length, seed):
    """Reading the words back gives the map again, day by day."""
    days = start + np.arange(length)
    source = bootstrap_days(days, FIRST, LAST, seed=seed)
    told_days, told_source = [], []
    for clause in map_in_words(days, source).split("; "):
        own, served = clause.split(" from ")
        for words, told in ((own, told_days), (served, told_source)):
            first, last = (np.datetime64(word) for word in words.split(" to "))
            told.extend(np.arange(first, last + 1))
    assert np.array(told_days).tolist() == days.tolist()
    assert np.array(told_source).tolist() == source.tolist()
