"""Pictures from Python: each takes a water record or a result, and hands back a matplotlib Figure.

A record is what `simulate`, `water_record` or `read_record` gives: one made from somebody's own
tables is drawn like any other. A result is a finished run, with its record and its measures.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from hydroloop import charts
from hydroloop.charts.changed_words import changed_line
from hydroloop.errors import AskError, Problem
from hydroloop.measures import ends_by_use, measures
from hydroloop.outputs.run.drought_picture import drought_picture
from hydroloop.outputs.run.result import Result
from hydroloop.units.printing import System

if TYPE_CHECKING:
    import xarray as xr

__all__ = ["because", "drought", "glass", "loop", "parcel", "river", "season"]


def glass(of: xr.Dataset | Result, town: str | None = None, date: Any = None) -> charts.Picture:
    """A glass of tap water, in layers by how often its water was used before.

    Tells how much of the water that reaches homes on a day has been in a home before. The layers
    are all mixed in truth. Do not trust it where much of the past is unknown.

    Parameters
    ----------
    of : xarray.Dataset or Result
        Water record, or a finished run.
    town : str, optional
        Name of the town; by default the one whose tap water was used most.
    date : str or datetime, optional
        The day; by default the town's most-used day.

    Returns
    -------
    matplotlib.figure.Figure
        With `title`, `caption` and `alternative`, the words for those who cannot see it.

    Raises
    ------
    AskError
        There is no such town or date, or no water reached homes on that day.

    Examples
    --------
    >>> import hydroloop as hl
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> hl.draw.glass(record, "penhollow", "2031-08-15").title
    'A glass of tap water in Penhollow, 15 August 2031'
    """
    _, table, changed, _ = _taken(of, [] if date is None else [date])
    return _told(charts.glass(table, town or _most_used(table), date), changed)


def because(of: xr.Dataset | Result) -> charts.Picture:
    """Where each town's used tap water was used last, and by which way it came back.

    Tells why tap water was used before: a bar for each town, over the season. Water that two towns
    have used counts for the second alone.

    Parameters
    ----------
    of : xarray.Dataset or Result
        Water record, or a finished run.

    Returns
    -------
    matplotlib.figure.Figure
        With `title`, `caption` and `alternative`.

    Raises
    ------
    AskError
        No water of the record comes to homes.

    Examples
    --------
    >>> import hydroloop as hl
    >>> hl.draw.because(hl.simulate(hl.read_scenario("first_town"))).title
    'Where used tap water was used last, 1 April to 30 September 2031'
    """
    _, table, changed, _ = _taken(of)
    return _told(charts.because(table), changed)


def loop(
    of: xr.Dataset | Result, town: str | None = None, *, units: System | None = None
) -> charts.Picture:
    """A town's own flows as a closed band, with widths to scale and mean stays.

    Tells where a town's water comes from and where it goes, as means over the season. Do not read
    single days from it.

    Parameters
    ----------
    of : xarray.Dataset or Result
        Water record, or a finished run.
    town : str, optional
        Name of the town; by default the one whose tap water was used most.
    units : str, optional
        ``"us"`` or ``"metric"``; by default those of the result, else ``"us"``.

    Returns
    -------
    matplotlib.figure.Figure
        With `title`, `caption` and `alternative`.

    Raises
    ------
    AskError
        There is no such town, or it takes in no water.

    Examples
    --------
    >>> import hydroloop as hl
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> hl.draw.loop(record, "larkmill", units="metric").title
    "Larkmill's water, 1 April to 30 September 2031"
    """
    record, table, changed, system = _taken(of)
    picture = charts.loop(record, table, town or _most_used(table), units or system)
    return _told(picture, changed)


def season(
    of: xr.Dataset | Result, town: str | None = None, *, units: System | None = None
) -> charts.Picture:
    """A town's season: used share, shortage, rain, and the river or reservoir it draws from.

    Tells day by day how much of the tap water was used before. Days on which nothing was delivered
    show as gaps.

    Parameters
    ----------
    of : xarray.Dataset or Result
        Water record, or a finished run.
    town : str, optional
        Name of the town; by default the one whose tap water was used most.
    units : str, optional
        ``"us"`` or ``"metric"``; by default those of the result, else ``"us"``.

    Returns
    -------
    matplotlib.figure.Figure
        With `title`, `caption` and `alternative`.

    Raises
    ------
    AskError
        There is no such town.

    Examples
    --------
    >>> import hydroloop as hl
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> hl.draw.season(record, "penhollow").title
    'Used water at the tap in Penhollow, 1 April to 30 September 2031'
    """
    record, table, changed, system = _taken(of)
    picture = charts.season(table, town or _most_used(table), record, units or system)
    return _told(picture, changed)


def parcel(of: xr.Dataset | Result, town: str | None = None) -> charts.Picture:
    """What became of a hundred drops that a town took in on the season's first day.

    Tells where they were at the season's end, and how often they had been in homes by then. A
    short season leaves more of them on their way.

    Parameters
    ----------
    of : xarray.Dataset or Result
        Water record, or a finished run.
    town : str, optional
        Name of the town; by default the one whose tap water was used most.

    Returns
    -------
    matplotlib.figure.Figure
        With `title`, `caption` and `alternative`.

    Raises
    ------
    AskError
        There is no such town, or no water was followed from there.

    Examples
    --------
    >>> import hydroloop as hl
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> hl.draw.parcel(record, "larkmill").title
    'What became of 100 drops that Larkmill took in on 1 April 2031'
    """
    record, table, changed, _ = _taken(of)
    town = town or _most_used(table)
    return _told(charts.parcel(table, town, ends_by_use(record, table, town)), changed)


def river(of: xr.Dataset | Result, *, units: System | None = None) -> charts.Picture:
    """A map of the rivers: towns, intakes, outfalls and reservoirs in their order.

    Tells how much water flows where, and how much of it was used before. Distances are not to
    scale, and the means hide dry days.

    Parameters
    ----------
    of : xarray.Dataset or Result
        Water record, or a finished run.
    units : str, optional
        ``"us"`` or ``"metric"``; by default those of the result, else ``"us"``.

    Returns
    -------
    matplotlib.figure.Figure
        With `title`, `caption` and `alternative`.

    Raises
    ------
    AskError
        The record has no river.

    Examples
    --------
    >>> import hydroloop as hl
    >>> hl.draw.river(hl.simulate(hl.read_scenario("first_town"))).title
    'The river and its towns, 1 April to 30 September 2031'
    """
    record, table, changed, system = _taken(of)
    return _told(charts.river_map(record, table, units or system), changed)


def drought(of: Result) -> charts.Picture:
    """A drought: the water that is watched, stages in force, cuts and shortage.

    Tells how far a reservoir or river fell through the marks of the drought stages. A record alone
    does not know the marks: it takes a result.

    Parameters
    ----------
    of : Result
        A finished run.

    Returns
    -------
    matplotlib.figure.Figure
        With `title`, `caption` and `alternative`.

    Raises
    ------
    AskError
        The run has no drought stages, or `of` is no result.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.outputs.run.result import Result
    >>> scenario = hl.read_scenario("long_river")
    >>> record = hl.simulate(scenario)
    >>> hl.draw.drought(Result(scenario, record, hl.measures(record, scenario))).title[:30]
    'Drought: the Kelmere reservoir'
    """
    if not isinstance(of, Result) or not of.scenario.stage:
        raise AskError(
            Problem(
                "drought",
                "there are no drought stages to draw.",
                "Give the result of a scenario that has stages.",
            )
        )
    picture = drought_picture([of.scenario], [("", of.record)], of.system)
    return _told(picture, changed_line(of.changed, of.names))


def _taken(
    of: xr.Dataset | Result, dates: list[Any] | None = None
) -> tuple[xr.Dataset, xr.Dataset, str, System]:
    """Record, measures, what was changed, and units."""
    if isinstance(of, Result):
        return of.record, of.table, changed_line(of.changed, of.names), of.system
    return of, measures(of, glass_dates=dates or []), "", "us"


def _most_used(table: xr.Dataset) -> str:
    """The town whose tap water was used most over the season; the first of equals."""
    if "season_used_share" not in table:
        raise AskError(
            Problem(
                "record",
                "no water of this record comes to homes.",
                "Give it flows of kind home_use.",
            )
        )
    used = table["season_used_share"].transpose("town", ...).values
    used = np.nan_to_num(used.reshape(len(used), -1).mean(axis=1), nan=-1.0)
    return str(table["town"].values[int(used.argmax())])


def _told(picture: charts.Picture, changed: str) -> charts.Picture:
    picture.say_changed(changed)
    return picture
