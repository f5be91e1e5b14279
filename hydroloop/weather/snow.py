"""Snow by degree-days: what falls as snow, and what melts.

Plain numbers in, plain numbers out, so that a compiled loop can call them; the wrapper at the end
runs a whole season.
"""

from __future__ import annotations

import numpy as np

from hydroloop.arguments import NOT_NEGATIVE, Values, bounded, each
from hydroloop.weather.arrays import AIR_C, RAIN_MM, Array

ALL_SNOW_BELOW_C = 0.0  # common practice
ALL_RAIN_ABOVE_C = 2.0  # common practice
MELT_ABOVE_C = 0.0  # common practice
# From memory, common practice: 2 to 6 mm a degree-day, less in forest, more on open ground in May.
MELT_MM_PER_C_D = 4.0


@bounded(
    ("all_snow_below_c", "<", "all_rain_above_c"), temperature_c=AIR_C, all_snow_below_c=AIR_C,
    all_rain_above_c=AIR_C,
)
@each
def snowfall_share(
    temperature_c: Values,
    all_snow_below_c: Values = ALL_SNOW_BELOW_C,
    all_rain_above_c: Values = ALL_RAIN_ABOVE_C,
) -> Values:
    """Share of precipitation that falls as snow [-].

    All below freezing, none above 2 C, a straight line in between.
    What really counts is the air some hundred metres up: single days may be wrong.

    Parameters
    ----------
    temperature_c : float, or array of any shape
        Mean air temperature of the step [C]
    all_snow_below_c, all_rain_above_c : float, or array of any shape
        Ends of the line, the second above the first [C]

    Returns
    -------
    float, or array of that shape
        Share, 0 to 1 [-]

    Notes
    -----
    share = (T_rain - T) / (T_rain - T_snow), cut to 0 and 1.

    References
    ----------
    Thresholds: common practice, from memory.

    Examples
    --------
    >>> snowfall_share(-5.0), snowfall_share(1.0), snowfall_share(8.0)
    (1.0, 0.5, 0.0)
    """
    share = (all_rain_above_c - temperature_c) / (all_rain_above_c - all_snow_below_c)
    return min(1.0, max(0.0, share))


@bounded(
    temperature_c=AIR_C, snow_mm=RAIN_MM, step_days=NOT_NEGATIVE, factor_mm_per_c_d=NOT_NEGATIVE,
    melt_above_c=AIR_C,
)
@each
def melt_depth(
    temperature_c: Values,
    snow_mm: Values,
    step_days: Values,
    factor_mm_per_c_d: Values = MELT_MM_PER_C_D,
    melt_above_c: Values = MELT_ABOVE_C,
) -> Values:
    """Snow that melts in a step [mm].

    So much for each degree above freezing, and never more than lies there.
    Sun, wind and rain on snow melt it too, and are only in the factor.

    Parameters
    ----------
    temperature_c : float, or array of any shape
        Mean air temperature of the step [C]
    snow_mm : float, or array of any shape
        Snow on the ground, as water [mm]
    step_days : float, or array of any shape
        Length of the step [d]
    factor_mm_per_c_d : float, or array of any shape
        Degree-day factor [mm/C/d]
    melt_above_c : float, or array of any shape
        Temperature above which snow melts [C]

    Returns
    -------
    float, or array of that shape
        Melt, as water [mm]

    Notes
    -----
    melt = min(snow, k (T - T0) dt) for T above T0, else 0.

    References
    ----------
    Factor 2 to 6 mm/C/d: common practice, from memory.

    Examples
    --------
    >>> melt_depth(3.0, 50.0, 1.0), melt_depth(3.0, 5.0, 1.0), melt_depth(-3.0, 50.0, 1.0)
    (12.0, 5.0, 0.0)
    """
    possible = factor_mm_per_c_d * max(0.0, temperature_c - melt_above_c) * step_days
    return min(snow_mm, possible)


@bounded(precipitation_mm=RAIN_MM, temperature_c=AIR_C, step_days=NOT_NEGATIVE, start_mm=RAIN_MM)
def snow_season(
    precipitation_mm: Array, temperature_c: Array, step_days: float, *, start_mm: float = 0.0
) -> dict[str, Array]:
    """Snow on the ground through a season [mm].

    Rain and melt that reach the ground, and the snow that is left, step by step.
    One layer of snow without cold content, drifting or evaporation.

    Parameters
    ----------
    precipitation_mm : array (time)
        Rain and snow of each step [mm]
    temperature_c : array (time)
        Mean air temperature [C]
    step_days : float
        Length of the step [d]
    start_mm : float
        Snow on the ground at the beginning, as water [mm]

    Returns
    -------
    dict of arrays
        rain_mm, snowfall_mm, melt_mm (time), and snow_mm at the edges (edge) [mm]

    Notes
    -----
    Snow that falls in a step may melt in it, so that days and hours come to the same.

    Examples
    --------
    >>> season = snow_season(np.array([10.0, 0.0]), np.array([-2.0, 1.0]), 1.0)
    >>> season["snow_mm"].tolist()
    [0.0, 10.0, 6.0]
    """
    shares = np.array([snowfall_share(t) for t in temperature_c.tolist()])
    snowfall = precipitation_mm * shares
    stored, melts, edges = start_mm, [], [start_mm]
    for fallen, temperature in zip(snowfall.tolist(), temperature_c.tolist(), strict=True):
        melt = melt_depth(temperature, stored + fallen, step_days)
        stored += fallen - melt
        melts.append(melt)
        edges.append(stored)
    return {
        "rain_mm": precipitation_mm - snowfall,
        "snowfall_mm": snowfall,
        "melt_mm": np.array(melts),
        "snow_mm": np.array(edges),
    }
