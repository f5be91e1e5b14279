"""Which evaporation equation the data allow, and its answer for grass and for open water."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from hydroloop.arguments import SHARE, bounded, check
from hydroloop.errors import AskError, Problem
from hydroloop.weather import evaporation, radiation, sun, vapour
from hydroloop.weather.arrays import (
    AIR_C,
    DAY,
    ELEVATION_M,
    HOURS,
    HUMIDITY,
    LATITUDE,
    SUN_MJ,
    WIND,
    Values,
)

# FAO-56 Table 12, crop coefficient of shallow open water (from memory).
OPEN_WATER_FACTOR = 1.05
PENMAN_MONTEITH = "FAO-56 Penman-Monteith"
HARGREAVES_SAMANI = "Hargreaves-Samani 1985 (temperature only)"
PENMAN = "Penman 1948/56 open water"
FACTOR_ON_GRASS = f"{OPEN_WATER_FACTOR} times reference evaporation"


_OF_SITE = {"latitude_deg": LATITUDE, "elevation_m": ELEVATION_M, "wind_m_per_s": WIND}
_OF_WEATHER = {
    "tmin_c": AIR_C,
    "tmax_c": AIR_C,
    "humidity": HUMIDITY,
    "humidity_min": HUMIDITY,
    "humidity_max": HUMIDITY,
    "wind_m_per_s": WIND,
    "radiation_mj_per_m2": SUN_MJ,
    "sunshine_h": HOURS,
}
_RISING = (("tmin_c", "tmax_c"), ("humidity_min", "humidity_max"))


class Evaporation(NamedTuple):
    """A depth of evaporation, and the equation that it comes from."""

    depth_mm: Values
    method: str


@dataclass(frozen=True)
class Site:
    """Where the weather is measured or made.

    Attributes
    ----------
    latitude_deg : float
        Latitude, south negative [deg]
    elevation_m : float
        Height above the sea [m]
    wind_m_per_s : float or None
        Wind at 2 m, used where the weather itself has none [m/s]
    """

    latitude_deg: float
    elevation_m: float
    wind_m_per_s: float | None = None

    def __post_init__(self) -> None:
        given = {name: value for name, value in vars(self).items() if value is not None}
        check("Site", given, _OF_SITE, single=_OF_SITE)


@bounded(day_of_year=DAY)
def reference_evaporation(
    weather: Mapping[str, Values], day_of_year: Values, site: Site
) -> Evaporation:
    """Reference evaporation [mm/d].

    What a well-watered lawn gives to the air, by the best equation that the data allow.
    Penman-Monteith needs humidity, wind, and sunshine or radiation; else temperature must do.

    Parameters
    ----------
    weather : mapping of arrays (time)
        tmin_c, tmax_c [C]; if known humidity_min and humidity_max, or humidity [-], wind_m_per_s at
        2 m [m/s], radiation_mj_per_m2 [MJ/m2/d] or sunshine_h [h]
    day_of_year : int or array (time)
        Day of the year, from 1 [d]
    site : Site
        Latitude, height and the wind to use where the weather has none

    Returns
    -------
    Evaporation
        Depth (time) [mm/d], and the name of the equation used

    Raises
    ------
    AskError
        A value is out of its bounds, or what is needed is not there.

    Notes
    -----
    The heat that goes into the ground is zero over a day (FAO-56 equation 42).

    References
    ----------
    Allen et al. 1998, FAO-56, equations 6 and 52 (as given in quotations).

    Examples
    --------
    >>> warm = {"tmin_c": 14.8, "tmax_c": 26.6}
    >>> depth, method = reference_evaporation(warm, 196, Site(45.72, 200.0))
    >>> round(float(depth), 1), method
    (5.0, 'Hargreaves-Samani 1985 (temperature only)')
    """
    weather = _checked("reference_evaporation", weather, day_of_year)
    tmin, tmax = weather["tmin_c"], weather["tmax_c"]
    if not _has_energy_and_vapour(weather, site):
        above = sun.extraterrestrial_radiation_mj_per_m2(site.latitude_deg, day_of_year)
        return Evaporation(evaporation.hargreaves_samani_mm(tmin, tmax, above), HARGREAVES_SAMANI)
    energy = net_radiation_mj_per_m2(weather, day_of_year, site, albedo=radiation.GRASS_ALBEDO)
    depth = evaporation.penman_monteith_mm(energy, *_air(weather, site))
    return Evaporation(depth, PENMAN_MONTEITH)


@bounded(day_of_year=DAY)
def open_water_evaporation(
    weather: Mapping[str, Values], day_of_year: Values, site: Site
) -> Evaporation:
    """Evaporation of rivers and reservoirs [mm/d].

    What a shallow water surface gives to the air, by the best equation that the data allow.
    Deep reservoirs warm and cool weeks later than this says.

    Parameters
    ----------
    weather : mapping of arrays (time)
        As in `reference_evaporation`
    day_of_year : int or array (time)
        Day of the year, from 1 [d]
    site : Site
        Latitude, height and the wind to use where the weather has none

    Returns
    -------
    Evaporation
        Depth (time) [mm/d], and the name of the equation used

    Raises
    ------
    AskError
        A value is out of its bounds, or what is needed is not there.

    Notes
    -----
    Penman 1948/56 with albedo 0.08; without humidity, wind and sunshine 1.05 times the reference
    evaporation.

    References
    ----------
    Penman 1948, 1956, as in McMahon et al. 2013; factor: Allen et al. 1998, FAO-56, Table 12, open
    water less than 2 m deep or in a cool or humid climate (from memory).

    Examples
    --------
    >>> warm = {"tmin_c": 14.8, "tmax_c": 26.6}
    >>> depth, method = open_water_evaporation(warm, 196, Site(45.72, 200.0))
    >>> round(float(depth), 1), method
    (5.3, '1.05 times reference evaporation')
    """
    weather = _checked("open_water_evaporation", weather, day_of_year)
    if not _has_energy_and_vapour(weather, site):
        depth = reference_evaporation(weather, day_of_year, site).depth_mm
        return Evaporation(OPEN_WATER_FACTOR * depth, FACTOR_ON_GRASS)
    energy = net_radiation_mj_per_m2(weather, day_of_year, site, albedo=radiation.WATER_ALBEDO)
    depth = evaporation.penman_open_water_mm(energy, *_air(weather, site))
    return Evaporation(depth, PENMAN)


@bounded(day_of_year=DAY, albedo=SHARE)
def net_radiation_mj_per_m2(
    weather: Mapping[str, Values],
    day_of_year: Values,
    site: Site,
    *,
    albedo: float = radiation.GRASS_ALBEDO,
) -> Values:
    """Net radiation [MJ/m2/d].

    The energy that is left at the surface for evaporation and for warming the air.
    As good as the sunshine data; the longwave part is a fit.

    Parameters
    ----------
    weather : mapping of arrays (time)
        As in `reference_evaporation`, with humidity, and with radiation or sunshine
    day_of_year : int or array (time)
        Day of the year, from 1 [d]
    site : Site
        Latitude and height
    albedo : float
        Share of sunlight that is thrown back [-]

    Returns
    -------
    float or array (time)
        Net radiation [MJ/m2/d]

    Raises
    ------
    AskError
        A value is out of its bounds, or what is needed is not there.

    Notes
    -----
    Rn = (1 - albedo) Rs - Rnl.

    References
    ----------
    Allen et al. 1998, FAO-56, equation 40 (as given in quotations).

    Examples
    --------
    >>> april = {"tmin_c": 25.6, "tmax_c": 34.8, "humidity": 0.645, "sunshine_h": 8.5}
    >>> round(float(net_radiation_mj_per_m2(april, 105, Site(13.733, 2.0))), 1)
    14.3
    """
    weather = _checked("net_radiation_mj_per_m2", weather, day_of_year)
    if not _is_humid(weather) or not _is_bright(weather):
        raise AskError(
            Problem(
                "weather",
                "it lacks humidity, or both radiation and sunshine.",
                "Give humidity, and radiation_mj_per_m2 or sunshine_h.",
            )
        )
    above = sun.extraterrestrial_radiation_mj_per_m2(site.latitude_deg, day_of_year)
    clear = radiation.clear_sky_radiation_mj_per_m2(above, site.elevation_m)
    if "radiation_mj_per_m2" in weather:
        arriving = weather["radiation_mj_per_m2"]
    else:
        daylight = sun.day_length_h(site.latitude_deg, day_of_year)
        arriving = radiation.radiation_from_sunshine_mj_per_m2(
            above, weather["sunshine_h"], daylight
        )
    lost = radiation.net_longwave_mj_per_m2(
        weather["tmin_c"],
        weather["tmax_c"],
        vapour_pressure_kpa(weather),
        radiation.relative_shortwave(arriving, clear),
    )
    return radiation.net_shortwave_mj_per_m2(arriving, albedo) - lost


@bounded()
def vapour_pressure_kpa(weather: Mapping[str, Values]) -> Values:
    """Actual vapour pressure by the best humidity data there are [kPa].

    The vapour really in the air: from the day's lowest and highest humidity, else from the mean.
    As good as the humidity sensor.

    Parameters
    ----------
    weather : mapping of arrays (time)
        tmin_c, tmax_c [C], and humidity_min with humidity_max, or humidity [-]

    Returns
    -------
    float or array (time)
        Actual vapour pressure [kPa]

    Raises
    ------
    AskError
        A value is out of its bounds, or what is needed is not there.

    Examples
    --------
    >>> day = {"tmin_c": 18.0, "tmax_c": 25.0, "humidity": 0.68}
    >>> round(float(vapour_pressure_kpa(day)), 2)
    1.78
    """
    weather = _checked("vapour_pressure_kpa", weather)
    tmin, tmax = weather["tmin_c"], weather["tmax_c"]
    if not _is_humid(weather):
        raise AskError(
            Problem(
                "weather", "it has no humidity.", "Give humidity, or humidity_min and humidity_max."
            )
        )
    if "humidity_min" in weather and "humidity_max" in weather:
        return vapour.vapour_pressure_from_extremes_kpa(
            tmin, tmax, weather["humidity_min"], weather["humidity_max"]
        )
    return vapour.vapour_pressure_from_mean_kpa(tmin, tmax, weather["humidity"])


def _checked(
    where: str, weather: Mapping[str, Values], day_of_year: Values | None = None
) -> dict[str, Values]:
    """Weather within its bounds, lists made arrays."""
    if not isinstance(weather, Mapping):
        raise AskError(
            Problem(
                where,
                f"weather is {type(weather).__name__}, not a mapping.",
                "Give values by name: tmin_c, tmax_c and what else is known.",
            )
        )
    missing = [name for name in ("tmin_c", "tmax_c") if name not in weather]
    if missing:
        raise AskError(
            [
                Problem(where, f"weather has no {name}.", "Give both temperatures.")
                for name in missing
            ]
        )
    days = {} if day_of_year is None else {"day_of_year": day_of_year}
    arrays = check(where, {**weather, **days}, {**_OF_WEATHER, "day_of_year": DAY}, rising=_RISING)
    arrays.pop("day_of_year", None)
    return {**weather, **arrays}


def _is_humid(weather: Mapping[str, Values]) -> bool:
    return "humidity" in weather or ("humidity_min" in weather and "humidity_max" in weather)


def _is_bright(weather: Mapping[str, Values]) -> bool:
    return "radiation_mj_per_m2" in weather or "sunshine_h" in weather


def _has_energy_and_vapour(weather: Mapping[str, Values], site: Site) -> bool:
    humid, bright = _is_humid(weather), _is_bright(weather)
    windy = "wind_m_per_s" in weather or site.wind_m_per_s is not None
    return humid and bright and windy


def _air(weather: Mapping[str, Values], site: Site) -> tuple[Values, Values, Values, Values]:
    """Mean temperature [C], wind [m/s], vapour deficit [kPa] and air pressure [kPa]."""
    tmin, tmax = weather["tmin_c"], weather["tmax_c"]
    wind = weather.get("wind_m_per_s", site.wind_m_per_s)
    deficit = vapour.mean_saturation_pressure_kpa(tmin, tmax) - vapour_pressure_kpa(weather)
    return 0.5 * (tmin + tmax), wind, deficit, vapour.air_pressure_kpa(site.elevation_m)
