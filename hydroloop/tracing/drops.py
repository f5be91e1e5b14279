"""Diaries of single drops: seeded walks through the record."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import pandas as pd
import xarray as xr

from hydroloop.compiling import compiled
from hydroloop.errors import AskError, Problem
from hydroloop.tracing.last_use import check_drawn
from hydroloop.tracing.operator import Operator, operator
from hydroloop.tracing.questions import Gate, find_gate, find_step, find_store


class Begin(NamedTuple):
    """Where, when and in which member a number of drops begin."""

    n: int
    store: int
    step: int
    member: int


class Roads(NamedTuple):
    """Ways on from every store, whichever way time runs."""

    start: np.ndarray  # where the ways of each store begin, shape (store + 1)
    # flow and next store of each way, -1 for a boundary
    flow: np.ndarray
    to: np.ndarray
    is_gate: np.ndarray  # whether each flow is in the gate, shape (flow)


def drops(
    record: xr.Dataset | Operator,
    *,
    n: int = 30,
    at: str,
    on: Any,
    seed: int = 1,
    gate: Gate = None,
    backward: bool = False,
) -> pd.DataFrame:
    """Diaries of single drops.

    Each drop is one of the many ways that water takes through the record, drawn by chance with the
    shares of the flows. One diary is an example and proves nothing; many of them come close to the
    shares of `follow`, `last_use` and `age_distribution`.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record.
    n : int
        Number of drops.
    at : str
        Store where the drops begin; walking backward, the store that they are drawn from.
    on : str or datetime
        Date: they begin at the start of the step that contains it, or are drawn in that step.
    seed : int
        Seed of the random numbers; the same seed gives the same drops.
    gate : str, sequence of str, or boolean mask over flows, optional
        Ready gate, as "toilet", flow kind, names of flows, or one truth value per flow;
        counted in `uses`; by default what the scenario of the record says, else "home".
    backward : bool
        Walk back in time, to where the drops came from.

    Returns
    -------
    pandas.DataFrame
        One row for the begin of each drop and one for each move, in the order of the walk: ``drop``
        (from 0), ``step``, ``date`` (start of the step), ``store`` (where it is after the move: a
        store or a boundary), ``flow`` (how it came there; empty at the begin), ``uses`` (gates
        passed so far). The last row says where it was at the end of the record, or, backward, at
        its first edge. With members, ``member`` is the first column and n drops walk in each.

    Raises
    ------
    AskError
        There is no such store, date or gate, the store is empty in that step, or `n` or `seed` is
        no number that can be used.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    In store i in step t a drop takes flow l with probability dt q_l / (V_i[t+1] + dt sum_out q),
    else it stays to the next step. Backward it came by inflow l with probability
    dt q_l / (V_i[t] + dt sum_in q), else it was there in the step before.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> home = Network(["home"], ["upstream", "home"], ["home", "sky"], ["home_use", "evaporation"])
    >>> record = build_record(home, edges_of("2031-01-01", 1), [[0], [0]], [[1, 1]])
    >>> drops(record, n=1, at="home", on="2031-01-01").store.tolist()
    ['home', 'sky']
    """
    op = operator(record)
    mask = find_gate(op, gate)
    store, step = find_store(op, at), find_step(op, on)
    _check(n, seed)
    check_drawn(op, store, [step])
    roads = _roads(op, mask, backward)
    tables = []
    for member in range(op.shape[2]):
        drawn = np.random.default_rng([seed, member])
        walk = _walk_all(op, roads, Begin(n, store, step, member), backward, drawn)
        table = _diary(op, walk)
        if op.members is not None:
            table.insert(0, "member", op.members.values[member])
        tables.append(table)
    return pd.concat(tables, ignore_index=True)


def _check(n: int, seed: int) -> None:
    problems = [
        Problem(name, f"{value} cannot be used.", f"Give a whole number of {least} or more.")
        for name, value, least in (("n", n, 1), ("seed", seed, 0))
        if not isinstance(value, (int, np.integer)) or value < least
    ]
    if problems:
        raise AskError(problems)


def _roads(op: Operator, gate: np.ndarray, backward: bool) -> Roads:
    tail, head = (op.target, op.source) if backward else (op.source, op.target)
    flows = np.flatnonzero(tail >= 0)
    flows = flows[np.argsort(tail[flows], kind="stable")]
    start = np.searchsorted(tail[flows], np.arange(len(op.stores) + 1))
    return Roads(start, flows, head[flows], gate)


def _walk_all(
    op: Operator, roads: Roads, begin: Begin, backward: bool, drawn: np.random.Generator
) -> np.ndarray:
    rows = 64 * begin.n
    state = drawn.bit_generator.state
    while True:
        drawn.bit_generator.state = state
        diary = np.empty((rows, 5), dtype=np.int64)
        used = _walk(op.water, roads, begin, backward, drawn, diary)
        if used <= rows:
            return diary[:used]
        rows *= 4


@compiled
def _walk(water, roads, begin, backward, drawn, diary):
    """Fill the diary; returns the rows that were needed, or one too many if there is no room."""
    row = 0
    for drop in range(begin.n):
        store, t, uses, flow = begin.store, begin.step, 0, -1
        while True:
            if row >= len(diary):
                return row + 1
            diary[row, 0], diary[row, 1], diary[row, 2] = drop, t, store
            diary[row, 3], diary[row, 4] = flow, uses
            row += 1
            if store < 0:
                break
            way = -1
            while way < 0 and 0 <= t < len(water.days):
                way = _choose(water, roads, t, store, begin.member, backward, drawn.random())
                if way < 0:
                    t += -1 if backward else 1
            if way < 0:
                break
            flow, store = roads.flow[way], roads.to[way]
            if roads.is_gate[flow]:
                uses += 1
    return row


@compiled
def _choose(water, roads, t, store, member, backward, chance):
    """Way that a drop takes, -1 if it stays."""
    stays = water.volume[t if backward else t + 1, store, member]
    total = stays
    for way in range(roads.start[store], roads.start[store + 1]):
        total += water.days[t] * water.rate[t, roads.flow[way], member]
    left = chance * total - stays
    if left < 0.0 or total <= 0.0:
        return -1
    last = -1
    for way in range(roads.start[store], roads.start[store + 1]):
        moved = water.days[t] * water.rate[t, roads.flow[way], member]
        if moved > 0.0:
            last = way
            left -= moved
            if left < 0.0:
                return way
    return last


def _diary(op: Operator, walk: np.ndarray) -> pd.DataFrame:
    drop, step, store, flow, uses = walk.T
    names = np.array([*op.stores, ""], dtype=object)
    outside = np.array([*op.outside, ""], dtype=object)
    flows = np.array([*op.flows, ""], dtype=object)
    where = np.where(store >= 0, names[store], outside[flow])
    return pd.DataFrame({
        "drop": drop, "step": step, "date": op.edge[step], "store": where, "flow": flows[flow],
        "uses": uses,
    })  # fmt: skip
