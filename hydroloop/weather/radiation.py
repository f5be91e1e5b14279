"""Radiation at the ground: what comes from the sun, what is kept, what glows back to the sky.

Energies are MJ/m2 in a day throughout.
"""

from __future__ import annotations

import numpy as np

from hydroloop.arguments import SHARE, bounded
from hydroloop.weather.arrays import (
    AIR_C,
    ELEVATION_M,
    FREEZING_K,
    HOURS,
    SUN_MJ,
    VAPOUR_KPA,
    Values,
)

GRASS_ALBEDO = 0.23  # reference crop, FAO-56 equation 38
WATER_ALBEDO = 0.08  # open water, as used by McMahon et al. 2013
STEFAN_BOLTZMANN = 4.903e-9  # MJ/K4/m2/d, FAO-56 equation 39
CLOUD_WHEN_DARK = 0.6  # relative shortwave where the sun never rises; a middling sky


@bounded(radiation_above_mj_per_m2=SUN_MJ, elevation_m=ELEVATION_M)
def clear_sky_radiation_mj_per_m2(radiation_above_mj_per_m2: Values, elevation_m: Values) -> Values:
    """Clear-sky solar radiation [MJ/m2/d].

    What reaches the ground on a day without a cloud.
    Haze and smoke take up to a tenth more away.

    Parameters
    ----------
    radiation_above_mj_per_m2 : float or array
        Sun's energy above the air [MJ/m2/d]
    elevation_m : float or array
        Height above the sea [m]

    Returns
    -------
    float or array
        Clear-sky radiation [MJ/m2/d]

    Notes
    -----
    Rso = (0.75 + 2e-5 z) Ra, z [m].

    References
    ----------
    Allen et al. 1998, FAO-56, equation 37 (as given in quotations).

    Examples
    --------
    >>> round(clear_sky_radiation_mj_per_m2(38.06, 2.0), 2)
    28.55
    """
    return (0.75 + 2e-5 * elevation_m) * radiation_above_mj_per_m2


@bounded(
    radiation_above_mj_per_m2=SUN_MJ,
    sunshine_h=HOURS,
    day_length_h=HOURS,
    angstrom_a=SHARE,
    angstrom_b=SHARE,
)
def radiation_from_sunshine_mj_per_m2(
    radiation_above_mj_per_m2: Values,
    sunshine_h: Values,
    day_length_h: Values,
    angstrom_a: float = 0.25,
    angstrom_b: float = 0.50,
) -> Values:
    """Solar radiation from hours of sunshine [MJ/m2/d].

    The more of the day the sun shone, the more of its energy came down.
    The two coefficients are a world average: where local ones are known, use them.

    Parameters
    ----------
    radiation_above_mj_per_m2 : float or array
        Sun's energy above the air [MJ/m2/d]
    sunshine_h, day_length_h : float or array
        Hours of sunshine and of daylight [h]
    angstrom_a, angstrom_b : float
        Share that passes under full cloud, and what full sunshine adds [-]

    Returns
    -------
    float or array
        Solar radiation [MJ/m2/d]

    Notes
    -----
    Rs = (a + b n / N) Ra; n over N is cut at 1, and is 0 where there is no day.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 35 (as given in quotations).

    Examples
    --------
    >>> round(float(radiation_from_sunshine_mj_per_m2(25.1, 7.1, 10.9)), 2)
    14.45
    """
    share = np.minimum(sunshine_h / np.maximum(day_length_h, 1e-9), 1.0)
    return (angstrom_a + angstrom_b * share) * radiation_above_mj_per_m2


@bounded(radiation_mj_per_m2=SUN_MJ, albedo=SHARE)
def net_shortwave_mj_per_m2(radiation_mj_per_m2: Values, albedo: float = GRASS_ALBEDO) -> Values:
    """Net shortwave radiation [MJ/m2/d].

    The sunlight that the surface keeps.
    Albedo changes with the sun's height and with snow: here it is constant.

    Parameters
    ----------
    radiation_mj_per_m2 : float or array
        Solar radiation [MJ/m2/d]
    albedo : float
        Share that is thrown back: grass 0.23, open water 0.08 [-]

    Returns
    -------
    float or array
        Net shortwave radiation [MJ/m2/d]

    Notes
    -----
    Rns = (1 - albedo) Rs.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 38 (as given in quotations).

    Examples
    --------
    >>> round(net_shortwave_mj_per_m2(22.65), 2)
    17.44
    """
    return (1.0 - albedo) * radiation_mj_per_m2


@bounded(radiation_mj_per_m2=SUN_MJ, clear_sky_mj_per_m2=SUN_MJ)
def relative_shortwave(radiation_mj_per_m2: Values, clear_sky_mj_per_m2: Values) -> Values:
    """Solar radiation as a share of that of a clear sky [-].

    One is a clear day, 0.3 a heavy overcast: a measure of cloud.
    In the polar night there is nothing to measure, and a middling sky is assumed.

    Parameters
    ----------
    radiation_mj_per_m2, clear_sky_mj_per_m2 : float or array
        Solar radiation, and that of a clear sky [MJ/m2/d]

    Returns
    -------
    float or array
        Share, kept between 0.3 and 1 [-]

    Notes
    -----
    Rs / Rso, at most 1 (FAO-56) and at least 0.3 (common practice); 0.6 where Rso is 0.

    References
    ----------
    Allen et al. 1998, FAO-56, text at equation 39 (as given in quotations).

    Examples
    --------
    >>> float(relative_shortwave(14.1, 18.8))
    0.75
    """
    clear = np.asarray(clear_sky_mj_per_m2, dtype=float)
    is_day = clear > 1e-9  # less is rounding
    ratio = radiation_mj_per_m2 / np.where(is_day, clear, 1.0)
    return np.clip(np.where(is_day, ratio, CLOUD_WHEN_DARK), 0.3, 1.0)


@bounded(
    ("tmin_c", "tmax_c"),
    tmin_c=AIR_C,
    tmax_c=AIR_C,
    vapour_kpa=VAPOUR_KPA,
    shortwave_share=SHARE,
    freezing_k=FREEZING_K,
)
def net_longwave_mj_per_m2(
    tmin_c: Values,
    tmax_c: Values,
    vapour_kpa: Values,
    shortwave_share: Values,
    *,
    freezing_k: float = 273.16,
) -> Values:
    """Net longwave radiation lost to the sky [MJ/m2/d].

    Warm ground glows; damp air and cloud send part of it back.
    Fitted to grass and mild climates; poor in deserts at night.

    Parameters
    ----------
    tmin_c, tmax_c : float or array
        Lowest and highest temperature of the day [C]
    vapour_kpa : float or array
        Actual vapour pressure [kPa]
    shortwave_share : float or array
        Solar radiation over that of a clear sky, at most 1 [-]
    freezing_k : float
        Kelvin at 0 C: 273.16 in FAO-56, 273.2 in McMahon et al. 2013 [K]

    Returns
    -------
    float or array
        Net outgoing longwave radiation [MJ/m2/d]

    Notes
    -----
    Rnl = sigma (Tmax_K^4 + Tmin_K^4) / 2 (0.34 - 0.14 sqrt(ea)) (1.35 Rs/Rso - 0.35).

    References
    ----------
    Allen et al. 1998, FAO-56, equation 39 (as given in quotations).

    Examples
    --------
    >>> round(float(net_longwave_mj_per_m2(19.1, 25.1, 2.1, 14.5 / 18.8)), 1)
    3.5
    """
    glow = 0.5 * STEFAN_BOLTZMANN * ((tmax_c + freezing_k) ** 4 + (tmin_c + freezing_k) ** 4)
    return glow * (0.34 - 0.14 * np.sqrt(vapour_kpa)) * (1.35 * shortwave_share - 0.35)
