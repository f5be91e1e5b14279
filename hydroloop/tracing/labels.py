"""Trace any label that water carries, takes up or leaves behind."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from hydroloop.compiling import compiled, lent
from hydroloop.errors import AskError, Problem
from hydroloop.tracing.elimination import At, Split, assemble, factor, room, solve_keeping
from hydroloop.tracing.lanes import NOTHING
from hydroloop.tracing.operator import Operator, operator, result
from hydroloop.tracing.warm_up import Settled, as_begun, check_warm_up, first_year, settle
from hydroloop.tracing.where_and_when import find_gate

Amounts = float | Mapping[str, float] | np.ndarray
"""One number for all flows, numbers by kind or name of flow, or one number per flow."""


class Rules(NamedTuple):
    """What becomes of a label."""

    split: Split  # where flows hand it
    added: np.ndarray  # label that a unit of a flow takes up, shape (flow)
    growth: float = 0.0  # label that each unit of water gains by standing through an edge, per day


class Sources(NamedTuple):
    """What a step adds to a label."""

    # flows that bring label, and the stores they enter in the plan's order
    flow: np.ndarray
    head: np.ndarray
    amount: np.ndarray  # label per unit of flow
    growth: float  # label that each unit of water gains by standing through an edge, per day


class Trail(NamedTuple):
    """Where labels are written: shape (edge, store, member)."""

    label: np.ndarray
    dry: np.ndarray


def trace(
    record: xr.Dataset | Operator,
    inflow: Amounts = 0.0,
    *,
    injection: Amounts = 0.0,
    carries: Amounts = 1.0,
    initial: float = 0.0,
    warm_up: str = "repeat",
) -> xr.Dataset:
    """Concentration of a label in every store.

    Follows anything that goes with the water: a dye, salt, the water of one river. Do not use it
    for what settles, decays or reacts.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record.
    inflow : float, mapping or array
        Concentration in flows that enter over a boundary [label/m3].
    injection : float, mapping or array
        Label that each m3 of a flow takes up as it enters its target [label/m3].
    carries : float, mapping or array
        Share of its water's label that a flow carries: 1 for water itself, 0 for salt and a flow of
        vapour [-].
    initial : float
        Concentration at the first edge, where the label is not warmed up [label/m3].
    warm_up : str
        "repeat" repeats the first year until the label settles, "none" begins with `initial`.

    Returns
    -------
    xarray.Dataset
        ``label`` (edge, store): concentration in the store, and in every flow that leaves it in
        the step before the edge and carries all [label/m3]; ``dry`` (edge, store): what stands in a
        store that has fallen dry, and is taken up by its next water [label]; ``leaving`` (time,
        store): label over water in all that leaves the store in the step, which is less than
        ``label`` where a flow leaves it behind [label/m3]; both NaN in a store in which no repeats
        settle them. Member last where the record has it. Attributes ``warm_up_change`` and
        ``warm_up_repeats``.

    Raises
    ------
    AskError
        A flow or kind is unknown, an amount is negative or not finite, a flow carries more than
        its label, or there is no such way to warm up.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    ``(V[t+1] + dt sum_out k q) c[t+1] - dt sum_in k q c_source[t+1] = V[t] c[t] + dry[t]
    + dt sum_in q (injection, or inflow over a boundary)``, with k what each flow carries [-].

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> pan = Network(["pan"], ["rain", "pan"], ["pan", "sky"], ["rain", "evaporation"])
    >>> record = build_record(pan, edges_of("2031-01-01", 1), [[4], [2]], [[1, 3]])
    >>> salt = trace(record, carries={"evaporation": 0.0}, initial=10.0, warm_up="none")
    >>> salt.label.values[:, 0].tolist()
    [10.0, 20.0]
    """
    op = operator(record)
    if warm_up == "steady":
        what = '"steady" is no way to warm up a label.'
        raise AskError(Problem("warm_up", what, "Choose repeat or none."))
    check_warm_up(warm_up)
    entering = amounts(op, inflow, "inflow")
    carried = amounts(op, carries, "carries")
    if (carried > 1).any():
        problem = Problem("carries", f"{carried.max():g} is more than all.", "Give at most 1.")
        raise AskError(problem)
    added = amounts(op, injection, "injection") + np.where(op.source < 0, entering, 0.0)
    start = np.full((1, *op.shape[1:]), initial, dtype=float)
    found, settled = follow_label(op, Rules(op.split(None, carried), added), start, warm_up)
    return _labelled(op, found, settled, carried)


def amounts(op: Operator, given: Any, where: str) -> np.ndarray:
    """One number per flow, shape (flow); flows that are not named have 0, or 1 if it is what they
    carry. `where` is the name of the argument."""
    values = np.full(len(op.flows), 1.0 if where == "carries" else 0.0)
    if isinstance(given, Mapping):
        for name, amount in given.items():
            values[find_gate(op, name, where=where)] = amount
    elif np.ndim(given) and np.shape(given) != values.shape:
        what = f"{np.shape(given)} numbers do not fit {len(values)} flows."
        raise AskError(Problem(where, what, "Give one number per flow."))
    else:
        values[:] = given
    if not np.isfinite(values).all() or (values < 0).any():
        raise AskError(Problem(where, "an amount is negative or no number.", "Give 0 or more."))
    return values


def follow_label(
    op: Operator, rules: Rules, start: np.ndarray, warm_up: str
) -> tuple[Trail, Settled]:
    """Trace one label, warmed up or not, from labels at the first edge (or a guess), (1, store,
    member)."""
    flows = np.flatnonzero((rules.added > 0) & (op.target >= 0))
    sources = Sources(flows, op.program.head[flows], rules.added[flows], rules.growth)
    nowhere = Trail(np.zeros((0, 0, 0)), np.zeros((0, 0, 0)))

    def run(labels: np.ndarray, steps: int, trail: Trail) -> np.ndarray:
        after = np.empty_like(labels)
        for first, lanes in op.blocks():
            state = op.packed(labels, (first, lanes))
            work = room(op.program, lanes)
            _advance(
                op.program, op.water, rules.split, sources, work, state[0], steps, first, trail
            )
            op.unpack(state, (first, lanes), after)
        return after

    settled = as_begun(start)
    if warm_up == "repeat":
        settled = settle(op, lambda labels: run(labels, first_year(op), nowhere), start)
    steps, stores, members = op.shape
    trail = Trail(*(np.zeros((steps + 1, stores, members)) for _ in range(2)))
    trail.label[0] = np.where(op.water.volume[0] > 0, settled.state[0], 0.0)
    run(settled.state, steps, trail)
    return trail, settled


@compiled
def _advance(program, water, split, sources, work, x, steps, first, trail):
    program, water, split, sources = lent((program, water, split, sources))
    work, x, trail = lent((work, x, trail))
    size = len(work.lanes)
    dry = np.zeros_like(x)
    for t in range(steps):
        assemble(program, water, split, work, At(t, first))
        factor(program, work)
        days = water.days[t]
        for k in range(len(program.order)):
            for b in range(size):
                held = water.volume[t, program.order[k], first + b]
                i = k * size + b
                amount = held * (x[i] + sources.growth * days) + dry[i]
                x[i] = amount if amount > NOTHING else 0.0
        for e in range(len(sources.flow)):
            brought = days * sources.amount[e]
            for b in range(size):
                x[sources.head[e] * size + b] += brought * water.rate[t, sources.flow[e], first + b]
        solve_keeping(program, work, x, dry)
        if trail.label.shape[0] > 0:
            for k in range(len(program.order)):
                for b in range(size):
                    trail.label[t + 1, program.order[k], first + b] = x[k * size + b]
                    trail.dry[t + 1, program.order[k], first + b] = dry[k * size + b]


def _leaving(op: Operator, label: np.ndarray, carried: np.ndarray) -> np.ndarray:
    water, part = np.zeros(op.shape), np.zeros(op.shape)
    for flow in np.flatnonzero(op.source >= 0).tolist():
        water[:, op.source[flow]] += op.water.rate[:, flow]
        part[:, op.source[flow]] += carried[flow] * op.water.rate[:, flow]
    return label[1:] * np.divide(part, water, out=np.zeros_like(part), where=water > 0)


def _labelled(op: Operator, trail: Trail, settled: Settled, carried: np.ndarray) -> xr.Dataset:
    axes = ("edge", "store")
    label = settled.told(trail.label)
    leaving = _leaving(op, label, carried)
    data: dict[str, tuple[Any, ...]] = {
        "label": (axes, label, "m-3", "label in the water of the store"),
        "dry": (axes, trail.dry, "1", "label left in a store without water"),
        "leaving": (("time", "store"), leaving, "m-3", "label over water in all that leaves"),
    }
    coords = {
        "edge": (op.edge, "", "instants between steps"),
        "time": (op.edge[:-1], "", "start of the step"),
        "store": (np.array(op.stores), "1", "store of water"),
    }
    answer = result(op, data, coords)
    answer.attrs = {"warm_up_change": settled.change, "warm_up_repeats": settled.repeats}
    return answer
