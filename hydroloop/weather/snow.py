"""Snow by degree-days: what falls as snow, and what melts.

Plain numbers in, plain numbers out, so that a compiled loop can call them.
"""

from __future__ import annotations

from hydroloop.arguments import NOT_NEGATIVE, Values, bounded, each
from hydroloop.weather.arrays import AIR_C, RAIN_MM

ALL_SNOW_BELOW_C = 0.0  # common practice
ALL_RAIN_ABOVE_C = 2.0  # common practice
MELT_ABOVE_C = 0.0  # common practice
# From memory, common practice: 2 to 6 mm a degree-day, less in forest, more on open ground in May.
MELT_MM_PER_C_D = 4.0


@bounded(
    ("all_snow_below_c", "<", "all_rain_above_c"),
    temperature_c=AIR_C,
    all_snow_below_c=AIR_C,
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
    temperature_c=AIR_C,
    snow_mm=RAIN_MM,
    step_days=NOT_NEGATIVE,
    factor_mm_per_c_d=NOT_NEGATIVE,
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
