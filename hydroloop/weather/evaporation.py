"""Evaporation equations: grass and open water, from energy, wind and dryness of the air.

Each takes numbers or arrays alike. `reference.py` chooses among them by the data at hand.
"""

from __future__ import annotations

import numpy as np

from hydroloop.arguments import bounded
from hydroloop.weather.arrays import (
    AIR_C,
    HEIGHT_M,
    NET_MJ,
    PRESSURE_KPA,
    SUN_MJ,
    VAPOUR_KPA,
    WIND,
    Values,
)
from hydroloop.weather.vapour import psychrometric_constant_kpa_per_c, saturation_slope_kpa_per_c

LATENT_HEAT = 2.45  # MJ/kg, FAO-56; one kg on a square metre is one mm
HARGREAVES = 0.0023  # fixed coefficient of 1985; the later one that varies is not mixed in
_CROP_NUMERATOR = {"day": 900.0, "hour": 37.0}  # FAO-56 equations 6 and 53


@bounded(wind_m_per_s=WIND, height_m=HEIGHT_M)
def wind_at_2m_m_per_s(wind_m_per_s: Values, height_m: float) -> Values:
    """Wind at 2 m height [m/s].

    Wind is slower near the ground: brings a reading from any height down to 2 m.
    Over short grass; not among trees or houses.

    Parameters
    ----------
    wind_m_per_s : float or array
        Wind at the height of the instrument [m/s]
    height_m : float
        Height of the instrument [m]

    Returns
    -------
    float or array
        Wind at 2 m [m/s]

    Notes
    -----
    u2 = uz 4.87 / ln(67.8 z - 5.42), z [m].

    References
    ----------
    Allen et al. 1998, FAO-56, equation 47 (as given in quotations).

    Examples
    --------
    >>> round(float(wind_at_2m_m_per_s(3.2, 10.0)), 1)
    2.4
    """
    return wind_m_per_s * 4.87 / np.log(67.8 * height_m - 5.42)


@bounded(
    net_energy_mj_per_m2=NET_MJ,
    temperature_c=AIR_C,
    wind_m_per_s=WIND,
    deficit_kpa=VAPOUR_KPA,
    pressure_kpa=PRESSURE_KPA,
)
def penman_monteith_mm(
    net_energy_mj_per_m2: Values,
    temperature_c: Values,
    wind_m_per_s: Values,
    deficit_kpa: Values,
    pressure_kpa: Values,
    *,
    per: str = "day",
) -> Values:
    """Reference evaporation of short grass, Penman-Monteith [mm].

    What a well-watered lawn gives to the air; real plants give more or less than that.
    Not for dry ground, forests or cities, and not for winters under snow.

    Parameters
    ----------
    net_energy_mj_per_m2 : float or array
        Net radiation less the heat that goes into the ground, per day or hour [MJ/m2]
    temperature_c : float or array
        Mean air temperature [C]
    wind_m_per_s : float or array
        Wind at 2 m [m/s]
    deficit_kpa : float or array
        Saturation less actual vapour pressure [kPa]
    pressure_kpa : float or array
        Air pressure [kPa]
    per : {"day", "hour"}
        Time that the energy and the answer are counted over

    Returns
    -------
    float or array
        Reference evaporation per day or hour, not below zero [mm]

    Notes
    -----
    ET0 = (0.408 slope (Rn - G) + gamma k / (T + 273) u2 (es - ea)) / (slope + gamma (1 + 0.34 u2)),
    with k = 900 for days and 37 for hours.

    References
    ----------
    Allen et al. 1998, FAO-56, equations 6 and 53 (as given in quotations).

    Examples
    --------
    >>> et0 = penman_monteith_mm(14.33 - 0.14, 30.2, 2.0, 4.42 - 2.85, 101.3)
    >>> round(float(et0), 2)
    5.71
    """
    slope = saturation_slope_kpa_per_c(temperature_c)
    gamma = psychrometric_constant_kpa_per_c(pressure_kpa)
    drying = gamma * _CROP_NUMERATOR[per] / (temperature_c + 273.0) * wind_m_per_s * deficit_kpa
    depth = (0.408 * slope * net_energy_mj_per_m2 + drying) / (
        slope + gamma * (1.0 + 0.34 * wind_m_per_s)
    )
    return np.maximum(depth, 0.0)


@bounded(("tmin_c", "tmax_c"), tmin_c=AIR_C, tmax_c=AIR_C, radiation_above_mj_per_m2=SUN_MJ)
def hargreaves_samani_mm(
    tmin_c: Values, tmax_c: Values, radiation_above_mj_per_m2: Values
) -> Values:
    """Reference evaporation from temperature alone, Hargreaves-Samani [mm/d].

    A stand-in for Penman-Monteith where nothing but temperature is known.
    Good over weeks; a single windy or damp day may be off by a third.

    Parameters
    ----------
    tmin_c, tmax_c : float or array
        Lowest and highest temperature of the day [C]
    radiation_above_mj_per_m2 : float or array
        Sun's energy above the air [MJ/m2/d]

    Returns
    -------
    float or array
        Reference evaporation, not below zero [mm/d]

    Notes
    -----
    ET0 = 0.0023 (Tmean + 17.8) sqrt(Tmax - Tmin) Ra / 2.45, Tmean = (Tmax + Tmin) / 2.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 52, after Hargreaves & Samani 1985 (as given in quotations).

    Examples
    --------
    >>> round(float(hargreaves_samani_mm(14.8, 26.6, 40.55)), 1)
    5.0
    """
    warmth = np.maximum(0.5 * (tmin_c + tmax_c) + 17.8, 0.0)
    swing = np.sqrt(tmax_c - tmin_c)
    return HARGREAVES * warmth * swing * radiation_above_mj_per_m2 / LATENT_HEAT


@bounded(
    net_radiation_mj_per_m2=NET_MJ,
    temperature_c=AIR_C,
    wind_m_per_s=WIND,
    deficit_kpa=VAPOUR_KPA,
    pressure_kpa=PRESSURE_KPA,
)
def penman_open_water_mm(
    net_radiation_mj_per_m2: Values,
    temperature_c: Values,
    wind_m_per_s: Values,
    deficit_kpa: Values,
    pressure_kpa: Values,
) -> Values:
    """Evaporation of open water, Penman [mm/d].

    What a shallow pond gives to the air.
    A deep lake stores summer's heat and gives it back in autumn: use it by the year, not the day.

    Parameters
    ----------
    net_radiation_mj_per_m2 : float or array
        Net radiation of the water surface [MJ/m2/d]
    temperature_c : float or array
        Mean air temperature [C]
    wind_m_per_s : float or array
        Wind at 2 m [m/s]
    deficit_kpa : float or array
        Saturation less actual vapour pressure [kPa]
    pressure_kpa : float or array
        Air pressure [kPa]

    Returns
    -------
    float or array
        Open-water evaporation, not below zero [mm/d]

    Notes
    -----
    E = slope / (slope + gamma) Rn / 2.45 + gamma / (slope + gamma) Ea, with the drying power of the
    air Ea = (1.313 + 1.381 u2) (es - ea) [mm/d], Penman's wind function of 1956.

    References
    ----------
    Penman 1948 and 1956, in the form of McMahon et al. 2013, HESS 17:1331, supplement S4 (as given
    in a test of an evapotranspiration library).

    Examples
    --------
    >>> round(float(penman_open_water_mm(8.6401, 11.5, 0.5903, 1.0, 95.01)), 1)
    2.9
    """
    slope = saturation_slope_kpa_per_c(temperature_c)
    gamma = psychrometric_constant_kpa_per_c(pressure_kpa)
    drying = (1.313 + 1.381 * wind_m_per_s) * deficit_kpa
    depth = (slope * net_radiation_mj_per_m2 / LATENT_HEAT + gamma * drying) / (slope + gamma)
    return np.maximum(depth, 0.0)
