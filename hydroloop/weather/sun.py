"""The sun's path, and the energy that reaches the top of the air, by latitude and day.

Day of the year counts from 1; latitude is north positive, in degrees.
"""

from __future__ import annotations

import math

import numpy as np

from hydroloop.arguments import bounded
from hydroloop.weather.arrays import ANGLE, DAY, LATITUDE, Values

SOLAR_CONSTANT = 0.0820  # MJ/m2/min, FAO-56 equation 21
_YEAR = 2.0 * math.pi / 365.0


@bounded(day_of_year=DAY)
def inverse_distance(day_of_year: Values) -> Values:
    """Inverse relative distance of the sun [-].

    Above one in January, when the earth is nearest to the sun.
    Leap days are ignored: the error is far below one part in a thousand.

    Parameters
    ----------
    day_of_year : int or array
        Day of the year, from 1 [d]

    Returns
    -------
    float or array
        Square of the mean distance over the square of the day's distance [-]

    Notes
    -----
    dr = 1 + 0.033 cos(2 pi J / 365).

    References
    ----------
    Allen et al. 1998, FAO-56, equation 23 (as given in quotations).

    Examples
    --------
    >>> round(float(inverse_distance(246)), 3)
    0.985
    """
    return 1.0 + 0.033 * np.cos(_YEAR * day_of_year)


@bounded(day_of_year=DAY)
def declination_rad(day_of_year: Values) -> Values:
    """Solar declination [rad].

    How far north of the equator the sun stands at noon: it makes the seasons.
    Good to about half a degree.

    Parameters
    ----------
    day_of_year : int or array
        Day of the year, from 1 [d]

    Returns
    -------
    float or array
        Declination [rad]

    Notes
    -----
    delta = 0.409 sin(2 pi J / 365 - 1.39).

    References
    ----------
    Allen et al. 1998, FAO-56, equation 24 (as given in quotations).

    Examples
    --------
    >>> round(float(declination_rad(246)), 3)
    0.12
    """
    return 0.409 * np.sin(_YEAR * day_of_year - 1.39)


@bounded(latitude_deg=LATITUDE, day_of_year=DAY)
def sunset_angle_rad(latitude_deg: Values, day_of_year: Values) -> Values:
    """Sunset hour angle [rad].

    Half of the day's arc: pi is a day without night, 0 a day without sun.
    A flat horizon is assumed: valleys see less.

    Parameters
    ----------
    latitude_deg : float or array
        Latitude, south negative [deg]
    day_of_year : int or array
        Day of the year, from 1 [d]

    Returns
    -------
    float or array
        Sunset hour angle [rad]

    Notes
    -----
    ws = arccos(-tan(phi) tan(delta)); beyond the polar circles it stays at 0 or pi.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 25 (as given in quotations).

    Examples
    --------
    >>> round(float(sunset_angle_rad(-20, 246)), 3)
    1.527
    """
    cosine = -np.tan(np.radians(latitude_deg)) * np.tan(declination_rad(day_of_year))
    return np.arccos(np.clip(cosine, -1.0, 1.0))


@bounded(latitude_deg=LATITUDE, day_of_year=DAY)
def day_length_h(latitude_deg: Values, day_of_year: Values) -> Values:
    """Daylight hours [h].

    Time from sunrise to sunset.
    Without twilight and without the bending of light, which add about ten minutes.

    Parameters
    ----------
    latitude_deg : float or array
        Latitude, south negative [deg]
    day_of_year : int or array
        Day of the year, from 1 [d]

    Returns
    -------
    float or array
        Day length [h]

    Notes
    -----
    N = 24 ws / pi.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 34 (as given in quotations).

    Examples
    --------
    >>> round(float(day_length_h(0, 15)), 1)
    12.0
    """
    return 24.0 / math.pi * sunset_angle_rad(latitude_deg, day_of_year)


@bounded(
    ("start_rad", "end_rad"),
    latitude_deg=LATITUDE,
    day_of_year=DAY,
    start_rad=ANGLE,
    end_rad=ANGLE,
)
def radiation_between_mj_per_m2(
    latitude_deg: Values, day_of_year: Values, start_rad: Values, end_rad: Values
) -> Values:
    """Sun's energy above the air between two hours [MJ/m2].

    What would reach level ground if there were no air.
    Time of night counts as zero. The hour angle is solar time: noon is 0, a hour is pi / 12.

    Parameters
    ----------
    latitude_deg : float or array
        Latitude, south negative [deg]
    day_of_year : int or array
        Day of the year, from 1 [d]
    start_rad, end_rad : float or array
        Hour angle of the sun at the beginning and the end, -pi to pi [rad]

    Returns
    -------
    float or array
        Energy on a level plane above the air [MJ/m2]

    Notes
    -----
    Ra = (12 60 / pi) Gsc dr ((w2 - w1) sin(phi) sin(delta) + cos(phi) cos(delta) (sin w2 -
    sin w1)), with w1 and w2 cut to the time between sunrise and sunset.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 28 (as given in quotations).

    Examples
    --------
    >>> morning = radiation_between_mj_per_m2(-20, 246, -np.pi, 0.0)
    >>> round(float(morning), 1)
    16.1
    """
    latitude, declination = np.radians(latitude_deg), declination_rad(day_of_year)
    sunset = sunset_angle_rad(latitude_deg, day_of_year)
    begin, end = np.clip(start_rad, -sunset, sunset), np.clip(end_rad, -sunset, sunset)
    level = (end - begin) * np.sin(latitude) * np.sin(declination)
    turning = np.cos(latitude) * np.cos(declination) * (np.sin(end) - np.sin(begin))
    energy = 720.0 / math.pi * SOLAR_CONSTANT * inverse_distance(day_of_year) * (level + turning)
    return np.maximum(energy, 0.0)


@bounded(latitude_deg=LATITUDE, day_of_year=DAY)
def extraterrestrial_radiation_mj_per_m2(latitude_deg: Values, day_of_year: Values) -> Values:
    """Sun's energy above the air in a day [MJ/m2/d].

    The most that could reach level ground, were there no air.
    It knows nothing of clouds, hills or haze.

    Parameters
    ----------
    latitude_deg : float or array
        Latitude, south negative [deg]
    day_of_year : int or array
        Day of the year, from 1 [d]

    Returns
    -------
    float or array
        Extraterrestrial radiation [MJ/m2/d]

    Notes
    -----
    Ra = (24 60 / pi) Gsc dr (ws sin(phi) sin(delta) + cos(phi) cos(delta) sin(ws)).

    References
    ----------
    Allen et al. 1998, FAO-56, equation 21 (as given in quotations).

    Examples
    --------
    >>> round(float(extraterrestrial_radiation_mj_per_m2(-20, 246)), 1)
    32.2
    """
    return radiation_between_mj_per_m2(latitude_deg, day_of_year, -math.pi, math.pi)
