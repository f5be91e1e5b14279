"""The steady state of a record's mean flows."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from hydroloop.tracing.elimination import (
    Water,
    assemble,
    factor,
    room,
    solve_transposed,
    split_of,
)
from hydroloop.tracing.lanes import NOTHING, aligned
from hydroloop.tracing.operator import Operator
from hydroloop.tracing.ordering import plan
from hydroloop.tracing.passing import entering


def mean_rates(op: Operator, steps: int) -> np.ndarray:
    """Mean rate of every flow over the first steps.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    steps : int
        Number of steps.

    Returns
    -------
    numpy.ndarray
        Shape (flow, member) [m3/d].
    """
    days = op.water.days[:steps]
    return np.tensordot(days / days.sum(), op.water.rate[:steps], axes=1)


def fed(op: Operator, rate: np.ndarray) -> np.ndarray:
    """Stores that water from over a boundary reaches.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    rate : numpy.ndarray
        Mean rates of one member, shape (flow) [m3/d].

    Returns
    -------
    numpy.ndarray of bool
        Shape (store).
    """
    from scipy.sparse import csr_array
    from scipy.sparse.csgraph import breadth_first_order

    stores = len(op.stores)
    used = (rate > NOTHING) & (op.target >= 0)
    tail = np.where(op.source < 0, stores, op.source)[used]
    links = csr_array((np.ones(len(tail)), (tail, op.target[used])), shape=(stores + 1,) * 2)
    reached = np.zeros(stores + 1, dtype=bool)
    reached[breadth_first_order(links, stores, return_predecessors=False)] = True
    return reached[:stores]


def steady_solver(
    op: Operator, rate: np.ndarray, through: np.ndarray
) -> Callable[[np.ndarray], np.ndarray]:
    """Solver for labels that no longer change under constant flows.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    rate : numpy.ndarray
        Mean rates of one member, shape (flow) [m3/d].
    through : numpy.ndarray of bool
        Flows that hand their label on to their target, shape (flow).

    Returns
    -------
    callable
        Takes what each store is given, shape (store) [label m3/d], and returns its label. A store
        that no water from over a boundary reaches has the label that is given for it.

    Notes
    -----
    ``sum_in q_ji (c_i - c_j) = given_i``: storage that is gained or lost in the mean has the label
    of its own store. What is positive by nature in this matrix are its rows, so it is put together
    for the reversed flows and solved transposed: see `hydroloop.tracing.elimination`.
    """
    is_fed = fed(op, rate)
    reversed_flows = plan(len(op.stores), op.target, op.source)
    used = np.where((op.target >= 0) & ~is_fed[op.target], 0.0, rate)
    held = np.stack([np.zeros(len(is_fed)), np.where(is_fed, 0.0, 1.0)])
    water = Water(np.ascontiguousarray(held[..., None]), used.reshape(1, -1, 1), np.ones(1))
    inside = through & (op.source >= 0)
    work = room(reversed_flows, 1)
    assemble(reversed_flows, water, split_of(inside, ~inside), work, (0, 0))
    factor(reversed_flows, work)

    def solver(given: np.ndarray) -> np.ndarray:
        x = aligned(len(given))
        x[:] = given[reversed_flows.order]
        solve_transposed(reversed_flows, work, x)
        labels = np.empty_like(x)
        labels[reversed_flows.order] = x
        return labels

    return solver


def steady_uses(op: Operator, gate: np.ndarray, most: int, steps: int) -> np.ndarray:
    """Use classes in the steady state of the mean flows of the first steps.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    gate : numpy.ndarray of bool
        Flows that are the gate, shape (flow).
    most : int
        Last use class.
    steps : int
        Number of steps.

    Returns
    -------
    numpy.ndarray
        Classes 0 to most, unknown past, mean of uses; shape (most + 3, store, member).
    """
    rates = mean_rates(op, steps)
    table = entering(op, gate, most)
    labels = np.zeros((most + 3, len(op.stores), rates.shape[1]))
    for member in range(rates.shape[1]):
        rate = rates[:, member]
        labels[..., member] = _steady_rows(op, rate, gate, table)
    return np.maximum(labels, 0.0)


def _steady_rows(op: Operator, rate: np.ndarray, gate: np.ndarray, table: np.ndarray) -> np.ndarray:
    stores, last = len(op.stores), len(table) - 3
    shut = steady_solver(op, rate, ~gate)
    open_ = steady_solver(op, rate, np.ones_like(gate))
    is_fed = fed(op, rate)
    passes = gate & (op.source >= 0) & (op.target >= 0)
    enters = op.target >= 0
    rows = np.zeros((len(table), stores))
    rows[-2] = shut(np.where(is_fed, 0.0, 1.0))

    def given(row: int, through: np.ndarray) -> np.ndarray:
        amount = np.where(passes, through[op.source], 0.0) + table[row]
        total = np.bincount(op.target[enters], (amount * rate)[enters], stores)
        return np.where(is_fed, total, 0.0)

    lower = np.zeros(stores)
    for row in range(last + 1):
        rows[row] = (open_ if row == last else shut)(given(row, lower))
        lower = rows[row] + (rows[-2] if row == 0 else 0.0)
    rows[-1] = open_(given(len(table) - 1, np.ones(stores)))
    return rows
