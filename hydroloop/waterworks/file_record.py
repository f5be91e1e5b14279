"""The whole record that a scenario's files hold: daily rain and daily inflow."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from hydroloop.errors import InputError, Problem, TableError
from hydroloop.scenario import Scenario
from hydroloop.scenario.schema_river import FlowFile
from hydroloop.weather import read_flow, read_weather
from hydroloop.weather.flow_file import read_flow_series
from hydroloop.weather.series import WeatherSeries
from hydroloop.weather.weather_file import read_weather_series


@dataclass(frozen=True)
class FileRecord:
    """Daily rain, and inflow of all files together, on the days that all files have.

    Attributes
    ----------
    first, last : datetime64
        First and last day.
    rain : ndarray of shape (day,) or None
        Rain [mm]; None where the weather is generated.
    flow : ndarray of shape (day,) or None
        Inflow of all rivers that have a file [m3/d]; None where none has.
    """

    first: np.datetime64
    last: np.datetime64
    rain: np.ndarray | None
    flow: np.ndarray | None

    def values(self, by_flow: bool) -> np.ndarray:
        """Flow, or else rain (day)."""
        values = self.flow if by_flow else self.rain
        assert values is not None, "checked when the scenario was read"
        return values


def file_record(scenario: Scenario) -> FileRecord | None:
    """Rain and inflow of all files of a scenario on the days that they share."""
    rain = _rain_of_file(scenario)
    flows = [
        flow_record(scenario, river.inflow)
        for river in scenario.river.values()
        if isinstance(river.inflow, FlowFile)
    ]
    parts = flows if rain is None else [rain, *flows]
    if not parts:
        return None
    first = max(days[0] for days, _ in parts)
    last = min(days[-1] for days, _ in parts)
    if last < first:
        what = "the weather and inflow files have no day in common."
        raise InputError(Problem("dry_season", what, "Give files of the same years."))

    def cut(part: tuple[np.ndarray, np.ndarray]) -> np.ndarray:
        days, values = part
        return values[(days >= first) & (days <= last)]

    return FileRecord(
        first,
        last,
        None if rain is None else cut(rain),
        np.sum([cut(flow) for flow in flows], axis=0) if flows else None,
    )


def record_span(scenario: Scenario) -> tuple[np.datetime64, np.datetime64] | None:
    """First and last day that all files of a scenario have. Where a file has a gap somewhere that
    it may not have, only the season's own days count."""
    try:
        spans = [(series.days[0], series.days[-1]) for series in _series_of_files(scenario)]
    except TableError:
        season = scenario.season
        return np.datetime64(season.start, "D"), np.datetime64(season.end, "D")
    if not spans:
        return None
    return max(first for first, _ in spans), min(last for _, last in spans)


def _series_of_files(scenario: Scenario) -> Iterator[WeatherSeries]:
    """All files of a scenario, whole."""
    folder, weather = Path(scenario.folder), scenario.weather
    if weather.file is not None:
        yield read_weather_series(folder / weather.file, gaps=weather.gaps)
    for river in scenario.river.values():
        given = river.inflow
        if isinstance(given, FlowFile):
            yield read_flow_series(folder / given.file, column=given.column, gaps=given.gaps)


def flow_record(scenario: Scenario, given: FlowFile) -> tuple[np.ndarray, np.ndarray]:
    """Days and daily inflow of a file, whole [m3/d]."""
    table = read_flow(Path(scenario.folder) / given.file, column=given.column, gaps=given.gaps)
    days, by_day = _by_day(table["time"].values, table["flow"].values, table.attrs["step_days"])
    return days, given.scale * by_day.mean(axis=1)


def _rain_of_file(scenario: Scenario) -> tuple[np.ndarray, np.ndarray] | None:
    given = scenario.weather
    if given.file is None:
        return None
    table = read_weather(Path(scenario.folder) / given.file, gaps=given.gaps)
    days, by_day = _by_day(table["time"].values, table["rain_mm"].values, table.attrs["step_days"])
    return days, by_day.sum(axis=1)


def _by_day(
    time: np.ndarray, values: np.ndarray, step_days: float
) -> tuple[np.ndarray, np.ndarray]:
    """Days, and values with the steps of each day in a row."""
    per_day = round(1.0 / step_days)
    return time[::per_day].astype("datetime64[D]"), values.reshape(-1, per_day)
