"""Build a water record from somebody's own tables."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from numbers import Real
from typing import Any

import numpy as np
import pandas as pd
import xarray as xr

from hydroloop.errors import Problem, TableError
from hydroloop.record.balancing import balanced
from hydroloop.record.build import build_record
from hydroloop.record.names import KINDS, nearest
from hydroloop.record.network import Network

_WANTED = ("time", "source", "target", "kind", "rate")


def water_record(
    volumes: Any,
    flows: pd.DataFrame,
    *,
    title: str = "",
    labels: Mapping[str, str] | None = None,
    balance: Mapping[str, str] | None = None,
    used_before: Mapping[str, Sequence[float]] | None = None,
    attrs: Mapping[str, Any] | None = None,
) -> xr.Dataset:
    """Build a water record from tables of volumes and flows.

    Any account of water can be traced that says what stood where and what flowed where. Nothing is
    repaired or filled in, except that a flow has no water on dates at which it is not listed, and
    that `balance` says what takes the rounding of a printed table.

    Parameters
    ----------
    volumes : pandas.DataFrame or xarray.DataArray
        Volumes, one row per edge (an instant between steps; one more than there are steps) and one
        column per store. Shape (edge, store) [m3].
    flows : pandas.DataFrame
        One row per flow and step, with columns `time` (start of the step), `source`, `target`,
        `kind`, `rate` [m3/d] and, if you like, `flow` (its name). Source and target are stores, or
        one of the boundaries upstream, rain, import, sky, downstream, solids.
    title : str
        Title of the record.
    labels : mapping of str to str, optional
        Words for stores.
    balance : mapping of str to str, optional
        For a store whose printed numbers close to rounding only: the flow over a boundary that
        takes its gap in every step, or "volume", so that its later volumes do. What was changed is
        warned of and stands in the attribute `balanced`; a gap above 0.1 % of the throughput is
        refused all the same.
    used_before : mapping of str to sequence of float, optional
        For a flow that enters over a boundary: shares that passed a gate once, twice, ... above
        the record [-].
    attrs : mapping, optional
        More attributes.

    Returns
    -------
    xarray.Dataset
        The water record, checked.

    Raises
    ------
    TableError
        A table cannot be read; carries every problem.
    RecordError
        The account of a store does not close, or a value is negative.

    Examples
    --------
    >>> import pandas as pd
    >>> volumes = pd.DataFrame({"lake": [10.0, 12.0]}, index=["2031-01-01", "2031-01-02"])
    >>> flows = pd.DataFrame({"time": "2031-01-01", "source": ["rain", "lake"], "rate": [5.0, 3.0],
    ...                       "target": ["lake", "sky"], "kind": ["rain", "evaporation"]})
    >>> water_record(volumes, flows).flow.values.tolist()
    ['rain > lake', 'lake > sky']
    """
    table = _volume_table(volumes)
    rows = _flow_table(flows)
    _check_times(table, rows)
    named = rows.drop_duplicates("key")
    stores = [str(name) for name in table.columns]
    source, target, kind = (named[column].tolist() for column in ("source", "target", "kind"))
    network = Network(
        stores,
        source,
        target,
        kind,
        flow=named["flow"].tolist() if "flow" in named else (),
        label=[(labels or {}).get(name, name) for name in stores],
    )
    rate = rows.pivot(index="time", columns="key", values="rate")
    rate = rate.reindex(index=table.index[:-1], columns=named["key"]).fillna(0.0)
    volume, rates, attrs = table.to_numpy(float), rate.to_numpy(float), dict(attrs or {})
    if balance:
        volume, rates, attrs["balanced"] = balanced(
            network, table.index.values, volume, rates, balance
        )
    return build_record(
        network, table.index, volume, rates, title=title, used_before=used_before, attrs=attrs
    )


def _volume_table(volumes: Any) -> pd.DataFrame:
    table = volumes.to_pandas() if isinstance(volumes, xr.DataArray) else volumes
    if not isinstance(table, pd.DataFrame):
        what = f"a {type(volumes).__name__} is no table of edges by stores."
        raise TableError(Problem("volumes", what, "Give a DataFrame with dates as its index."))
    table = table.copy()
    table.index = _dates(table.index, "volumes")
    problems = [
        Problem(
            f"volumes.{name}",
            f"{date.date()} holds {table[name].iloc[row]!r}: no number.",
            "Give m3 in every row.",
        )
        for name in table.columns
        for row, date in _first_text(table[name])
    ]
    if len(table) < 2:
        what = f"{len(table)} row is too few."
        problems.append(Problem("volumes", what, "Give both ends of a step."))
    elif not table.index.is_monotonic_increasing or table.index.has_duplicates:
        problems.append(Problem("volumes", "the dates do not run forward.", "Sort the rows."))
    if problems:
        raise TableError(problems)
    return table


def _flow_table(flows: pd.DataFrame) -> pd.DataFrame:
    missing = [name for name in _WANTED if name not in getattr(flows, "columns", ())]
    if missing:
        columns = list(getattr(flows, "columns", ()))
        raise TableError(
            [
                Problem("flows", f'there is no column "{name}".', nearest(name, map(str, columns)))
                for name in missing
            ]
        )
    rows = flows.copy()
    rows["time"] = _dates(pd.Index(rows["time"]), "flows.time")
    problems = [*_texts(rows), *_kinds(rows)]
    wrong = [(row, repr(rows["rate"].iloc[row])) for row, _ in _first_text(rows["rate"])]
    empty = [(int(row), "nothing") for row in np.flatnonzero(rows["rate"].isna())[:1]]
    for row, held in wrong or empty:
        what = f"row {row} holds {held}: no number."
        problems.append(Problem("flows.rate", what, "Give m3/d in every row."))
    if problems:
        raise TableError(problems)
    # JSON-like key: two names can never run together into a third.
    parts = ["source", "target", "kind", *(["flow"] if "flow" in rows else [])]
    rows["key"] = [repr(key) for key in rows[parts].itertuples(index=False, name=None)]
    return rows


def _first_text(column: pd.Series) -> list[tuple[int, Any]]:
    """Row and name of the first value of a column that is no number; empty without one."""
    if pd.api.types.is_numeric_dtype(column):
        return []
    numbers = [isinstance(value, Real) for value in column]
    return [] if all(numbers) else [(numbers.index(False), column.index[numbers.index(False)])]


def _texts(rows: pd.DataFrame) -> list[Problem]:
    return [
        Problem(f"flows.{column}", f"row {row} holds no name.", "Write one in every row.")
        for column in ("source", "target", "kind", "flow")
        if column in rows
        for row in [i for i, x in enumerate(rows[column]) if not (isinstance(x, str) and x)][:1]
    ]


def _kinds(rows: pd.DataFrame) -> list[Problem]:
    """A kind of one's own is welcome, but not a misspelt one of ours: a gate would miss it."""
    problems = []
    for kind in {x for x in rows["kind"] if isinstance(x, str)} - set(KINDS):
        if _folded(kind) in {_folded(known) for known in KINDS}:
            problems.append(Problem("flows.kind", f'"{kind}" is not a kind.', nearest(kind, KINDS)))
    return problems


def _folded(kind: str) -> str:
    return "".join(c for c in kind.lower() if c.isalnum()).rstrip("s")


def _dates(index: pd.Index, where: str) -> pd.DatetimeIndex:
    what = f"these are no dates: {index[0]!r}, ..." if len(index) else "there is no date."
    unread = Problem(where, what, "Write dates as 2031-05-01.")
    if pd.api.types.is_numeric_dtype(index):
        raise TableError(unread)
    try:
        # Only one way to write a date, because 01/02/2031 is two.
        dates = pd.DatetimeIndex(pd.to_datetime(index, format="ISO8601")).as_unit("ns")
    except (ValueError, TypeError) as error:
        raise TableError(unread) from error
    if dates.isna().any():
        raise TableError(Problem(where, "a date is missing.", "Write dates as 2031-05-01."))
    if dates.tz is not None:
        raise TableError(Problem(where, "the dates have a time zone.", "Give local dates."))
    return dates


def _check_times(table: pd.DataFrame, rows: pd.DataFrame) -> None:
    steps = table.index[:-1]
    problems = [
        Problem("flows.time", f"{day.date()} is no start of a step.", "Volumes need that date too.")
        for day in pd.DatetimeIndex(rows["time"].unique()).difference(steps)[:5]
    ]
    double = rows.duplicated(["time", "key"])
    for row in rows[double].head(5).itertuples():
        what = f'"{row.source} > {row.target}" is there twice on {row.time.date()}.'
        cure = "Add the rates up, or give the flows names in a column flow."
        problems.append(Problem("flows", what, cure))
    if problems:
        raise TableError(problems)


def edges_of(start: str, steps: int, days: float = 1.0) -> np.ndarray:
    """Evenly spaced instants between steps.

    Parameters
    ----------
    start : str
        First day.
    steps : int
        Number of steps.
    days : float
        Length of a step [d].

    Returns
    -------
    numpy.ndarray
        Instants, shape (edge).

    Examples
    --------
    >>> edges_of("2031-01-01", 2)[-1]
    np.datetime64('2031-01-03T00:00:00.000000000')
    """
    length = np.timedelta64(round(days * 86_400_000_000_000), "ns")
    return np.datetime64(start, "ns") + np.arange(steps + 1) * length
