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
    """Values of the same season (shift, day) in each year of a daily record, shifted by so many
    years; leap days as in `days_of_other_years`."""
    places = [(days_of_other_years(days, years) - first).astype(int) for years in shifts]
    values: Array = np.asarray(daily, dtype=float)[np.array(places)]
    return values


def driest(totals: Array) -> Pick:
    """The driest of several seasons, the first of those with the smallest total."""
    return picked(totals, int(np.argmin(totals)))


def picked(totals: Array, place: int) -> Pick:
    """A season taken as it is, with its rank among all."""
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
    """Of many invented seasons the one whose chance of being as dry or drier is nearest to this;
    nothing is multiplied."""
    n = len(totals)
    rank = min(max(round(chance * (n + 1)), 1), n)
    place = int(np.argsort(totals, kind="stable")[rank - 1])
    return Pick(place, rank=rank / (n + 1))


def lowest_mean(seasons: Array, n_days: int) -> Array:
    """Lowest n-day mean of each season of (season, day); a season shorter than that counts
    whole."""
    window = min(n_days, seasons.shape[1])
    return np.array([n_day_means(season, window).min() for season in seasons])


def season_seeds(seed: int, n: int) -> list[int]:
    """Seeds for many invented seasons: the given one first, then others drawn from it."""
    return [seed, *np.random.SeedSequence(seed).generate_state(n)[1:].tolist()]


def invented_rain_mm(
    climate: str, start: Date, end: Date, seeds: Sequence[int], *, southern: bool = False
) -> Array:
    """Rain of an invented season for each seed [mm], by the generator's own rules. Invented years
    vary less than real ones: monthly values do not wander."""
    made = climate_named(climate)
    made = made.other_hemisphere() if southern else made
    days = season_days(start, end)
    return np.array([generate_rain_mm(made, days, seed).sum() for seed in seeds])
