"""One step of the operator: put its matrix together, factor it, solve it, both ways.

The matrix of a step is ``diag(V[t+1] + dt sum_out q) - dt F'``, with F'[i, j] the flow from j to i.
What is kept of it are the flows off the diagonal, as positive numbers, and for each store what
leaves its column: the water that stays, and the water that goes over a boundary or a gate. A pivot
is then a sum of positive numbers, so nothing is ever lost by subtraction, no label can become
negative, and a pivot is zero exactly if the store is empty and lets nothing through.

Every number stands ``lanes`` times side by side, once for each member of the ensemble that is
traced in the same go; the number of lanes is known to the compiler.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from hydroloop.compiling import compiled
from hydroloop.tracing.ordering import Program

NOTHING = 1e-200
"""Water [m3] below this is none: its inverse would overflow, and what is smaller is only slow."""


class Water(NamedTuple):
    """Numbers of a record.

    Attributes
    ----------
    volume : numpy.ndarray
        Shape (edge, store, member) [m3].
    rate : numpy.ndarray
        Shape (time, flow, member) [m3/d].
    days : numpy.ndarray
        Lengths of the steps, shape (time) [d].
    """

    volume: np.ndarray
    rate: np.ndarray
    days: np.ndarray


class Split(NamedTuple):
    """Where the label goes that a flow carries.

    Attributes
    ----------
    inside : numpy.ndarray
        Share of the flow's label that goes on to its target, shape (flow) [-].
    away : numpy.ndarray
        Share that leaves the system of equations, shape (flow) [-].
    """

    inside: np.ndarray
    away: np.ndarray


class Work(NamedTuple):
    """Room for one matrix, flat, with lanes innermost."""

    flow: np.ndarray
    excess: np.ndarray
    inverse: np.ndarray
    lanes: tuple[int, ...]


def room(program: Program, lanes: int) -> Work:
    """Room for one matrix.

    Parameters
    ----------
    program : Program
        Plan of the elimination.
    lanes : int
        Members that are traced side by side.

    Returns
    -------
    Work
        Empty arrays.
    """
    stores = len(program.order)
    slots = len(program.other) + 1
    return Work(np.zeros(slots * lanes), np.zeros((stores + 1) * lanes),
                np.zeros(stores * lanes), (0,) * lanes)  # fmt: skip


@compiled
def assemble(program, water, split, work, at):
    """Put the matrix of step ``at[0]`` together, for the members from ``at[1]`` on."""
    t, first = at
    size = len(work.lanes)
    days = water.days[t]
    work.flow[:] = 0.0
    for k in range(len(program.order)):
        for b in range(size):
            work.excess[k * size + b] = water.volume[t + 1, program.order[k], first + b]
    for q in range(len(program.slot)):
        slot, tail = program.slot[q], program.tail[q]
        inside, away = days * split.inside[q], days * split.away[q]
        for b in range(size):
            rate = water.rate[t, q, first + b]
            work.flow[slot * size + b] += inside * rate
            work.excess[tail * size + b] += away * rate


@compiled
def factor(program, work):
    """Factor the matrix in place; `inverse` gets one over each pivot, or zero."""
    size = len(work.lanes)
    flow, excess, inverse = work.flow, work.excess, work.inverse
    for k in range(len(program.order)):
        start, mid, end = program.start[k], program.mid[k], program.start[k + 1]
        for b in range(size):
            pivot = excess[k * size + b]
            for p in range(start, mid):
                pivot += flow[p * size + b]
            inverse[k * size + b] = 1.0 / pivot if pivot > NOTHING else 0.0
        pair = program.pair_start[k]
        for p in range(start, mid):
            for q in range(mid, end):
                target = program.pair[pair]
                pair += 1
                for b in range(size):
                    flow[target * size + b] += (
                        flow[p * size + b] * flow[q * size + b] * inverse[k * size + b]
                    )
        for q in range(mid, end):
            column = program.other[q]
            for b in range(size):
                excess[column * size + b] += (
                    excess[k * size + b] * flow[q * size + b] * inverse[k * size + b]
                )


@compiled
def solve(program, work, x):
    """Solve the factored system in place: right side in, solution out."""
    size = len(work.lanes)
    flow, inverse = work.flow, work.inverse
    stores = len(program.order)
    for k in range(stores):
        for b in range(size):
            x[k * size + b] *= inverse[k * size + b]
        for p in range(program.start[k], program.mid[k]):
            row = program.other[p]
            for b in range(size):
                x[row * size + b] += flow[p * size + b] * x[k * size + b]
    _back(program, work, x)


@compiled
def _back(program, work, x):
    size = len(work.lanes)
    for k in range(len(program.order) - 1, -1, -1):
        for q in range(program.mid[k], program.start[k + 1]):
            column = program.other[q]
            for b in range(size):
                x[k * size + b] += (
                    work.flow[q * size + b] * x[column * size + b] * work.inverse[k * size + b]
                )


@compiled
def solve_keeping(program, work, x, dry):
    """Solve as `solve` does; what a store without a pivot was given is left in `dry`."""
    size = len(work.lanes)
    flow, inverse = work.flow, work.inverse
    for k in range(len(program.order)):
        for b in range(size):
            dry[k * size + b] = x[k * size + b] if inverse[k * size + b] == 0.0 else 0.0
            x[k * size + b] *= inverse[k * size + b]
        for p in range(program.start[k], program.mid[k]):
            row = program.other[p]
            for b in range(size):
                x[row * size + b] += flow[p * size + b] * x[k * size + b]
    _back(program, work, x)


@compiled
def solve_transposed(program, work, x):
    """Solve the transposed system in place."""
    size = len(work.lanes)
    flow, inverse = work.flow, work.inverse
    stores = len(program.order)
    for k in range(stores):
        for b in range(size):
            x[k * size + b] *= inverse[k * size + b]
        for q in range(program.mid[k], program.start[k + 1]):
            column = program.other[q]
            for b in range(size):
                x[column * size + b] += flow[q * size + b] * x[k * size + b]
    for k in range(stores - 1, -1, -1):
        for p in range(program.start[k], program.mid[k]):
            row = program.other[p]
            for b in range(size):
                x[k * size + b] += (
                    flow[p * size + b] * x[row * size + b] * inverse[k * size + b]
                )
