"""Daily weather brought to the steps of a simulation: hours from days."""

from __future__ import annotations

import math

import numpy as np

from hydroloop.weather.arrays import Array, Days
from hydroloop.weather.calendar import day_of_year
from hydroloop.weather.series import regrid
from hydroloop.weather.sun import radiation_between_mj_per_m2

WARMEST_HOUR = 15.0  # solar time; common practice, with the coolest hour twelve hours before
_TEMPERATURES = ("tmin_c", "tmax_c", "tmean_c")
_BY_DAYLIGHT = ("et0_mm", "open_water_mm")


def columns_on_steps(
    daily: dict[str, Array], days: Days, per_day: int, latitude_deg: float
) -> dict[str, Array]:
    """Daily columns on shorter steps. Each column by its own rule, so that the day keeps its sum or
    its mean. Rain is even over the day, and
    evaporation follows the sun."""
    if per_day == 1:
        return dict(daily)
    weights = daylight_weights(days, per_day, latitude_deg)
    out = {}
    for name, values in daily.items():
        if name in _TEMPERATURES and "tmin_c" in daily and "tmax_c" in daily:
            continue
        if name in _BY_DAYLIGHT:
            out[name] = (values[:, None] * weights).ravel()
        else:
            out[name] = regrid(values, 1, per_day, name)
    if "tmin_c" in daily and "tmax_c" in daily:
        out.update(temperature_on_steps(daily["tmin_c"], daily["tmax_c"], per_day))
    return out


def temperature_on_steps(tmin_c: Array, tmax_c: Array, per_day: int) -> dict[str, Array]:
    """Lowest, highest and mean temperature of each step of a day [C], as a cosine about 15 h: T(h)
    = (Tmax + Tmin) / 2 + (Tmax - Tmin) / 2 cos(2 pi (h - 15) / 24), its mean taken exactly."""
    edges = np.arange(per_day + 1) * (2.0 * math.pi / per_day) - math.pi * WARMEST_HOUR / 12.0
    mean = np.diff(np.sin(edges)) / np.diff(edges)
    low, high = np.cos(edges[:-1]), np.cos(edges[1:])
    lowest, highest = np.minimum(low, high), np.maximum(low, high)
    # A step that holds the coolest (-pi) or the warmest hour (0) reaches the day's own extreme.
    lowest[(edges[:-1] <= -math.pi) & (edges[1:] >= -math.pi)] = -1.0
    highest[(edges[:-1] <= 0.0) & (edges[1:] >= 0.0)] = 1.0
    middle, half = 0.5 * (tmax_c + tmin_c)[:, None], 0.5 * (tmax_c - tmin_c)[:, None]
    return {
        name: (middle + half * shape).ravel()
        for name, shape in (("tmin_c", lowest), ("tmax_c", highest), ("tmean_c", mean))
    }


def daylight_weights(days: Days, per_day: int, latitude_deg: float) -> Array:
    """Share of a day's evaporation that falls to each of its steps [-].

    Follows the sun's height: nothing at night, most at noon.
    Real afternoons are drier than mornings, so the true peak is an hour or two later.

    Parameters
    ----------
    days : array (day)
        Days, as datetime64[D]
    per_day : int
        Steps in a day [-]
    latitude_deg : float
        Latitude, south negative [deg]

    Returns
    -------
    array (day, step of the day)
        Shares that add up to one on each day; even where the sun does not rise [-]

    Notes
    -----
    The energy above the air in the step over that of the day, in solar time.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 28 (as given in quotations).

    Examples
    --------
    >>> shares = daylight_weights(np.array(["2031-06-21"], "datetime64[D]"), 4, 45.0)
    >>> round(float(shares.sum()), 9), bool(shares[0, 0] < shares[0, 1])
    (1.0, True)
    """
    angle = (np.arange(per_day + 1) * (2.0 / per_day) - 1.0) * math.pi
    day = day_of_year(days)[:, None]
    energy = radiation_between_mj_per_m2(latitude_deg, day, angle[:-1], angle[1:])
    total = energy.sum(axis=1, keepdims=True)
    return np.where(total > 0.0, energy / np.where(total > 0.0, total, 1.0), 1.0 / per_day)
