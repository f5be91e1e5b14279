"""Weather read from a CSV file: daily or finer, checked, with gaps filled as asked."""

from __future__ import annotations

import difflib
from os import PathLike
from typing import TYPE_CHECKING

from hydroloop.weather.arrays import Array
from hydroloop.weather.calendar import Date
from hydroloop.weather.columns import wanted_columns
from hydroloop.weather.csv_text import TextTable
from hydroloop.weather.header import Heading
from hydroloop.weather.measured import read_measured
from hydroloop.weather.problems import TableProblems
from hydroloop.weather.series import WeatherSeries

if TYPE_CHECKING:
    import xarray as xr

_QUANTITIES = {"rain", "temperature", "humidity", "wind", "sunshine", "radiation"}
_EXAMPLES = {"rain_mm": "rain [mm]", "tmin_c": "tmin [C]", "tmax_c": "tmax [C]"}


def read_weather(
    path: str | PathLike[str],
    *,
    start: Date | None = None,
    end: Date | None = None,
    gaps: str = "refuse",
) -> xr.Dataset:
    """Weather of a CSV file.

    Rain and temperature on the file's own steps, and humidity, wind and sunshine where it has them.
    As good as the record: nothing is corrected, and gaps are filled only when asked.

    Parameters
    ----------
    path : path
        CSV file: a date column, rain, tmin and tmax, each heading with its unit
    start, end : str, date or datetime64, optional
        First and last day wanted; none: the days that the file has
    gaps : {"refuse", "interpolate", "carry", "dry"}
        What to do where there is no value

    Returns
    -------
    Dataset (time)
        rain_mm, tmin_c, tmax_c, tmean_c and what else there is, with units; attrs say the source
        and how many steps were filled

    Raises
    ------
    TableError
        The file has problems, all told at once, or does not reach over the days wanted.
    InputError
        start or end is not a date.

    Notes
    -----
    A table finer than daily may have one temperature column instead of tmin and tmax.

    Examples
    --------
    >>> import pathlib, tempfile
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "weather.csv"
    >>> _ = path.write_text("date,rain [in],tmin_f,tmax_f\\n2031-05-01,1,50,68\\n")
    >>> weather = read_weather(path)
    >>> round(float(weather.rain_mm[0]), 1), round(float(weather.tmax_c[0]), 1)
    (25.4, 20.0)
    """
    return read_weather_series(path, start=start, end=end, gaps=gaps).dataset()


def read_weather_series(
    path: str | PathLike[str],
    *,
    start: Date | None = None,
    end: Date | None = None,
    gaps: str = "refuse",
) -> WeatherSeries:
    """What `read_weather` returns, before it is labelled: columns on the file's own steps."""
    series = read_measured(path, _choose, start=start, end=end, gaps=gaps)
    if "tmin_c" not in series.columns and series.per_day == 1:
        problems = TableProblems(str(series.said["source"]).removeprefix("file "))
        what = "a daily table needs tmin and tmax; the mean alone does not do."
        raise problems.stop(0, what, f'Add "{_EXAMPLES["tmin_c"]}" and "{_EXAMPLES["tmax_c"]}".')
    return WeatherSeries(
        series.first, series.per_day, _with_temperatures(dict(series.columns)), series.said
    )


def _choose(table: TextTable, headings: list[Heading], problems: TableProblems) -> dict[str, int]:
    """Places of the weather columns; notes those that are needed and are not there."""
    places = wanted_columns(table, headings, problems, _QUANTITIES)
    for name in ("rain_mm", "tmin_c", "tmax_c"):
        if name in places or (
            name != "rain_mm"
            and set(places) & {"tmean_c"}
            and not set(places) & {"tmin_c", "tmax_c"}
        ):
            continue
        label = _EXAMPLES[name].partition(" ")[0]
        unknown = [heading.text for heading in headings if not heading.quantity]
        near = difflib.get_close_matches(label, [text.lower() for text in unknown], n=1, cutoff=0.5)
        hint = f' Is it "{near[0]}"?' if near else ""
        what = f"there is no column for {label}.{hint}"
        problems.add(table.heading_line, what, f'Call it for example "{_EXAMPLES[name]}".')
    return places


def _with_temperatures(columns: dict[str, Array]) -> dict[str, Array]:
    """Lowest, highest and mean temperature, whichever of them the table has."""
    if "tmin_c" not in columns:
        columns["tmin_c"] = columns["tmax_c"] = columns["tmean_c"]
    if "tmean_c" not in columns:
        columns["tmean_c"] = 0.5 * (columns["tmin_c"] + columns["tmax_c"])
    return columns
