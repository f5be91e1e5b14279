"""The steady state of a record's mean flows."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np

from hydroloop.compiling import compiled
from hydroloop.tracing.along_the_flow import Program, plan, spread
from hydroloop.tracing.elimination import (
    At,
    Water,
    Work,
    assemble,
    factor,
    room,
    solve_transposed,
    split_of,
)
from hydroloop.tracing.lanes import NOTHING
from hydroloop.tracing.operator import Operator
from hydroloop.tracing.passing import LAST, UNKNOWN, entering


class Inflow(NamedTuple):
    """Flows into stores that water from over a boundary reaches; shape (flow)."""

    source: np.ndarray
    target: np.ndarray
    passes: np.ndarray  # whether it is in the gate, and leaves a store
    rate: np.ndarray


def mean_rates(op: Operator, steps: int) -> np.ndarray:
    """Mean rate of every flow over the first steps, shape (flow, member) [m3/d]."""
    return mean_of(op, op.water.rate[:steps])


def mean_of(op: Operator, values: np.ndarray) -> np.ndarray:
    """Mean over the first steps of a record of values of shape (time, ...)."""
    days = op.water.days[: len(values)]
    # Not as a product of matrices: that would busy every core, which many runs share.
    return np.einsum("t,t...->...", days / days.sum(), values)


def fed(op: Operator, rate: np.ndarray) -> np.ndarray:
    """Stores that water from over a boundary reaches under rates of shape (flow) [m3/d]."""
    used = np.flatnonzero((rate > NOTHING) & (op.target >= 0))
    reached = np.zeros(len(op.stores) + 1, dtype=bool)
    reached[-1] = True  # where the numbers of boundaries point
    spread(reached, op.source[used], op.target[used])
    return reached[:-1]


def steady_solver(
    op: Operator, rate: np.ndarray, through: np.ndarray
) -> Callable[[np.ndarray], np.ndarray]:
    """Solver for labels that no longer change under constant flows; it takes what each store is
    given [label m3/d] and returns its label, which is the one given where no water from over a
    boundary comes.

    `sum_in q_ji (c_i - c_j) = given_i`: storage that is gained or lost in the mean has the label
    of its own store. What is positive by nature in this matrix are its rows, so it is put
    together for the reversed flows and solved transposed: see `hydroloop.tracing.elimination`.
    """
    program, work = _matrix(op, rate, through, fed(op, rate))

    def solver(given: np.ndarray) -> np.ndarray:
        labels = np.empty(len(given))
        _labels(program, work, given, labels)
        return labels

    return solver


def _matrix(
    op: Operator, rate: np.ndarray, through: np.ndarray, is_fed: np.ndarray
) -> tuple[Program, Work]:
    """The factored system of `steady_solver`."""
    reversed_flows = plan(len(op.stores), op.target, op.source)
    used = np.where((op.target >= 0) & ~is_fed[op.target], 0.0, rate)
    held = np.stack([np.zeros(len(is_fed)), np.where(is_fed, 0.0, 1.0)])
    water = Water(held.reshape(2, -1, 1), used.reshape(1, -1, 1), np.ones(1))
    inside = through & (op.source >= 0)
    work = room(reversed_flows, 1)
    assemble(reversed_flows, water, split_of(inside, ~inside), work, At(0, 0))
    factor(reversed_flows, work)
    return reversed_flows, work


@compiled
def _labels(program, work, given, labels):
    x = given[program.order]
    solve_transposed(program, work, x)
    labels[program.order] = x


def steady_uses(op: Operator, gate: np.ndarray, most: int, steps: int) -> np.ndarray:
    """Use classes, unknown past and mean of uses in the steady state of the mean flows of the first
    steps; shape (most + 3, store, member)."""
    rates = mean_rates(op, steps)
    table = entering(op, gate, most)
    labels = np.zeros((most + 3, len(op.stores), rates.shape[1]))
    for member in range(rates.shape[1]):
        rate = rates[:, member]
        labels[..., member] = _steady_rows(op, rate, gate, table)
    return np.maximum(labels, 0.0)


def _steady_rows(op: Operator, rate: np.ndarray, gate: np.ndarray, table: np.ndarray) -> np.ndarray:
    is_fed = fed(op, rate)
    program, shut = _matrix(op, rate, ~gate, is_fed)
    _, whole = _matrix(op, rate, np.ones_like(gate), is_fed)
    into = np.flatnonzero(op.target >= 0)
    into = into[is_fed[op.target[into]]]
    passes = (gate & (op.source >= 0))[into]
    rows = np.zeros((len(table), len(op.stores)))
    _labels(program, shut, np.where(is_fed, 0.0, 1.0), rows[UNKNOWN])
    inflow = Inflow(op.source[into], op.target[into], passes, rate[into])
    _solve_rows(program, shut, whole, inflow, np.ascontiguousarray(table[:, into]), rows)
    return rows


@compiled
def _solve_rows(program, shut, whole, inflow, table, rows):
    """Classes one after the other, then the mean; the row of an unknown past is there already."""
    last, unknown = len(rows) + LAST, len(rows) + UNKNOWN
    lower, given = np.zeros(rows.shape[1]), np.empty(rows.shape[1])
    for row in range(len(rows)):
        if row == unknown:
            continue
        given[:] = 0.0
        for flow in range(len(inflow.source)):
            amount = table[row, flow]
            if inflow.passes[flow]:
                amount += 1.0 if row > last else lower[inflow.source[flow]]
            given[inflow.target[flow]] += amount * inflow.rate[flow]
        _labels(program, whole if row >= last else shut, given, rows[row])
        lower = rows[row].copy()
        if row == 0:
            lower += rows[unknown]
