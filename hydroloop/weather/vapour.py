"""Air and the water vapour in it: pressures in kPa from temperature, humidity and height.

All functions take numbers or arrays alike.
"""

from __future__ import annotations

import numpy as np

from hydroloop.arguments import bounded
from hydroloop.weather.arrays import (
    AIR_C,
    ELEVATION_M,
    HUMIDITY,
    PRESSURE_KPA,
    Values,
)


@bounded(elevation_m=ELEVATION_M)
def air_pressure_kpa(elevation_m: Values) -> Values:
    """Air pressure [kPa].

    Mean pressure of the air at a height; it sets how much energy evaporation needs.
    Weather moves it by a few per cent, which does not matter here; not for balloons.

    Parameters
    ----------
    elevation_m : float or array
        Height above the sea [m]

    Returns
    -------
    float or array
        Air pressure [kPa]

    Notes
    -----
    P = 101.3 ((293 - 0.0065 z) / 293)^5.26, z [m]; standard air at 20 C, below about 5000 m.

    References
    ----------
    Allen et al. 1998, FAO Irrigation and Drainage Paper 56, equation 7 (as given in quotations).

    Examples
    --------
    >>> round(air_pressure_kpa(1800), 1)
    81.8
    """
    return 101.3 * ((293.0 - 0.0065 * elevation_m) / 293.0) ** 5.26


@bounded(pressure_kpa=PRESSURE_KPA)
def psychrometric_constant_kpa_per_c(pressure_kpa: Values) -> Values:
    """Psychrometric constant [kPa/C].

    Links the cooling of a wet surface to the vapour that leaves it.
    A property of air: it says nothing about how wet the ground is.

    Parameters
    ----------
    pressure_kpa : float or array
        Air pressure [kPa]

    Returns
    -------
    float or array
        Psychrometric constant [kPa/C]

    Notes
    -----
    gamma = 0.000665 P, P [kPa]; latent heat 2.45 MJ/kg.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 8 (as given in quotations).

    Examples
    --------
    >>> round(psychrometric_constant_kpa_per_c(81.8), 3)
    0.054
    """
    return 0.000665 * pressure_kpa


@bounded(temperature_c=AIR_C)
def saturation_pressure_kpa(temperature_c: Values) -> Values:
    """Saturation vapour pressure [kPa].

    The most vapour that air of this temperature can hold.
    Over water, not over ice; take it at Tmin and Tmax and average, not at the mean.

    Parameters
    ----------
    temperature_c : float or array
        Air temperature [C]

    Returns
    -------
    float or array
        Saturation vapour pressure [kPa]

    Notes
    -----
    e0 = 0.6108 exp(17.27 T / (T + 237.3)), T [C], about -40 to 50 C.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 11 (as given in quotations).

    Examples
    --------
    >>> round(float(saturation_pressure_kpa(24.5)), 3)
    3.075
    """
    return 0.6108 * np.exp(17.27 * temperature_c / (temperature_c + 237.3))


@bounded(("tmin_c", "tmax_c"), tmin_c=AIR_C, tmax_c=AIR_C)
def mean_saturation_pressure_kpa(tmin_c: Values, tmax_c: Values) -> Values:
    """Mean saturation vapour pressure of a day [kPa].

    The mean of the values at the day's lowest and highest temperature.
    Pressure rises faster than temperature, so the value at the mean would be too low.

    Parameters
    ----------
    tmin_c, tmax_c : float or array
        Lowest and highest temperature of the day [C]

    Returns
    -------
    float or array
        Mean saturation vapour pressure [kPa]

    Notes
    -----
    es = (e0(Tmax) + e0(Tmin)) / 2.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 12 (as given in quotations).

    Examples
    --------
    >>> round(float(mean_saturation_pressure_kpa(15.0, 24.5)), 2)
    2.39
    """
    return 0.5 * (saturation_pressure_kpa(tmin_c) + saturation_pressure_kpa(tmax_c))


@bounded(temperature_c=AIR_C)
def saturation_slope_kpa_per_c(temperature_c: Values) -> Values:
    """Slope of the saturation pressure curve [kPa/C].

    How much more vapour air can hold when it gets one degree warmer.
    Over water, about -40 to 50 C.

    Parameters
    ----------
    temperature_c : float or array
        Mean air temperature [C]

    Returns
    -------
    float or array
        Slope [kPa/C]

    Notes
    -----
    slope = 4098 e0(T) / (T + 237.3)^2, T [C].

    References
    ----------
    Allen et al. 1998, FAO-56, equation 13 (as given in quotations).

    Examples
    --------
    >>> round(float(saturation_slope_kpa_per_c(30.2)), 3)
    0.246
    """
    return 4098.0 * saturation_pressure_kpa(temperature_c) / (temperature_c + 237.3) ** 2


@bounded(
    ("tmin_c", "tmax_c"),
    ("humidity_min", "humidity_max"),
    tmin_c=AIR_C,
    tmax_c=AIR_C,
    humidity_min=HUMIDITY,
    humidity_max=HUMIDITY,
)
def vapour_pressure_from_extremes_kpa(
    tmin_c: Values, tmax_c: Values, humidity_min: Values, humidity_max: Values
) -> Values:
    """Actual vapour pressure from the day's lowest and highest humidity [kPa].

    The vapour really in the air. The best of the humidity methods.
    Humidity sensors drift: an error of 5 % in humidity is about 5 % here.

    Parameters
    ----------
    tmin_c, tmax_c : float or array
        Lowest and highest temperature of the day [C]
    humidity_min, humidity_max : float or array
        Lowest and highest relative humidity of the day, 0 to 1 [-]

    Returns
    -------
    float or array
        Actual vapour pressure [kPa]

    Notes
    -----
    ea = (e0(Tmin) RHmax + e0(Tmax) RHmin) / 2: it is dampest when it is coolest.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 17 (as given in quotations).

    Examples
    --------
    >>> round(float(vapour_pressure_from_extremes_kpa(18.0, 25.0, 0.54, 0.82)), 2)
    1.7
    """
    coolest = saturation_pressure_kpa(tmin_c) * humidity_max
    warmest = saturation_pressure_kpa(tmax_c) * humidity_min
    return 0.5 * (coolest + warmest)


@bounded(("tmin_c", "tmax_c"), tmin_c=AIR_C, tmax_c=AIR_C, humidity=HUMIDITY)
def vapour_pressure_from_mean_kpa(tmin_c: Values, tmax_c: Values, humidity: Values) -> Values:
    """Actual vapour pressure from the day's mean humidity [kPa].

    The vapour really in the air, where only one humidity a day is known.
    Less sure than the method with the day's lowest and highest humidity.

    Parameters
    ----------
    tmin_c, tmax_c : float or array
        Lowest and highest temperature of the day [C]
    humidity : float or array
        Mean relative humidity of the day, 0 to 1 [-]

    Returns
    -------
    float or array
        Actual vapour pressure [kPa]

    Notes
    -----
    ea = RHmean (e0(Tmax) + e0(Tmin)) / 2.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 19 (as given in quotations).

    Examples
    --------
    >>> round(float(vapour_pressure_from_mean_kpa(18.0, 25.0, 0.68)), 2)
    1.78
    """
    return humidity * mean_saturation_pressure_kpa(tmin_c, tmax_c)
