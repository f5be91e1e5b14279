"""Climate of a place from its daily record: the wet and dry chain, gamma rain, temperatures."""

from __future__ import annotations

import numpy as np

from hydroloop.arguments import bounded
from hydroloop.errors import InputError, Problem
from hydroloop.weather.arrays import AIR_C, RAIN_MM, Array, Days
from hydroloop.weather.calendar import daily_curve, month_index
from hydroloop.weather.climate import Climate, Months

_MONTHS = range(12)


@bounded(("tmin_c", "tmax_c"), rain_mm=RAIN_MM, tmin_c=AIR_C, tmax_c=AIR_C)
def fit_climate(
    days: Days, rain_mm: Array, tmin_c: Array, tmax_c: Array, *, name: str, source: str
) -> Climate:
    """Climate of a daily record.

    What the generator needs to make more weather of the same kind.
    A few years give rough values: a month should have some 60 days, ten of them wet.

    Parameters
    ----------
    days : array (time)
        Days without gaps, as datetime64[D]
    rain_mm : array (time)
        Rain [mm]
    tmin_c, tmax_c : array (time)
        Lowest and highest temperature [C]
    name, source : str
        What to call it, and where the record is from

    Returns
    -------
    Climate
        Monthly parameters

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        A month has too few days, wet days or dry days to fit anything to.

    Notes
    -----
    A day is wet with any rain at all. Amounts: `fit_gamma`. Standard deviations are those around
    the season's course, wet and dry days apart.

    Examples
    --------
    >>> from hydroloop.weather import CLIMATES, fit_climate, generate_weather, season_days
    >>> days = season_days("2001-01-01", "2030-12-31")
    >>> made = generate_weather(CLIMATES["wet_winter"], days, seed=1)
    >>> again = fit_climate(days, **made, name="again", source="made")
    >>> bool(abs(again.wet_share - CLIMATES["wet_winter"].wet_share).max() < 0.1)
    True
    """
    wet, month = rain_mm > 0.0, month_index(days)
    _require_enough(wet, month)
    gamma = [fit_gamma(rain_mm[wet & (month == m)]) for m in _MONTHS]
    after_wet, after_dry = fit_chain(wet, month)
    tmin = _fit_temperature(days, tmin_c, wet)
    tmax = _fit_temperature(days, tmax_c, wet)
    return Climate(
        name=name,
        source=source,
        wet_after_wet=after_wet,
        wet_after_dry=after_dry,
        rain_shape=tuple(shape for shape, _ in gamma),
        rain_scale_mm=tuple(scale for _, scale in gamma),
        tmin_c=tmin[0],
        tmax_c=tmax[0],
        tmin_wet_c=tmin[1],
        tmax_wet_c=tmax[1],
        tmin_sd_c=tmin[2],
        tmax_sd_c=tmax[2],
    )


def fit_chain(wet: np.ndarray, month: np.ndarray) -> tuple[Months, Months]:
    """Chances of rain after a wet and after a dry day, by month of the second day (January 0)
    [-]."""
    before, now, into = wet[:-1], wet[1:], month[1:]
    after_wet = tuple(float(now[before & (into == m)].mean()) for m in _MONTHS)
    after_dry = tuple(float(now[~before & (into == m)].mean()) for m in _MONTHS)
    return after_wet, after_dry


@bounded(amounts_mm=RAIN_MM)
def fit_gamma(amounts_mm: Array) -> tuple[float, float]:
    """Shape and scale of a gamma distribution, by Thom's formula [-], [mm].

    Close to the most likely values, from the mean and the mean logarithm alone.
    Needs amounts above zero that are not all alike.

    Parameters
    ----------
    amounts_mm : array
        Rain of wet days [mm]

    Returns
    -------
    tuple of float
        Shape [-] and scale [mm]

    Raises
    ------
    AskError
        An argument is out of its bounds.
    InputError
        Fewer than two amounts, amounts that are not above zero, or all alike.

    Notes
    -----
    A = ln(mean) - mean(ln); shape = (1 + sqrt(1 + 4 A / 3)) / (4 A); scale = mean / shape.

    References
    ----------
    Thom 1958, A note on the gamma distribution, Monthly Weather Review 86:117 (from memory).

    Examples
    --------
    >>> shape, scale = fit_gamma(np.array([1.0, 2.0, 3.0]))
    >>> round(shape * scale, 9)
    2.0
    """
    amounts = np.asarray(amounts_mm, dtype=float)
    if len(amounts) < 2 or amounts.min() <= 0.0 or amounts.min() == amounts.max():
        what = "a gamma distribution needs at least two different amounts above zero."
        raise InputError(Problem("rain", what, "Use a longer record."))
    mean = amounts.mean()
    spread = np.log(mean) - np.log(amounts).mean()
    shape = (1.0 + np.sqrt(1.0 + 4.0 * spread / 3.0)) / (4.0 * spread)
    return float(shape), float(mean / shape)


def _require_enough(wet: np.ndarray, month: np.ndarray) -> None:
    problems = [
        Problem(
            "record",
            f"month {m + 1} has {(wet & (month == m)).sum()} wet and "
            f"{(~wet & (month == m)).sum()} dry days; at least 3 of each are needed.",
            "Use a longer record.",
        )
        for m in _MONTHS
        if (wet & (month == m)).sum() < 3 or (~wet & (month == m)).sum() < 3
    ]
    if problems:
        raise InputError(problems)


def _fit_temperature(days: Days, values_c: Array, wet: np.ndarray) -> tuple[Months, Months, Months]:
    """Monthly mean, wet less dry days, and standard deviation around the season's course [C]."""
    month = month_index(days)
    mean = np.array([values_c[month == m].mean() for m in _MONTHS])
    # Wet and dry days are compared around the season's course: where wet days crowd at one end
    # of a month, the season itself must not count as an effect of rain.
    around = values_c - daily_curve(mean, days)
    shift = np.array(
        [around[wet & (month == m)].mean() - around[~wet & (month == m)].mean() for m in _MONTHS]
    )
    share = np.array([wet[month == m].mean() for m in _MONTHS])
    rest = around - daily_curve(shift, days) * (wet - share[month])
    spread = [rest[month == m].std(ddof=1) for m in _MONTHS]
    return tuple(mean.tolist()), tuple(shift.tolist()), tuple(float(s) for s in spread)
