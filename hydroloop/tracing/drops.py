"""Diaries of single drops: seeded walks through the record."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import pandas as pd
import xarray as xr

from hydroloop.compiling import compiled
from hydroloop.errors import AskError, Problem
from hydroloop.tracing.drops_past import NO_PAST, Past, check_used, earlier_uses, pasts, weight
from hydroloop.tracing.last_use import check_drawn
from hydroloop.tracing.operator import Operator, operator
from hydroloop.tracing.where_and_when import Gate, find_gate, find_step, find_store


class Begin(NamedTuple):
    """Where, when and in which member a number of drops begin."""

    n: int
    store: int
    step: int
    member: int


class Drop(NamedTuple):
    """A drop on its way, and the uses that it must still have behind it."""

    store: int
    member: int
    need: int


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
    used: int | None = None,
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
    used : int, optional
        Walking backward: draw only drops that had been used at least so often, and tell how often
        each was before the record began or above it; with 0 all drops, and tell it.

    Returns
    -------
    pandas.DataFrame
        One row for the begin of each drop and one for each move, in the order of the walk: ``drop``
        (from 0), ``step``, ``date`` (start of the step), ``store`` (where it is after the move: a
        store or a boundary), ``flow`` (how it came there; empty at the begin), ``uses`` (gates
        passed so far). The last row says where it was at the end of the record, or, backward, at
        its first edge. With `used` also ``before`` (uses before the record or above it, 12 or more
        as 12 unless more are asked for). With members, ``member`` is the first column and n drops
        walk in each.

    Raises
    ------
    AskError
        There is no such store, date or gate, the store is empty in that step, none of its water
        had been used so often, or `n`, `seed` or `used` is no number that can be used.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    In store i in step t a drop takes flow l with probability dt q_l / (V_i[t+1] + dt sum_out q),
    else it stays to the next step. Backward it came by inflow l with probability
    dt q_l / (V_i[t] + dt sum_in q), else it was there in the step before. Of drops that were used
    at least k times, each of these is weighted by the share of the water there that has the uses
    still missing behind it, as `count_uses` has it: h_k(i, t+1) (V_i[t] + dt sum_in q) =
    V_i[t] h_k(i, t) + dt sum_in q_ji h_(k-g)(j, t+1), with g = 1 for a flow of the gate.

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
    check_used(used, backward=backward)
    check_drawn(op, store, [step])
    behind = None if used is None else pasts(op, gate, used, (store, step))
    roads = _roads(op, mask, backward)
    tables = []
    for member in range(op.shape[2]):
        drawn = np.random.default_rng([seed, member])
        past = behind[member] if behind else NO_PAST
        begin = Begin(n, store, step, member)
        walk = _walk_all(op, roads, begin, (past, backward), drawn)
        table = _diary(op, walk)
        if behind:
            table["before"] = _before(walk, past, drawn)
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
    op: Operator, roads: Roads, begin: Begin, asked: tuple[Past, bool], drawn: np.random.Generator
) -> np.ndarray:
    past, backward = asked
    rows = 64 * begin.n
    state = drawn.bit_generator.state
    while True:
        drawn.bit_generator.state = state
        diary = np.empty((rows, 5), dtype=np.int64)
        taken = _walk(op.water, roads, begin, past, backward, drawn, diary)
        if taken <= rows:
            return diary[:taken]
        rows *= 4


@compiled
def _walk(water, roads, begin, past, backward, drawn, diary):
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
                of = Drop(store, begin.member, past.used - uses)
                way = _choose(water, roads, past, t, of, backward, drawn.random())
                if way < 0:
                    t += -1 if backward else 1
            if way < 0:
                break
            flow, store = roads.flow[way], roads.to[way]
            if roads.is_gate[flow]:
                uses += 1
    return row


@compiled
def _choose(water, roads, past, t, of, backward, chance):
    """Way that a drop takes, -1 if it stays."""
    store, member = of.store, of.member
    stays = water.volume[t if backward else t + 1, store, member]
    stays *= weight(past, of.need, t, store, -1)
    total = stays
    for way in range(roads.start[store], roads.start[store + 1]):
        total += _moved(water, roads, past, t, of, way)
    left = chance * total - stays
    if left < 0.0 or total <= 0.0:
        return -1
    last = -1
    for way in range(roads.start[store], roads.start[store + 1]):
        moved = _moved(water, roads, past, t, of, way)
        if moved > 0.0:
            last = way
            left -= moved
            if left < 0.0:
                return way
    return last


@compiled
def _moved(water, roads, past, t, of, way):
    """Water that a way takes or brings in a step, as far as it has the uses that are asked for."""
    flow = roads.flow[way]
    need = of.need - (1 if roads.is_gate[flow] else 0)
    moved = water.days[t] * water.rate[t, flow, of.member]
    return moved * weight(past, need, t + 1, roads.to[way], flow)


def _before(walk: np.ndarray, past: Past, drawn: np.random.Generator) -> np.ndarray:
    """Uses of each drop before the record or above it, in each of its rows."""
    ends = pd.DataFrame(walk, columns=["drop", "step", "store", "flow", "uses"])
    before = earlier_uses(past, ends.groupby("drop").last(), drawn)
    return before[walk[:, 0]]


def _diary(op: Operator, walk: np.ndarray) -> pd.DataFrame:
    drop, step, store, flow, uses = walk.T
    names = np.array([*op.stores, ""], dtype=object)
    outside = np.array([*op.outside, ""], dtype=object)
    flows = np.array([*op.flows, ""], dtype=object)
    where = np.where(store >= 0, names[store], outside[flow])
    return pd.DataFrame(
        {
            "drop": drop,
            "step": step,
            "date": op.edge[step],
            "store": where,
            "flow": flows[flow],
            "uses": uses,
        }
    )
