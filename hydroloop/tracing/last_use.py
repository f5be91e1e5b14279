"""Time since the last use of a glass of water."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import AskError, Problem
from hydroloop.tracing.backward import Met, look_back
from hydroloop.tracing.operator import Operator, operator, result
from hydroloop.tracing.where_and_when import Gate, as_counted, find_gate, find_step, find_store


def last_use(record: xr.Dataset | Operator, *, at: str, on: Any, gate: Gate = None) -> xr.Dataset:
    """Share of a glass by days since its last use.

    Tells how long ago each part of the water drawn from a store on a date passed the gate for the
    last time. Do not read a date near the start of the record: what was used before it is unknown,
    and so ``never`` is at most that of `because` and `count_uses`, which by default repeat the
    record before it; with ``warm_up="none"`` theirs is the same.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record.
    at : str
        Store that the glass is drawn from.
    on : str or datetime, or a list of them
        Date; the glass is drawn in the step that contains it. A list is answered in one go.
    gate : str, sequence of str, or boolean mask over flows, optional
        Ready gate, as "toilet", flow kind, names of flows, or one truth value per flow;
        by default what the scenario of the record says, else "home".

    Returns
    -------
    xarray.Dataset
        ``share`` (days_ago): last pass so many days ago, 0 in the same step [-]; ``never``: entered
        over a boundary within the record and never passed; ``before_record``: entered within the
        record and passed above it, nobody knows when; ``unknown``: stood in the record's first
        volumes. They sum to one. With a list of dates `on` is the first dimension; member last
        where the record has it.

    Raises
    ------
    AskError
        There is no such store, date or gate, or the store is empty in that step.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    See `look_back`: the transposed operator, step by step. With steps of unequal length days_ago
    counts from the start of the step of the last date.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> town = Network(["home"], ["upstream", "home"], ["home", "sky"], ["home_use", "evaporation"])
    >>> record = build_record(town, edges_of("2031-01-01", 2), [[1], [1], [1]], [[1, 1], [1, 1]])
    >>> last_use(record, at="home", on="2031-01-02").share.values.tolist()
    [0.5, 0.25]
    """
    op = operator(record)
    op = as_counted(op, gate)
    mask = find_gate(op, op.count_as if gate is None else gate)  # it asks about a gate
    store = find_store(op, at)
    is_list = isinstance(on, (list, tuple)) or (np.ndim(on) > 0 and not isinstance(on, str))
    dates = list(on) if is_list else [on]
    if not dates:
        raise AskError(Problem("on", "there is no date.", "Give at least one."))
    steps = [find_step(op, date) for date in dates]
    met = look_back(op, mask, [store] * len(steps), steps)
    check_drawn(op, store, steps)
    answer = _labelled(op, met, steps)
    return answer if is_list else answer.isel(on=0, drop=True)


def check_drawn(op: Operator, store: int, steps: list[int]) -> None:
    """Refuse to draw a glass from a store that no member has water in."""
    into = op.target == store
    for step in steps:
        water = op.water.volume[step, store] + op.water.rate[step, into].sum(axis=0)
        if not (water > 0).any():
            date = np.datetime_as_string(op.edge[step], "D")
            what = f"{op.stores[store]} is empty on {date}: there is no water to ask about."
            raise AskError(Problem("at", what, "Choose another date or store."))


def days_back(op: Operator, step: int) -> np.ndarray:
    """Days from the start of each earlier step to the start of this one, shape (step + 1), from 0
    on."""
    return (op.edge[step] - op.edge[step::-1]) / np.timedelta64(1, "D")


def _labelled(op: Operator, met: Met, steps: list[int]) -> xr.Dataset:
    enters = met.by_flow * (op.source < 0)[:, None]
    never = np.tensordot(enters, op.used_before[:, 0], axes=(1, 0))
    before = np.tensordot(enters, op.used_before[:, 1:].sum(axis=1), axes=(1, 0))
    days = days_back(op, max(steps))
    data: dict[str, tuple[Any, ...]] = {
        "share": (("on", "days_ago"), met.passed, "1", "share of the glass by days since last use"),
        "never": (("on",), never, "1", "share never used"),
        "before_record": (("on",), before, "1", "share used above the record, time unknown"),
        "unknown": (("on",), met.standing.sum(axis=1), "1", "share whose past is not known"),
    }
    coords = {
        "on": (op.edge[steps], "", "start of the step in which the glass is drawn"),
        "days_ago": (days, "d", "days since the last use"),
    }
    return result(op, data, coords)
