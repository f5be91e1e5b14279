"""River flow read from a column of a CSV file."""

from __future__ import annotations

import difflib
from os import PathLike
from typing import TYPE_CHECKING

from hydroloop.weather.arrays import Array, Days
from hydroloop.weather.calendar import Date, season_days, steps_per_day
from hydroloop.weather.columns import check_unit
from hydroloop.weather.csv_text import TextTable
from hydroloop.weather.header import Heading
from hydroloop.weather.measured import Choose, read_measured
from hydroloop.weather.problems import TableProblems
from hydroloop.weather.series import WeatherSeries

if TYPE_CHECKING:
    import xarray as xr

FLOW_GAP_RULES = ("refuse", "interpolate", "carry")


def read_flow(
    path: str | PathLike[str],
    *,
    column: str | None = None,
    start: Date | None = None,
    end: Date | None = None,
    gaps: str = "refuse",
) -> xr.Dataset:
    """River flow of a CSV file.

    Mean flow of each of the file's steps, in one unit whatever the file's own.
    As good as the gauge: floods and ice make the largest errors.

    Parameters
    ----------
    path : path
        CSV file: a date column, and flow with its unit in the heading, as "flow [cfs]"
    column : str, optional
        Heading of the column, with or without its unit; none: the only flow column
    start, end : str, date or datetime64, optional
        First and last day wanted; none: the days that the file has
    gaps : {"refuse", "interpolate", "carry"}
        What to do where there is no value

    Returns
    -------
    Dataset (time)
        flow [m3/d]; attrs say the source and how many steps were filled

    Raises
    ------
    TableError
        The file has problems, all told at once, or does not reach over the days wanted.
    InputError
        start or end is not a date.

    Examples
    --------
    >>> import pathlib, tempfile
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "river.csv"
    >>> _ = path.write_text("date,flow [m3/s]\\n2031-05-01,1\\n")
    >>> float(read_flow(path).flow[0])
    86400.0
    """
    return read_flow_series(path, column=column, start=start, end=end, gaps=gaps).dataset()


def flow_for(
    start: Date,
    end: Date,
    step_days: float,
    *,
    file: str | PathLike[str],
    column: str | None = None,
    gaps: str = "refuse",
    source_days: Days | None = None,
) -> Array:
    """River flow of a season [m3/d].

    The flow of a file on the steps of a simulation; each day keeps its volume.
    Hours made from days have no peaks: they repeat the day's mean.

    Parameters
    ----------
    start, end : str, date or datetime64
        First and last day, the last included
    step_days : float
        Length of a step, from an hour to a day [d]
    file : path
        CSV file
    column : str, optional
        Heading of the column; none: the only flow column
    gaps : {"refuse", "interpolate", "carry"}
        What to do where there is no value
    source_days : array (day), optional
        Day of the file that serves each day of the season, as datetime64[D]; none: the day itself

    Returns
    -------
    array (time)
        Flow of each step [m3/d]

    Raises
    ------
    TableError
        The file has problems, or does not reach over the season.
    InputError
        A date or a step that cannot be.

    Examples
    --------
    >>> import pathlib, tempfile
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "river.csv"
    >>> _ = path.write_text("date,flow [m3/s]\\n2031-05-01,1\\n2031-05-02,2\\n")
    >>> flow_for("2031-05-01", "2031-05-02", 0.5, file=path).tolist()
    [86400.0, 86400.0, 172800.0, 172800.0]
    """
    days, per_day = season_days(start, end), steps_per_day(step_days)
    reach = days if source_days is None else source_days
    whole = read_flow_series(file, column=column, start=reach.min(), end=reach.max(), gaps=gaps)
    series = whole.serving(days[0], reach)
    return series.on_grid(per_day)["flow"]


def read_flow_series(
    path: str | PathLike[str],
    *,
    column: str | None = None,
    start: Date | None = None,
    end: Date | None = None,
    gaps: str = "refuse",
) -> WeatherSeries:
    """The same as plain arrays."""
    return read_measured(
        path, _choose(column), start=start, end=end, gaps=gaps, rules=FLOW_GAP_RULES
    )


def _choose(column: str | None) -> Choose:
    def choose(
        table: TextTable, headings: list[Heading], problems: TableProblems
    ) -> dict[str, int]:
        flows = [i for i, heading in enumerate(headings) if heading.quantity == "flow"]
        line = table.heading_line
        if column is not None:
            asked = column.strip().lower()
            flows = [
                i
                for i, heading in enumerate(headings)
                if asked in (heading.text.lower(), heading.label.lower())
            ]
            if not flows:
                problems.add(line, f'there is no column "{column}".', _hint(column, headings))
        elif not flows:
            problems.add(line, "there is no column for flow.", 'Call it for example "flow [m3/s]".')
        if len(flows) > 1:
            labels = ", ".join(f'"{headings[i].label}"' for i in flows)
            problems.add(line, f"there are several flow columns: {labels}.", "Say which column.")
        if not flows:
            return {}
        heading = headings[flows[0]]
        if heading.quantity not in ("flow", ""):
            what = f'the column "{heading.text}" is {heading.quantity}, not flow.'
            problems.add(line, what, "Name a column of flow.")
            return {}
        if heading.unit is None:
            check_unit(heading, line, problems)
        return {"flow": flows[0]}

    return choose


def _hint(column: str, headings: list[Heading]) -> str:
    labels = {h.label.lower(): h.label for h in headings if h.quantity != "date"}
    near = difflib.get_close_matches(column.lower(), labels, n=1)
    if near:
        return f'Did you mean "{labels[near[0]]}"?'
    return f"There are {', '.join(labels.values())}."
