"""Days of a season: leap days, months, and monthly values drawn out to days."""

from __future__ import annotations

import contextlib
import datetime as dt
import re
from typing import TypeAlias

import numpy as np

from hydroloop.bounds import FIRST_YEAR, LAST_YEAR
from hydroloop.errors import InputError, Problem
from hydroloop.weather.arrays import Array, Days

Date: TypeAlias = str | dt.date | np.datetime64
FIRST_DAY, LAST_DAY = np.datetime64(f"{FIRST_YEAR}-01-01"), np.datetime64(f"{LAST_YEAR}-12-31")
_ISO_DATE = re.compile(r"\d{4}-\d{2}-\d{2}([ T].*)?")


def season_days(start: Date, end: Date) -> Days:
    """Days of a season, the first and the last included.

    Every calendar day once, leap days too; a season may run across the new year.
    Times of day are dropped.

    Parameters
    ----------
    start, end : str, date or datetime64
        First and last day, as 2031-05-01

    Returns
    -------
    array (time)
        Days, as datetime64[D]

    Raises
    ------
    InputError
        A date cannot be read or lies outside 1700 to 2199, or the season ends before it starts.

    Examples
    --------
    >>> len(season_days("2027-12-30", "2028-01-02"))
    4
    >>> len(season_days("2028-01-01", "2028-12-31"))
    366
    """
    first, last = _day("start", start), _day("end", end)
    if last < first:
        raise InputError(
            Problem(
                "season", f"it ends ({last}) before it starts ({first}).", "Exchange the dates."
            )
        )
    return np.arange(first, last + np.timedelta64(1, "D"))


def _day(name: str, date: Date) -> np.datetime64:
    day: np.datetime64 = np.datetime64("NaT", "D")
    if isinstance(date, np.datetime64):
        day = date.astype("datetime64[D]")
    elif isinstance(date, dt.date):  # a datetime and a pandas timestamp are dates too
        day = np.datetime64(dt.date(date.year, date.month, date.day), "D")
    elif isinstance(date, str) and _ISO_DATE.fullmatch(date.strip()):
        with contextlib.suppress(ValueError):
            day = np.datetime64(date.strip()[:10], "D")
    if np.isnat(day):
        raise InputError(
            Problem("season", f'{name} "{date}" is not a date.', "Write for example 2031-05-01.")
        )
    if not FIRST_DAY <= day <= LAST_DAY:
        what = f"{name} {day} is not between {FIRST_DAY} and {LAST_DAY}."
        raise InputError(Problem("season", what, "Check the year."))
    return day


def steps_per_day(step_days: float) -> int:
    """Whole number of steps in a day, for a step in days; refused where it does not divide a
    day."""
    per_day = round(1.0 / step_days) if step_days > 0.0 else 0
    if not 1 <= per_day <= 1440 or abs(per_day * step_days - 1.0) > 1e-6:
        what = f"a step of {step_days:g} days does not divide a day into whole steps."
        raise InputError(
            Problem("season", what, "Use for example 1 day, 6 hours or 1 hour.", "step")
        )
    return per_day


def step_starts(first: np.datetime64, n_steps: int, per_day: int) -> Days:
    """Start of each of n steps from midnight of the first day, to the nanosecond; no summer
    time."""
    day, part = np.divmod(np.arange(n_steps), per_day)
    nanoseconds = np.rint(part * (86_400e9 / per_day)).astype("timedelta64[ns]")
    return first.astype("datetime64[ns]") + day.astype("timedelta64[D]") + nanoseconds


def month_index(days: Days) -> np.ndarray:
    """Month of each day, January being 0."""
    return days.astype("datetime64[M]").astype(int) % 12


def day_of_year(days: Days) -> np.ndarray:
    """Day of the year, January 1 being 1."""
    return (days - days.astype("datetime64[Y]").astype("datetime64[D]")).astype(int) + 1


def daily_curve(monthly: Array, days: Days) -> Array:
    """Monthly means drawn out to a smooth yearly curve of days: straight lines between month
    middles. A line through corners c has the month mean (c[m-1] + 6 c[m] + c[m+1]) / 8, so each
    month keeps its mean and peaks overshoot it a little."""
    corners = _CORNERS @ np.asarray(monthly, dtype=float)
    month_start = days.astype("datetime64[M]")
    first = month_start.astype("datetime64[D]")
    length = ((month_start + np.timedelta64(1, "M")).astype("datetime64[D]") - first).astype(float)
    place = month_index(days) + ((days - first).astype(float) + 0.5) / length
    curve: Array = np.interp(place, np.arange(12) + 0.5, corners, period=12.0)
    return curve


def _corner_matrix() -> Array:
    eye = np.eye(12)
    mean_of_corners = (np.roll(eye, 1, 1) + 6.0 * eye + np.roll(eye, -1, 1)) / 8.0
    return np.asarray(np.linalg.inv(mean_of_corners), dtype=np.float64)


_CORNERS = _corner_matrix()
