"""A measured series read from a CSV file: what weather and river flow have in common."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import lru_cache
from os import PathLike
from pathlib import Path
from typing import TypeAlias, TypeVar, cast

import numpy as np

from hydroloop.weather.arrays import Array, Days
from hydroloop.weather.calendar import Date, season_days
from hydroloop.weather.cells import read_dates
from hydroloop.weather.columns import column_values, date_column, headings_of, per_step
from hydroloop.weather.csv_text import TextTable, read_table
from hydroloop.weather.grid import GAP_RULES, Grid, check_order, fill_gaps, grid_of
from hydroloop.weather.header import Heading
from hydroloop.weather.problems import TableProblems
from hydroloop.weather.series import WeatherSeries

_Read = TypeVar("_Read")
Choose: TypeAlias = Callable[[TextTable, list[Heading], TableProblems], dict[str, int]]


def read_measured(
    path: str | PathLike[str],
    choose: Choose,
    *,
    start: Date | None = None,
    end: Date | None = None,
    gaps: str = "refuse",
    rules: tuple[str, ...] = GAP_RULES,
) -> WeatherSeries:
    """Measured columns on an even grid of steps. Reads, checks and fills; everything that is wrong
    is told at once. As good as the record: nothing is corrected."""
    read = _kept(path)
    table, problems = read.table, TableProblems(read.table.file)
    if gaps not in rules:
        what = f'gaps = "{gaps}" is not known; there are {", ".join(rules)}.'
        problems.add(0, what, "Choose one of them.")
    headings = headings_of(table)
    dates = date_column(table, headings, problems)
    places = choose(table, headings, problems)
    values = read.values(headings, places, problems)
    grid, rows = _grid(read, dates, problems, _reach(start, end))
    if grid is None or not values or gaps not in rules:
        raise problems.error()
    values = per_step(values, headings, places, 1.0 / grid.per_day)
    on_grid = {name: grid.placed(column[rows]) for name, column in values.items()}
    on_grid, filled = fill_gaps(on_grid, grid, gaps, problems)
    problems.stop_if_any()
    said: dict[str, str | int] = {
        "source": f"file {table.file}",
        "gaps": gaps,
        "filled_steps": filled,
    }
    return WeatherSeries(grid.first, grid.per_day, on_grid, said)


class _ReadTable:
    """A table, and what was read in it without a problem: a season asks for it more than once."""

    def __init__(self, table: TextTable):
        self.table = table
        self._found: dict[Hashable, object] = {}

    def dates(self, place: int, problems: TableProblems) -> Days:
        """Instants of the rows, as datetime64[s]."""
        table = self.table
        return self._once(
            place, problems, lambda: read_dates(table.column(place), table.lines, problems)
        )

    def values(
        self, headings: list[Heading], places: dict[str, int], problems: TableProblems
    ) -> dict[str, Array]:
        """Numbers of some columns, as `column_values` reads them."""
        return self._once(
            tuple(places.items()),
            problems,
            lambda: column_values(self.table, headings, places, problems),
        )

    def _once(self, key: Hashable, problems: TableProblems, read: Callable[[], _Read]) -> _Read:
        if key in self._found:
            return cast("_Read", self._found[key])
        before = problems.count
        made = read()
        if problems.count == before:
            self._found[key] = made
        return made


def _kept(path: str | PathLike[str]) -> _ReadTable:
    """The table of a file; the last few are kept."""
    try:
        of_file = Path(path).stat()
    except (OSError, ValueError):  # no file of that name
        return _ReadTable(read_table(path))
    return _table_of(str(path), of_file.st_mtime_ns, of_file.st_size)


@lru_cache(maxsize=4)
def _table_of(path: str, changed_ns: int, size: int) -> _ReadTable:
    return _ReadTable(read_table(path))


def _reach(start: Date | None, end: Date | None) -> tuple[np.datetime64 | None, ...]:
    if start is not None and end is not None:
        days = season_days(start, end)
        return days[0], days[-1]
    return tuple(None if day is None else season_days(day, day)[0] for day in (start, end))


def _grid(
    read: _ReadTable,
    dates: int,
    problems: TableProblems,
    reach: tuple[np.datetime64 | None, ...],
) -> tuple[Grid | None, np.ndarray]:
    """The grid, and the rows that are set on it: all but repeated dates, which are a problem."""
    lines = read.table.lines
    everything = np.arange(len(lines))
    if dates < 0:
        return None, everything
    instants = read.dates(dates, problems)
    if np.isnat(instants).any():
        return None, everything
    steps = np.diff(instants).astype(int)
    if (steps > 0).all():
        return grid_of(instants, lines, problems, start=reach[0], end=reach[1]), everything
    check_order(instants, lines, problems)
    if (steps < 0).any():
        return None, everything
    rows = np.flatnonzero(np.concatenate(([True], steps > 0)))
    kept = [lines[row] for row in rows]
    return grid_of(instants[rows], kept, problems, start=reach[0], end=reach[1]), rows
