"""Days before a season, and which days of a record serve them."""

from __future__ import annotations

import numpy as np

from hydroloop.weather.arrays import Days
from hydroloop.weather.bootstrap import days_of_other_years

# Days at either end of a record that stand for the part of the year that it does not hold.
_PIECE = 30


def days_before(first: np.datetime64, years: int) -> Days:
    """Whole years of days up to the day before a season's first."""
    first = first.astype("datetime64[D]")
    return np.arange(days_of_other_years(np.array([first]), -years)[0], first)


def served_by_record(days: Days, first: np.datetime64, last: np.datetime64) -> Days:
    """Day of a record that serves each of some days: itself, or one of its own whole years,
    repeated in their order. A record shorter than a year is never repeated as though it were one:
    it is completed with days like the nearest, those of its last and its first month."""
    years = whole_years(first, last)
    served = np.array(days, dtype="datetime64[D]")
    for shift in _shifts(served, first, last, max(1, years)):
        outside = (served < first) | (served > last)
        moved = days_of_other_years(days, shift)
        fits = outside & (moved >= first) & (moved <= last)
        served[fits] = moved[fits]
    if not years:
        _fill(served, days, first, last)
    return served


def whole_years(first: np.datetime64, last: np.datetime64) -> int:
    """How many whole years the days from a first to a last one make [a]."""
    years = 0
    while _turn(first, years + 1) <= last + np.timedelta64(1, "D"):
        years += 1
    return years


def _turn(day: np.datetime64, years: int) -> np.datetime64:
    return days_of_other_years(np.array([day]), years)[0]


def _shifts(days: Days, first: np.datetime64, last: np.datetime64, years: int) -> list[int]:
    """By how many years days may be moved into a record: whole turns of it, the least first."""
    ends = np.array([days.min(), days.max(), first, last]).astype("datetime64[Y]").astype(int)
    most = max(int(ends[2] - ends[0]), int(ends[1] - ends[3]), 0) + years
    return sorted((turn for turn in range(-most, most + 1) if turn and turn % years == 0), key=abs)


def _fill(served: Days, days: Days, first: np.datetime64, last: np.datetime64) -> None:
    """Days that are left outside a record of less than a year, served by its nearest month."""
    piece = min(_PIECE, int((last - first).astype(int)) + 1)
    years = (days[[0, -1]].astype("datetime64[Y]") - last.astype("datetime64[Y]")).astype(int)
    outside = (served < first) | (served > last)
    for year in range(years[0] - 1, years[1] + 1):
        gap = np.arange(_turn(last, year) + 1, _turn(first, year + 1))
        since, until = np.arange(len(gap)), np.arange(len(gap))[::-1]
        after, before = last - piece + 1 + since % piece, first + piece - 1 - until % piece
        _, ours, theirs = np.intersect1d(days, gap, return_indices=True)
        like = np.where(since <= until, after, before)[theirs]
        served[ours[outside[ours]]] = like[outside[ours]]
    served[:] = np.minimum(np.maximum(served, first), last)  # what leap days leave over
