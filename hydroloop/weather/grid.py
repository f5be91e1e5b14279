"""Rows of a table set on an even grid of steps, with their gaps found and filled as asked."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hydroloop.weather.arrays import Array, Days
from hydroloop.weather.problems import TableProblems

GAP_RULES = ("refuse", "interpolate", "carry", "dry")
MOST_STEPS = 10_000_000
_DAY_S = 86_400


@dataclass(frozen=True)
class Grid:
    """An even grid of steps over whole days, and the rows that lie on it.

    Attributes
    ----------
    first, last : datetime64[D]
        First and last day.
    per_day : int
        Steps in a day [-]
    slot : array (row)
        Step of each row, -1 for rows outside [-]
    lines : array (row)
        Line of each row in the file [-]
    """

    first: np.datetime64
    last: np.datetime64
    per_day: int
    slot: np.ndarray
    lines: np.ndarray

    @property
    def n_steps(self) -> int:
        """Number of steps [-]."""
        return (int((self.last - self.first).astype(int)) + 1) * self.per_day

    def placed(self, values: Array) -> Array:
        """Values of rows on the grid, NaN where there is no row (time)."""
        on_grid = np.full(self.n_steps, np.nan)
        on_grid[self.slot[self.slot >= 0]] = values[self.slot >= 0]
        return on_grid

    def line(self, step: int) -> int:
        """Line of the row at a step, or of the next row where the step has none [-]."""
        inside = self.slot >= 0
        row = np.searchsorted(self.slot[inside], step)
        return int(self.lines[inside][min(row, inside.sum() - 1)]) if inside.any() else 0

    def when(self, step: int) -> str:
        """Date, and time where steps are shorter than a day, of a step."""
        day = self.first + step // self.per_day
        if self.per_day == 1:
            return str(day)
        seconds = (step % self.per_day) * _DAY_S // self.per_day
        return str(day.astype("datetime64[s]") + seconds)[:16].replace("T", " ")


def check_order(instants: Days, lines: list[int], problems: TableProblems) -> None:
    """Note every date that comes again, or after a later one. Rows must be in order of time, each
    once. Looks at neighbours: one row out of place is told once."""
    steps = np.diff(instants).astype(int)
    for row in problems.first(np.flatnonzero(steps <= 0)):
        now = str(instants[row + 1])[:16].replace("T00:00", "").replace("T", " ")
        if steps[row] == 0:
            problems.add(lines[row + 1], f"{now} comes again.", "Keep one row for each date.")
        else:
            before = str(instants[row])[:16].replace("T00:00", "").replace("T", " ")
            problems.add(lines[row + 1], f"{now} comes after {before}.", "Sort the rows by date.")


def grid_of(
    instants: Days,
    lines: list[int],
    problems: TableProblems,
    *,
    start: np.datetime64 | None = None,
    end: np.datetime64 | None = None,
) -> Grid | None:
    """The grid that a table's rows lie on. Daily where no day has two rows; otherwise the commonest
    distance of two rows, dividing a day. Rows at one time of each day count for that calendar day.
    """
    days = instants.astype("datetime64[D]")
    seconds = _spacing_s(instants, days)
    if seconds > _DAY_S:
        what = f"there is one row in {seconds / _DAY_S:g} days, but daily rows are needed."
        problems.add(0, what, "Use a daily table.")
        return None
    if _DAY_S % seconds:
        what = f"rows {seconds / 60:g} minutes apart do not divide a day into whole steps."
        problems.add(0, what, "Use daily or hourly rows.")
        return None
    first, last = start or days[0], end or days[-1]
    if first < days[0] or last > days[-1]:
        what = (
            f"the table reaches from {days[0]} to {days[-1]}, but {first} to {last} is asked for."
        )
        problems.add(0, what, "Change the season, or add the missing days.")
        return None
    n_steps = (int((last - first).astype(int)) + 1) * (_DAY_S // seconds)
    if n_steps > MOST_STEPS:
        what = f"{first} to {last} has {n_steps} steps of {seconds / 60:g} minutes."
        problems.add(0, what, f"At most {MOST_STEPS} are read: check the dates, or ask for less.")
        return None
    return _placed_rows(instants, lines, problems, (first, last), seconds)


def _placed_rows(
    instants: Days,
    lines: list[int],
    problems: TableProblems,
    reach: tuple[np.datetime64, np.datetime64],
    seconds: int,
) -> Grid | None:
    first, last = reach
    since = (instants - first.astype("datetime64[s]")).astype(np.int64)
    per_day = _DAY_S // seconds
    if per_day > 1:
        off = np.flatnonzero((since - since[0] % seconds) % seconds)
        for row in off:
            what = f"{instants[row]} is not on the table's grid of {seconds / 60:g} minutes."
            problems.add(lines[row], what.replace("T", " "), "Keep rows evenly apart.")
        if len(off):
            return None
    slot = since // seconds
    slot[(slot < 0) | (slot >= (int((last - first).astype(int)) + 1) * per_day)] = -1
    return Grid(first, last, per_day, slot, np.array(lines))


def _spacing_s(instants: Days, days: Days) -> int:
    """Distance of rows [s]; a day where no day has two rows, unless none are a day apart."""
    if len(instants) < 2:
        return _DAY_S
    apart = np.diff(days).astype(int)
    if (apart > 0).all():
        # Two or three rows with a gap between them are still daily rows.
        return (int(apart.min()) if len(apart) > 3 else 1) * _DAY_S
    # With an hour now and then missing, the commonest distance is still the step.
    values, counts = np.unique(np.diff(instants).astype(np.int64), return_counts=True)
    return int(values[counts.argmax()])


def fill_gaps(
    columns: dict[str, Array], grid: Grid, rule: str, problems: TableProblems
) -> tuple[dict[str, Array], int]:
    """Columns without gaps, and how many steps were filled. Fills as the owner of the data says, or
    refuses and names every gap. Filled values are guesses: long gaps make a guess of the season."""
    missing = {name: np.isnan(values) for name, values in columns.items()}
    anywhere = np.logical_or.reduce(list(missing.values()))
    if not anywhere.any():
        return columns, 0
    if rule == "refuse":
        _refuse_gaps(missing, grid, problems)
        return columns, 0
    filled = {}
    for name, values in columns.items():
        if missing[name].all():
            problems.add(0, "the column has no value at all.", "Leave it out.", key=name)
        elif rule == "carry" and missing[name][0]:
            what = f"nothing stands before {grid.when(0)} that could be carried on."
            problems.add(0, what, 'Use gaps = "interpolate".', key=name)
        else:
            filled[name] = _filled(values, missing[name], rule, is_rain=name == "rain_mm")
    return filled, int(anywhere.sum())


def _filled(values: Array, missing: np.ndarray, rule: str, *, is_rain: bool) -> Array:
    if rule == "dry" and is_rain:
        return np.where(missing, 0.0, values)
    place = np.arange(len(values))
    if rule == "carry":
        return values[np.maximum.accumulate(np.where(missing, 0, place))]
    return np.where(missing, np.interp(place, place[~missing], values[~missing]), values)


def _refuse_gaps(missing: dict[str, np.ndarray], grid: Grid, problems: TableProblems) -> None:
    cure = 'Add them, or say how to fill gaps: gaps = "interpolate", "carry" or "dry".'
    everywhere = np.logical_and.reduce(list(missing.values()))
    for first, last in _runs(everywhere):
        what = f"there is no row for {_span(grid, first, last)}."
        problems.add(grid.line(first), what, cure)
    for name, gone in missing.items():
        for first, last in _runs(gone & ~everywhere):
            what = f"there is no value for {_span(grid, first, last)}."
            problems.add(grid.line(first), what, cure, key=name)


def _runs(flags: np.ndarray) -> list[tuple[int, int]]:
    """First and last index of each run of true values."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], flags, [False])).astype(int)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _span(grid: Grid, first: int, last: int) -> str:
    if first == last:
        return grid.when(first)
    unit = "days" if grid.per_day == 1 else "steps"
    return f"{grid.when(first)} to {grid.when(last)} ({last - first + 1} {unit})"
