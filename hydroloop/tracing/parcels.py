"""What becomes of parcels of water, whatever their stores and dates: one pass against time.

A forward pass follows one parcel. Against time goes what a parcel is worth: the passes that water
in a store at a step still makes, and where it ends. So one pass answers for all stores and steps.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from hydroloop.compiling import compiled
from hydroloop.tracing.elimination import At
from hydroloop.tracing.operator import Operator
from hydroloop.tracing.passing import factor_both, passing, rooms_for


class Fates(NamedTuple):
    """What becomes of parcels by the end of the record.

    Attributes
    ----------
    by_use : numpy.ndarray
        Share by number of passes, the last or more, (parcel, use, member) [-].
    mean : numpy.ndarray
        Mean passes, (parcel, member) [-].
    by_end : numpy.ndarray
        Share by where it is, (parcel, end, member) [-].
    """

    by_use: np.ndarray
    mean: np.ndarray
    by_end: np.ndarray


def fates(
    op: Operator,
    gate: np.ndarray,
    most: int,
    parcels: Sequence[tuple[int, int]],
    ends: tuple[np.ndarray, np.ndarray],
) -> Fates:
    """Passes and ends of several parcels.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    gate : numpy.ndarray of bool
        What counts as a pass, shape (flow).
    most : int
        Last use class.
    parcels : sequence of tuple of int
        Store and step of each release.
    ends : tuple of numpy.ndarray
        Number of the end that each store is, and each flow over a boundary; shapes (store), (flow).

    Returns
    -------
    Fates
        Shares; zero for a parcel in a store without water.

    Notes
    -----
    With M the matrix of a step and y what a unit of water given to a store in it is worth, ``M^T
    y[t] = V y[t+1] + dt sum_out q (worth over the boundary)``. For k passes the gate is shut in M,
    and what goes through it is worth what k - 1 passes are at its target.
    """
    program, members = op.program, op.shape[2]
    columns = most + 1 + int(max(part.max(initial=-1) for part in ends)) + 1
    place = np.argsort(program.order)
    where = np.array([(place[store], step) for store, step in parcels], dtype=np.int64).reshape(
        -1, 2
    )
    prepared = passing(op, gate, 1)
    exits = np.flatnonzero((op.target < 0) & (op.source >= 0))
    out = (exits, program.tail[exits], ends[1][exits], gate[exits].astype(np.int64))
    worth = np.zeros((len(where), columns, members))
    for member in range(members):
        value = np.zeros((len(op.stores), columns))
        value[:, 0] = 1.0
        value[np.arange(len(op.stores)), most + 1 + ends[0][program.order]] = 1.0
        _back(
            program,
            op.water,
            prepared,
            rooms_for(op, prepared, 1),
            (value, most),
            out,
            (where, member),
            worth,
        )
    by_use = np.concatenate([worth[:, :most], np.zeros_like(worth[:, :1])], axis=1)
    total = worth[:, most + 1 :].sum(axis=1)
    by_use[:, most] = np.maximum(total - by_use.sum(axis=1), 0.0)
    return Fates(by_use, worth[:, most], worth[:, most + 1 :])


@compiled
def _back(program, water, gate, rooms, values, out, asked, worth):
    moved = rooms.moved
    value, most = values
    flows, tails, ends, passes = out
    where, member = asked
    stores, columns = value.shape
    classes = np.empty((stores, most))
    others = np.empty((stores, columns - most))
    for t in range(len(water.days) - 1, where[:, 1].min() - 1, -1):
        factor_both(program, water, gate, rooms, At(t, member))
        for k in range(stores):
            held = water.volume[t + 1, program.order[k], member]
            classes[k] = held * value[k, :most]
            others[k] = held * value[k, most:]
        for e in range(len(flows)):
            gone = water.days[t] * water.rate[t, flows[e], member]
            if passes[e] < most:
                classes[tails[e], passes[e]] += gone
            others[tails[e], 0] += gone * passes[e]
            others[tails[e], 1 + ends[e]] += gone
        for g in range(len(gate.flow)):
            others[gate.tail[g], 0] += moved[g]
        _solve(program, rooms.whole, others, (0, columns - most))
        # Each number of passes depends on the one below it, at the stores behind the gate.
        for uses in range(most):
            if uses > 0:
                for g in range(len(gate.flow)):
                    classes[gate.tail[g], uses] += moved[g] * classes[gate.head[g], uses - 1]
            _solve(program, rooms.shut, classes, (uses, uses + 1))
        value[:, :most] = classes
        value[:, most:] = others
        for parcel in range(len(where)):
            if where[parcel, 1] == t:
                worth[parcel, :, member] = value[where[parcel, 0]]


@compiled
def _solve(program, work, x, span):
    """Solve the transposed system for some columns."""
    for p in range(len(program.row) - 1, program.across[-1] - 1, -1):
        _add(x, (program.column[p], program.row[p]), work.flow[p], span)
    for k in range(len(x)):
        for c in range(span[0], span[1]):
            x[k, c] *= work.inverse[k]
    for p in range(program.across[-1] - 1, -1, -1):
        _add(x, (program.column[p], program.row[p]), work.flow[p], span)


@compiled
def _add(x, rows, factor, span):
    if factor != 0.0:
        for c in range(span[0], span[1]):
            x[rows[0], c] += factor * x[rows[1], c]
