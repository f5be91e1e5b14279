"""Dry seasons: the driest of several, and the one that comes once in so many years."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from hydroloop.errors import InputError, Problem
from hydroloop.weather.arrays import Array, Days
from hydroloop.weather.bootstrap import days_of_other_years
from hydroloop.weather.calendar import Date, season_days
from hydroloop.weather.climates import climate_named
from hydroloop.weather.frequency import fit_log_pearson3, is_exercise, ranked_value
from hydroloop.weather.generator import generate_rain_mm
from hydroloop.weather.low_flow import n_day_means

FREQUENCIES = ("log_pearson3", "ranks")


@dataclass(frozen=True)
class Pick:
    """A season picked from several, and what it is multiplied with.

    Attributes
    ----------
    place : int
        Which of the seasons.
    factor : float
        Factor that brings its value to the one asked for; 1 where it is taken as it is [-].
    rank : float
        Share of seasons that are as dry or drier (Weibull) [-].
    is_exercise : bool
        True where there are too few seasons for the return period.
    """

    place: int
    factor: float = 1.0
    rank: float = 0.5
    is_exercise: bool = False


def of_each_season(daily: Array, first: np.datetime64, days: Days, shifts: Sequence[int]) -> Array:
    """The same season of each year of a record.

    The season's days of the calendar, taken from one year after the other.
    Leap days are handled as in `days_of_other_years`.

    Parameters
    ----------
    daily : array (record day)
        Values of the record [any unit]
    first : datetime64
        First day of the record
    days : array (day)
        Days of the season
    shifts : sequence of int
        Years by which to shift, each within the record [a]

    Returns
    -------
    array (shift, day)
        Values of each season [same unit]

    Examples
    --------
    >>> days = np.arange("2031-05-01", "2031-05-03", dtype="datetime64[D]")
    >>> of_each_season(np.arange(730.0), np.datetime64("2001-01-01"), days, [-30, -29]).tolist()
    [[120.0, 121.0], [485.0, 486.0]]
    """
    places = [(days_of_other_years(days, years) - first).astype(int) for years in shifts]
    values: Array = np.asarray(daily, dtype=float)[np.array(places)]
    return values


def driest(totals: Array) -> Pick:
    """The driest of several seasons: the one with the smallest total.

    Of two alike the first.
    The driest of a short record is seldom the driest that can come.

    Parameters
    ----------
    totals : array (season)
        Rain or river volume of each season [any unit]

    Returns
    -------
    Pick
        Its place, factor 1

    Examples
    --------
    >>> driest(np.array([3.0, 1.0, 2.0])).place
    1
    """
    return picked(totals, int(np.argmin(totals)))


def picked(totals: Array, place: int) -> Pick:
    """A season taken as it is, with its rank among all.

    Parameters
    ----------
    totals : array (season)
        Rain or river volume of each season [any unit]
    place : int
        Which one

    Returns
    -------
    Pick
        Factor 1
    """
    return Pick(place, rank=float((totals <= totals[place]).sum()) / (len(totals) + 1))


def once_in(values: Array, years: float, *, frequency: str = "log_pearson3") -> Pick:
    """The season that comes once in so many years.

    The season whose value lies nearest to that of the return period, and the factor that brings it
    there. Rests on the record: from few years it is an exercise, not a design drought.

    Parameters
    ----------
    values : array (season)
        One value for each season, small when dry: n-day low flow, or rain [any unit]
    years : float
        Return period [a]
    frequency : {"log_pearson3", "ranks"}
        Fit, or interpolation between the plotted values for a short record

    Returns
    -------
    Pick
        Place, factor, and whether the record is too short

    Raises
    ------
    InputError
        There are too few seasons, the return period cannot be, or the frequency is not known.

    Notes
    -----
    Value X with P(value <= X) = 1 / T; nearest by the ratio; factor = X / value.

    Examples
    --------
    >>> once_in(np.array([8.0, 2.0, 4.0]), 4, frequency="ranks")
    Pick(place=1, factor=1.0, rank=0.25, is_exercise=True)
    """
    values = np.asarray(values, dtype=float)
    if frequency == "ranks":
        wanted = ranked_value(values, years)
    elif frequency == "log_pearson3":
        wanted = fit_log_pearson3(values).value(1.0 / years)
    else:
        what = f'there is no frequency "{frequency}".'
        raise InputError(Problem("frequency", what, f"There are {', '.join(FREQUENCIES)}."))
    exercise = is_exercise(len(values), years)
    if wanted <= 0.0:
        return Pick(int(np.argmin(values)), 1.0, 1.0 / years, exercise)
    far = np.abs(np.log(np.maximum(values, 1e-300) / wanted))
    place = int(np.argmin(far))
    return Pick(place, wanted / float(values[place]), 1.0 / years, exercise)


def at_rank(totals: Array, chance: float) -> Pick:
    """The season at a chance of being as dry or drier, from many.

    For invented weather, of which there can be as many seasons as are wanted.
    The rank nearest to the chance; nothing is multiplied.

    Parameters
    ----------
    totals : array (season)
        Rain of each season [any unit]
    chance : float
        Share of seasons that are as dry or drier, 0 to 1 [-]

    Returns
    -------
    Pick
        Its place, factor 1

    Examples
    --------
    >>> at_rank(np.array([5.0, 1.0, 4.0, 2.0]), 0.4).place
    3
    """
    n = len(totals)
    rank = min(max(round(chance * (n + 1)), 1), n)
    place = int(np.argsort(totals, kind="stable")[rank - 1])
    return Pick(place, rank=rank / (n + 1))


def lowest_mean(seasons: Array, n_days: int) -> Array:
    """Lowest n-day mean of each season.

    Parameters
    ----------
    seasons : array (season, day)
        Values [any unit]
    n_days : int
        Days in a window; a shorter season counts whole [d]

    Returns
    -------
    array (season)
        Lowest mean of each [same unit]

    Examples
    --------
    >>> lowest_mean(np.array([[4.0, 2.0, 2.0, 5.0]]), 2).tolist()
    [2.0]
    """
    window = min(n_days, seasons.shape[1])
    return np.array([n_day_means(season, window).min() for season in seasons])


def season_seeds(seed: int, n: int) -> list[int]:
    """Seeds for many invented seasons: the given one first, then others drawn from it.

    Parameters
    ----------
    seed : int
        Seed of the scenario [-]
    n : int
        How many [-]

    Returns
    -------
    list of int
        Seeds

    Examples
    --------
    >>> season_seeds(7, 3)[0], len(season_seeds(7, 3))
    (7, 3)
    """
    return [seed, *np.random.SeedSequence(seed).generate_state(n)[1:].tolist()]


def invented_rain_mm(
    climate: str, start: Date, end: Date, seeds: Sequence[int], *, southern: bool = False
) -> Array:
    """Rain of many invented seasons [mm].

    The sum over the season for each seed, by the generator's own rules.
    Invented years vary less than real ones: monthly values do not wander.

    Parameters
    ----------
    climate : str
        Climate that the generator draws from
    start, end : str, date or datetime64
        First and last day of the season
    seeds : sequence of int
        One a season
    southern : bool
        Whether months are turned by half a year

    Returns
    -------
    array (season)
        Rain of each season [mm]

    Raises
    ------
    AskError
        There is no such climate.
    InputError
        A date cannot be.

    Examples
    --------
    >>> rain = invented_rain_mm("wet_winter", "2031-05-01", "2031-09-30", range(5))
    >>> rain.shape, bool((rain > 0).all())
    ((5,), True)
    """
    made = climate_named(climate)
    made = made.other_hemisphere() if southern else made
    days = season_days(start, end)
    return np.array([generate_rain_mm(made, days, seed).sum() for seed in seeds])
