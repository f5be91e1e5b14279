"""Weather of a season, from a file or invented, with evaporation, on the steps of a simulation."""

from __future__ import annotations

from os import PathLike
from typing import TYPE_CHECKING, NamedTuple

from hydroloop.bounds import bound_of
from hydroloop.errors import InputError, Problem
from hydroloop.weather.arrays import Array, Days
from hydroloop.weather.calendar import Date, day_of_year, season_days, steps_per_day
from hydroloop.weather.climates import climate_named
from hydroloop.weather.generator import generate_weather
from hydroloop.weather.reference import Site, open_water_evaporation, reference_evaporation
from hydroloop.weather.series import WeatherSeries
from hydroloop.weather.steps import columns_on_steps
from hydroloop.weather.weather_file import read_weather_series

if TYPE_CHECKING:
    import xarray as xr

_RETURNED = ("rain_mm", "tmin_c", "tmax_c", "tmean_c", "et0_mm", "open_water_mm")


def weather_for(
    start: Date,
    end: Date,
    step_days: float,
    *,
    latitude_deg: float,
    elevation_m: float,
    file: str | PathLike[str] | None = None,
    gaps: str = "refuse",
    source_days: Days | None = None,
    climate: str = "wet_winter",
    seed: int = 1,
    wind_m_per_s: float | None = None,
    rain_scale: float = 1.0,
    warmer_by_c: float = 0.0,
) -> xr.Dataset:
    """Weather of a season.

    Rain, temperature and evaporation on every step, from a file or from the seeded generator.
    Invented weather is like a place's weather, but it is no forecast and no record.

    Parameters
    ----------
    start, end : str, date or datetime64
        First and last day, the last included
    step_days : float
        Length of a step, from an hour to a day, a whole number of them in a day [d]
    latitude_deg : float
        Latitude, south negative; in the south the climates are turned by half a year [deg]
    elevation_m : float
        Height above the sea [m]
    file : path, optional
        CSV file with daily or finer weather; none: the generator
    gaps : {"refuse", "interpolate", "carry", "dry"}
        What to do where the file has no value
    source_days : array (day), optional
        Day of the file that serves each day of the season, as datetime64[D]; none: the day itself
    climate : str
        Climate that the generator draws from
    seed : int
        Same seed, same weather [-]
    wind_m_per_s : float, optional
        Wind at 2 m where the file has none [m/s]
    rain_scale : float
        Factor on all rain, for a what-if [-]
    warmer_by_c : float
        Added to all temperatures before evaporation is worked out, for a what-if [C]

    Returns
    -------
    Dataset (time)
        rain_mm, et0_mm, open_water_mm per step [mm], tmin_c, tmax_c, tmean_c [C]; attrs say the
        source and the evaporation methods

    Raises
    ------
    InputError
        A date, step, place, scale or seed that cannot be.
    AskError
        There is no such climate.
    TableError
        The file has problems, or does not reach over the season.

    Notes
    -----
    Evaporation is worked out by the day and then follows the sun; see `reference_evaporation`
    and `open_water_evaporation`. Hours made from days have no cloudbursts and no fronts: rain is
    even over the day, and temperature runs smoothly from the night's lowest to the day's highest.

    Examples
    --------
    >>> season = weather_for("2031-05-01", "2031-09-30", 1.0, latitude_deg=45, elevation_m=100)
    >>> season.sizes["time"], season.attrs["source"]
    (153, 'generated, seed 1, climate wet_winter')
    """
    given = Given(
        latitude_deg, elevation_m, file, gaps, climate, seed, wind_m_per_s, rain_scale, warmer_by_c
    )
    return season_series(start, end, step_days, given, source_days).dataset()


class Given(NamedTuple):
    """What `weather_for` is given of a place, its weather and its what-ifs."""

    latitude_deg: float
    elevation_m: float
    file: str | PathLike[str] | None
    gaps: str
    climate: str
    seed: int
    wind_m_per_s: float | None
    rain_scale: float
    warmer_by_c: float


def season_series(
    start: Date, end: Date, step_days: float, given: Given, source_days: Days | None = None
) -> WeatherSeries:
    """What `weather_for` returns, before it is labelled."""
    latitude_deg = given.latitude_deg
    _check(given)
    days, per_day = season_days(start, end), steps_per_day(step_days)
    if given.file is None:
        series = _generated(given.climate, days, given.seed, southern=latitude_deg < 0)
    else:
        reach = days if source_days is None else source_days
        series = read_weather_series(
            given.file, start=reach.min(), end=reach.max(), gaps=given.gaps
        )
        series = series.serving(days[0], reach)
    series = _changed(series, given.rain_scale, given.warmer_by_c)
    daily = series.on_grid(1)
    site = Site(latitude_deg, given.elevation_m, given.wind_m_per_s)
    et0 = reference_evaporation(daily, day_of_year(days), site)
    water = open_water_evaporation(daily, day_of_year(days), site)
    daily |= {"et0_mm": et0.depth_mm, "open_water_mm": water.depth_mm}
    columns = _on_season_steps(daily, days, per_day, latitude_deg)
    if series.per_day > 1 and per_day > 1:
        columns |= series.on_grid(per_day)  # what was measured finer than daily stays as it was
    methods = {"et0_method": et0.method, "open_water_method": water.method}
    kept = {name: columns[name] for name in _RETURNED}
    return WeatherSeries(days[0], per_day, kept, {**series.said, **methods})


def _on_season_steps(
    daily: dict[str, Array], days: Days, per_day: int, latitude_deg: float
) -> dict[str, Array]:
    if "tmean_c" not in daily:
        daily["tmean_c"] = 0.5 * (daily["tmin_c"] + daily["tmax_c"])
    return columns_on_steps(daily, days, per_day, latitude_deg)


def _generated(name: str, days: Days, seed: int, *, southern: bool) -> WeatherSeries:
    climate = climate_named(name)
    turned = ", turned by half a year" if southern else ""
    columns = generate_weather(climate.other_hemisphere() if southern else climate, days, seed)
    said = {"source": f"generated, seed {seed}, climate {name}{turned}", "climate": climate.source}
    return WeatherSeries(days[0], 1, columns, said)


def _changed(series: WeatherSeries, rain_scale: float, warmer_by_c: float) -> WeatherSeries:
    """The series with the what-ifs applied, and named in what it says."""
    if rain_scale == 1.0 and warmer_by_c == 0.0:
        return series
    columns = {
        name: values * rain_scale
        if name == "rain_mm"
        else values + warmer_by_c
        if name in ("tmin_c", "tmax_c", "tmean_c")
        else values
        for name, values in series.columns.items()
    }
    source = f"{series.said['source']}; rain times {rain_scale:g}, warmer by {warmer_by_c:g} C"
    return WeatherSeries(series.first, series.per_day, columns, {**series.said, "source": source})


def _check(sought: Given) -> None:
    given = (
        ("latitude", sought.latitude_deg, "angle"),
        ("elevation", sought.elevation_m, "elevation"),
        ("wind", sought.wind_m_per_s or 0.0, "speed"),
        ("rain_scale", sought.rain_scale, ""),
        ("warmer_by", sought.warmer_by_c, ""),
    )
    problems = []
    for key, value, dimension in given:
        bound = bound_of(("weather", key), dimension)
        if bound and not bound.holds(value, value):
            problems.append(
                Problem(
                    "weather",
                    f"{value:g} is out of bounds.",
                    f"Give {bound.words(dimension)}.",
                    key,
                )
            )
    if problems:
        raise InputError(problems)
