"""Low flow of a river: yearly n-day minima, the low flow of a return period, flow duration."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from hydroloop.arguments import CHANCE, COUNT, bounded
from hydroloop.errors import InputError, Problem
from hydroloop.weather.arrays import FLOWS, LEVELS, VALUES, YEARS, Array, Days
from hydroloop.weather.frequency import (
    check_return_period,
    distribution_free_value,
    fit_log_pearson3,
    is_exercise,
    plotting_positions,
)

APRIL = 4
_METHODS = ("log_pearson3", "distribution_free")


@dataclass(frozen=True)
class YearlyMinima:
    """The lowest n-day mean flow of each whole year of a record.

    Attributes
    ----------
    years : ndarray of shape (year,)
        Calendar year in which each begins.
    minima : ndarray of shape (year,)
        Lowest n-day mean [unit of the flow].
    """

    years: np.ndarray
    minima: Array


@dataclass(frozen=True)
class LowFlow:
    """A low flow with how it was found.

    Attributes
    ----------
    value : float
        The flow [unit of the record].
    n_days : int
        Days over which it is a mean [d].
    years : float
        Return period [a].
    record_years : int
        Whole years that it rests on [a].
    skew : float
        Skew of the logarithms; 0 where no distribution was fitted [-].
    is_exercise : bool
        True where the record is too short for the return period (not below a fifth of it): an
        exercise value, not one for design.
    """

    value: float
    n_days: int
    years: float
    record_years: int
    skew: float
    is_exercise: bool

    def __str__(self) -> str:
        note = ", an exercise value: the record is short" if self.is_exercise else ""
        return (
            f"lowest {self.n_days}-day mean flow once in {self.years:g} years, "
            f"from {self.record_years} years{note}"
        )


@bounded(values=VALUES, n_days=COUNT)
def n_day_means(values: Array, n_days: int) -> Array:
    """Running means over n days.

    Smooths out gates, meters and showers, so that a low value means a dry week and not a slip.
    Whole windows only: n - 1 fewer values than days.

    Parameters
    ----------
    values : array (day)
        Daily values [any unit]
    n_days : int
        Days in a window [d]

    Returns
    -------
    array (day - n + 1)
        Mean of each window [same unit]

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        The window is shorter than a day or longer than the record.

    Examples
    --------
    >>> n_day_means(np.array([1.0, 2.0, 6.0]), 2).tolist()
    [1.5, 4.0]
    """
    if not 1 <= n_days <= len(values):
        what = f"a window of {n_days} days does not fit into {len(values)} days."
        raise InputError(Problem("n_days", what, "Write for example 7."))
    windows = np.lib.stride_tricks.sliding_window_view(np.asarray(values, dtype=float), n_days)
    means: Array = windows.mean(axis=1)
    return means


@bounded(flow=FLOWS, n_days=COUNT)
def yearly_minima(
    flow: Array, days: Days, n_days: int = 7, *, starts_in: int = APRIL
) -> YearlyMinima:
    """Lowest n-day mean flow of each year.

    From whole years only, each window within one year.
    A year that begins in the dry season would count one drought twice: begin it in wet months.

    Parameters
    ----------
    flow : array (day)
        Daily flow [any unit]
    days : array (day)
        Its days without gaps, as datetime64[D]
    n_days : int
        Days in a window [d]
    starts_in : int
        Month in which a year begins: 4 for low flow in temperate northern places, 1 for calendar
        years [-]

    Returns
    -------
    YearlyMinima
        Years and minima

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        The month is none, days are missing, or there is no whole year.

    Examples
    --------
    >>> days = np.arange("2001-04-01", "2003-04-01", dtype="datetime64[D]")
    >>> yearly_minima(np.arange(730.0), days).minima.tolist()
    [3.0, 368.0]
    """
    days = np.asarray(days).astype("datetime64[D]")
    _check_days(flow, days, starts_in)
    months = days.astype("datetime64[M]").astype(int) - (starts_in - 1)
    year = months // 12 + 1970
    found = []
    for which in np.unique(year):
        inside = year == which
        first = np.datetime64(f"{which:04d}-{starts_in:02d}", "M")
        a_year_on = first + np.timedelta64(12, "M")
        begins, ends = (at.astype("datetime64[D]") for at in (first, a_year_on))
        if inside.sum() == (ends - begins).astype(int):
            found.append((int(which), float(n_day_means(flow[inside], n_days).min())))
    if not found:
        what = f"there is no whole year from month {starts_in} in {days[0]} to {days[-1]}."
        raise InputError(Problem("days", what, "Give a longer record."))
    return YearlyMinima(
        np.array([year for year, _ in found]), np.array([least for _, least in found])
    )


@bounded(minima=FLOWS, years=YEARS, n_days=COUNT)
def low_flow(
    minima: Array, years: float, *, n_days: int = 7, method: str = "log_pearson3"
) -> LowFlow:
    """Low flow of a return period, such as 7Q10.

    The n-day mean flow that a year falls below once in so many years, on average.
    From few years it is a guess: `is_exercise` says when.

    Parameters
    ----------
    minima : array (year)
        Lowest n-day mean of each year [any unit]
    years : float
        Return period: 10 for 7Q10 [a]
    n_days : int
        Days over which the minima are means [d]
    method : {"log_pearson3", "distribution_free"}
        Fit, or the ranks alone

    Returns
    -------
    LowFlow
        Value and how it was found

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        The method is not known, there are too few years, or the return period is not above one.

    Notes
    -----
    Non-exceedance 1 / T of the yearly minima; zero flows by conditional probability.

    References
    ----------
    Definition of xQy: U.S. EPA, as given in a university exercise on low flow.

    Examples
    --------
    >>> found = low_flow(np.array([3.0, 4.0, 5.0, 6.0, 7.0]), 10)
    >>> 2.0 < found.value < 4.0, found.is_exercise
    (True, True)
    """
    check_return_period(years)
    minima = np.asarray(minima, dtype=float)
    exercise = is_exercise(len(minima), years)
    if method == "distribution_free":
        value, skew = distribution_free_value(minima, years), 0.0
    elif method == "log_pearson3":
        fit = fit_log_pearson3(minima)
        value, skew = fit.value(1.0 / years), fit.skew
    else:
        what = f'there is no method "{method}".'
        raise InputError(Problem("method", what, f"There are {', '.join(_METHODS)}."))
    return LowFlow(value, n_days, years, len(minima), skew, exercise)


@bounded(flow=FLOWS, share=CHANCE)
def flow_exceeded(flow: Array, share: float) -> float:
    """Flow that is exceeded for a share of the time.

    Q95 is exceeded on 95 days of 100: what the river can be counted on for.
    Says nothing of how long the low days last in a row.

    Parameters
    ----------
    flow : array (time)
        Flow [any unit]
    share : float
        Share of the time, 0 to 1 without its ends [-]

    Returns
    -------
    float
        The flow [same unit]

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        The share is not between 0 and 1, or there is no flow.

    Notes
    -----
    Weibull plotting positions, linear between them and level beyond the ends.

    Examples
    --------
    >>> flow_exceeded(np.array([4.0, 1.0, 3.0, 2.0]), 0.5)
    2.5
    """
    if not (math.isfinite(share) and 0.0 < share < 1.0):
        what = f"{share:g} is no share of the time."
        raise InputError(Problem("share", what, "Write for example 0.95."))
    ordered = np.sort(np.asarray(flow, dtype=float))
    return float(np.interp(1.0 - share, plotting_positions(len(ordered)), ordered))


@bounded(flow=FLOWS, at_least=LEVELS)
def share_reaching(flow: Array, at_least: Array) -> Array:
    """Share of the time for which flow reaches each of some values [-].

    The flow-duration curve by classes: count the days at or above.
    As good as the record is long.

    Parameters
    ----------
    flow : array (time)
        Flow [any unit]
    at_least : array (value)
        Values, in any order [same unit]

    Returns
    -------
    array (value)
        Share of the time [-]

    Examples
    --------
    >>> share_reaching(np.array([1.0, 2.0, 3.0, 4.0]), np.array([2.0, 4.5])).tolist()
    [0.75, 0.0]
    """
    ordered = np.sort(np.asarray(flow, dtype=float))
    share: Array = 1.0 - np.searchsorted(ordered, at_least, side="left") / len(ordered)
    return share


def _check_days(flow: Array, days: Days, starts_in: int) -> None:
    problems = []
    if not (isinstance(starts_in, (int, np.integer)) and 1 <= starts_in <= 12):
        what = f"{starts_in} is no month."
        problems.append(Problem("starts_in", what, "Write 1 to 12."))
    if len(flow) != len(days):
        what = f"there are {len(flow)} flows for {len(days)} days."
        problems.append(Problem("flow", what, "Give one flow a day."))
    if not len(days) or (np.diff(days).astype(int) != 1).any():
        what = "the days are not one after the other."
        problems.append(Problem("days", what, "Give every day once."))
    if problems:
        raise InputError(problems)
