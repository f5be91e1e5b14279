"""Days of other years in place of a season's own: shifted whole, or drawn year by year."""

from __future__ import annotations

import numpy as np

from hydroloop.errors import InputError, Problem
from hydroloop.weather.arrays import Days


def days_of_other_years(days: Days, years: int) -> Days:
    """The same days of the calendar, some years later or earlier. A season with a leap day gets 28
    February twice from a year that has none; from a leap year a season without one leaves 29
    February out, so that no later day slips."""
    days = np.asarray(days).astype("datetime64[D]")
    month = days.astype("datetime64[M]")
    place = (days - month.astype("datetime64[D]")).astype(int)
    other = month + np.timedelta64(12 * int(years), "M")
    first, after = (at.astype("datetime64[D]") for at in (other, other + np.timedelta64(1, "M")))
    length = (after - first).astype(int)
    return first + np.minimum(place, length - 1).astype("timedelta64[D]")


def season_years(days: Days) -> np.ndarray:
    """Which year of a season each day is in, counted from the season's first day. Year 0 ends on
    the day before the first day comes round again, whatever the calendar year. A season of at most
    a year is all year 0."""
    days = np.asarray(days).astype("datetime64[D]")
    turns: list[np.datetime64] = []
    while (turn := days_of_other_years(days[:1], len(turns) + 1)[0]) <= days[-1]:
        turns.append(turn)
    return np.searchsorted(np.array(turns, dtype="datetime64[D]"), days, side="right")


def whole_shifts(days: Days, first: np.datetime64, last: np.datetime64) -> list[int]:
    """By how many years a season can be shifted and still lie within a record. Every year of the
    record that holds the whole season, the season's own (0) among them. A season across the new
    year is kept whole: its days are never taken from two separate years."""
    ends = np.asarray(days)[[0, -1]].astype("datetime64[D]")
    own, record = (
        dates.astype("datetime64[Y]").astype(int)
        for dates in (ends, np.array([first, last], dtype="datetime64[D]"))
    )
    possible = range(record[0] - own[1], record[1] - own[0] + 1)
    return [
        years
        for years in possible
        if first <= days_of_other_years(ends[:1], years)[0]
        and days_of_other_years(ends[1:], years)[0] <= last
    ]


def bootstrap_days(
    days: Days, first: np.datetime64, last: np.datetime64, *, seed: int, block: int = 1
) -> Days:
    """Days of a season drawn from the years of a record, whole years at a time.

    Each year of the season, or each block of years, gets a year of the record at random, with
    replacement: a season like the record's, in another order. It knows no drought longer than those
    that blocks of the record hold.

    Parameters
    ----------
    days : array (day)
        Days of the season in order, as datetime64[D]
    first, last : datetime64
        First and last day of the record
    seed : int
        Same seed, same draw; not negative [-]
    block : int
        Years drawn together, so that dry years that follow each other stay together [a]

    Returns
    -------
    array (day)
        Day of the record that serves each day of the season, as datetime64[D]

    Raises
    ------
    InputError
        The record holds no whole year of the season, or the block is shorter than a year.

    Notes
    -----
    Moving-block bootstrap (from memory of Kuensch 1989 and Vogel & Shallcross 1996), the unit being
    a year that begins on the season's first day.

    Examples
    --------
    >>> days = np.arange("2031-05-01", "2031-10-01", dtype="datetime64[D]")
    >>> first, last = np.datetime64("1970-01-01"), np.datetime64("1999-12-31")
    >>> drawn = bootstrap_days(days, first, last, seed=1)
    >>> str(drawn[0])[4:], str(drawn[-1])[4:], len(drawn)
    ('-05-01', '-09-30', 153)
    """
    if block < 1:
        raise InputError(Problem("block", f"{block} years are no block.", "Write 1 or more."))
    draws = np.random.default_rng(seed)
    part = season_years(days) // block
    drawn = np.empty(len(days), dtype="datetime64[D]")
    for which in range(int(part[-1]) + 1):
        inside = part == which
        shifts = whole_shifts(days[inside], first, last)
        if not shifts:
            raise no_whole_season(days[inside], first, last)
        drawn[inside] = days_of_other_years(days[inside], int(draws.choice(shifts)))
    return drawn


def no_whole_season(days: Days, first: np.datetime64, last: np.datetime64) -> InputError:
    """The error for a record that does not hold the season in any year."""
    what = (
        f"the record from {first} to {last} holds the days {str(days[0])[5:]} to "
        f"{str(days[-1])[5:]} whole in no year."
    )
    return InputError(Problem("dry_season", what, "Give a longer record or a shorter season."))


def map_in_words(days: Days, source: Days) -> str:
    """Which days serve which, one clause for each run of days. Short enough to keep with a record,
    and whole: nothing is left out."""
    breaks = np.flatnonzero(np.diff(source).astype(int) != 1) + 1
    runs = zip(np.split(days, breaks), np.split(source, breaks), strict=True)
    return "; ".join(f"{a[0]} to {a[-1]} from {b[0]} to {b[-1]}" for a, b in runs)
