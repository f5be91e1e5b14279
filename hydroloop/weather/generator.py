"""Invented weather that is like a place's real weather: wet and dry spells, warm and cold ones.

Daily. Same seed, same weather, and the same days of a calendar whatever the season asked for: each
calendar year has draws of its own, and spells run on across its ends.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from hydroloop.errors import InputError, Problem
from hydroloop.weather.arrays import Array, Days
from hydroloop.weather.calendar import daily_curve, month_index
from hydroloop.weather.climate import Climate

# Richardson & Wright 1984, USDA ARS-8: residuals of Tmax, Tmin and radiation, in this order (as
# given in three copies that agree).
RESIDUAL_A = ((0.567, 0.086, -0.002), (0.253, 0.504, -0.050), (-0.006, -0.039, 0.244))
RESIDUAL_B = ((0.781, 0.0, 0.0), (0.328, 0.637, 0.0), (0.238, -0.341, 0.873))
# Days before the first one asked for that are drawn too. A day's weather remembers the day before
# by less than 0.7, so that after so many nothing is left of how they began, to the last digit.
_RUN_IN = 120


def generate_weather(climate: Climate, days: Days, seed: int) -> dict[str, Array]:
    """Invented daily weather.

    Rain, lowest and highest temperature, with the spells and the spread of the climate's record.
    No storms of record, no trend, no droughts of many years: monthly values do not wander.

    Parameters
    ----------
    climate : Climate
        Monthly parameters
    days : array (time)
        Days, as datetime64[D]
    seed : int
        Same seed, same weather; not negative [-]

    Returns
    -------
    dict of arrays (time)
        rain_mm [mm], tmin_c [C], tmax_c [C]

    Raises
    ------
    InputError
        The seed is not a whole number from zero up.

    Notes
    -----
    Rain: a first-order chain of wet and dry days, gamma amounts. Temperature: the season's course,
    shifted on wet days, plus standard deviation times a residual x(t) = A x(t-1) + B e(t). Where
    the two temperatures of a day would cross they are exchanged.

    References
    ----------
    Richardson & Wright 1984, WGEN, USDA ARS-8 (matrices as given in three copies that agree).

    Examples
    --------
    >>> from hydroloop.weather import CLIMATES, season_days
    >>> days = season_days("2031-01-01", "2031-12-31")
    >>> weather = generate_weather(CLIMATES["wet_winter"], days, seed=7)
    >>> bool((weather["tmax_c"] >= weather["tmin_c"]).all())
    True
    """
    noise = _draws(_with_run_in(days), seed, 2, lambda year: year.standard_normal((366, 3)))
    residuals = temperature_residuals(noise)[-len(days) :]
    return weather_of_draws(climate, days, generate_rain_mm(climate, days, seed), residuals)


def weather_of_draws(
    climate: Climate, days: Days, rain_mm: Array, residuals: Array
) -> dict[str, Array]:
    """Weather of days whose rain and temperature residuals are drawn."""
    wet: np.ndarray = rain_mm > 0.0
    tmax = _course(climate.tmax_c, climate.tmax_wet_c, climate, days, wet)
    tmin = _course(climate.tmin_c, climate.tmin_wet_c, climate, days, wet)
    tmax = tmax + daily_curve(np.array(climate.tmax_sd_c), days) * residuals[:, 0]
    tmin = tmin + daily_curve(np.array(climate.tmin_sd_c), days) * residuals[:, 1]
    return {"rain_mm": rain_mm, "tmin_c": np.minimum(tmin, tmax), "tmax_c": np.maximum(tmin, tmax)}


def generate_rain_mm(climate: Climate, days: Days, seed: int) -> Array:
    """Invented daily rain [mm].

    The rain of `generate_weather` alone, for looking through many seasons.
    No droughts of many years: monthly values do not wander.

    Parameters
    ----------
    climate : Climate
        Monthly parameters
    days : array (time)
        Days, as datetime64[D]
    seed : int
        Same seed, same rain; not negative [-]

    Returns
    -------
    array (time)
        Rain of each day [mm]

    Raises
    ------
    InputError
        The seed is not a whole number from zero up.

    Examples
    --------
    >>> from hydroloop.weather import CLIMATES, season_days
    >>> days = season_days("2031-01-01", "2031-12-31")
    >>> climate = CLIMATES["wet_winter"]
    >>> rain = generate_rain_mm(climate, days, seed=7)
    >>> bool((rain == generate_weather(climate, days, seed=7)["rain_mm"]).all())
    True
    """
    earlier = _with_run_in(days)
    wet = wet_days(climate, earlier, _draws(earlier, seed, 0, lambda year: year.random(366)))
    amounts = _draws(days, seed, 1, lambda year: year.random(366))
    return rain_amounts_mm(climate, days, wet[-len(days) :], amounts)


def _with_run_in(days: Days) -> Days:
    """The days with those before them that they remember."""
    return np.concatenate([days[0] - np.arange(_RUN_IN, 0, -1), days])


def _draws(
    days: Days, seed: int, stream: int, of_year: Callable[[np.random.Generator], Array]
) -> Array:
    """Random numbers of days, those of each calendar year by a generator of its own (day, ...)."""
    if not isinstance(seed, (int, np.integer)) or isinstance(seed, bool) or seed < 0:
        raise InputError(
            Problem("seed", f"{seed!r} is not a whole number from 0 up.", "Write for example 1.")
        )
    year = days.astype("datetime64[Y]")
    numbers = {
        one: of_year(np.random.default_rng([int(seed), stream, 1970 + int(one.astype(int))]))
        for one in np.unique(year)
    }
    first = year.astype("datetime64[D]")
    return np.concatenate(
        [values[(days - first).astype(int)[year == one]] for one, values in numbers.items()]
    )


def wet_days(climate: Climate, days: Days, draws: Array) -> np.ndarray:
    """Wet and dry days [-].

    A first-order Markov chain: rain is likelier after rain.
    Dry spells of many weeks come out rarer than they are in nature.

    Parameters
    ----------
    climate : Climate
        Monthly parameters
    days : array (time)
        Days, as datetime64[D]
    draws : array (time)
        Even random numbers, 0 to 1 [-]

    Returns
    -------
    array (time)
        True on wet days

    Notes
    -----
    A day is wet when its draw is below P(wet after wet) or P(wet after dry); the day before the
    first is wet with the long-run share of its month.

    References
    ----------
    Richardson & Wright 1984, WGEN, USDA ARS-8 (from memory).

    Examples
    --------
    >>> from hydroloop.weather import CLIMATES, season_days
    >>> days = season_days("2031-01-01", "2031-01-03")
    >>> wet_days(CLIMATES["wet_winter"], days, np.array([0.0, 0.5, 0.99])).tolist()
    [True, True, False]
    """
    if not len(days):
        return np.zeros(0, dtype=bool)
    month = month_index(days)
    after_wet = np.array(climate.wet_after_wet)[month].tolist()
    after_dry = np.array(climate.wet_after_dry)[month].tolist()
    # The first day has no day before it: its chance is the long-run one, whichever branch is taken.
    after_wet[0] = after_dry[0] = float(climate.wet_share[month[0]])
    states, wet = [], False
    for draw, wetting, staying in zip(draws.tolist(), after_dry, after_wet, strict=True):
        wet = draw < (staying if wet else wetting)
        states.append(wet)
    return np.array(states)


def rain_amounts_mm(climate: Climate, days: Days, wet: np.ndarray, draws: Array) -> Array:
    """Rain of each day [mm], gamma distributed on wet days: the inverse of the distribution at the
    draw."""
    from scipy.special import gammaincinv  # heavy, and not needed where weather comes from a file

    month = month_index(days)[wet]
    shape, scale = np.array(climate.rain_shape)[month], np.array(climate.rain_scale_mm)[month]
    rain = np.zeros(len(days))
    rain[wet] = scale * gammaincinv(shape, draws[wet])
    return rain


def temperature_residuals(noise: Array) -> Array:
    """How far days are from the season's course, in standard deviations [-].

    Warm days follow warm days, and warm nights go with warm afternoons.
    The same correlations all year and everywhere: they are averages over many stations.

    Parameters
    ----------
    noise : array (time, 3)
        Independent standard normal numbers [-]

    Returns
    -------
    array (time, 3)
        Residuals of Tmax, Tmin and radiation, of mean 0 and variance 1 [-]

    Notes
    -----
    x(t) = A x(t-1) + B e(t); the first day is drawn from the long-run covariance M = A M A' + B B'.

    References
    ----------
    Richardson & Wright 1984, USDA ARS-8 (matrices as given in three copies that agree).

    Examples
    --------
    >>> temperature_residuals(np.zeros((2, 3))).tolist()
    [[0.0, 0.0, 0.0], [0.0, 0.0, 0.0]]
    """
    if not len(noise):
        return np.zeros((0, 3))
    shocks = noise @ np.array(RESIDUAL_B).T
    shocks[0] = np.linalg.cholesky(residual_covariance()) @ noise[0]
    (a, b, c), (d, e, f), (g, h, i) = RESIDUAL_A
    x = y = z = 0.0
    out = []
    # Plain numbers: three of them a day are quicker so than as small arrays.
    for p, q, r in shocks.tolist():
        x, y, z = (
            a * x + b * y + c * z + p,
            d * x + e * y + f * z + q,
            g * x + h * y + i * z + r,
        )
        out.append((x, y, z))
    return np.array(out)


def residual_covariance() -> Array:
    """Long-run covariance M of the residuals of Tmax, Tmin and radiation: M = A M A' + B B', solved
    as one linear system of nine unknowns."""
    a, b = np.array(RESIDUAL_A), np.array(RESIDUAL_B)
    return np.linalg.solve(np.eye(9) - np.kron(a, a), (b @ b.T).ravel()).reshape(3, 3)


def _course(monthly_c: tuple, wet_c: tuple, climate: Climate, days: Days, wet: Array) -> Array:
    """Season's course of a temperature, shifted on wet days so that the month keeps its mean."""
    shift = daily_curve(np.array(wet_c), days)
    expected = climate.wet_share[month_index(days)]
    return daily_curve(np.array(monthly_c), days) + shift * (wet - expected)
