"""Step back from a glass: the transposed operator, compiled."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from hydroloop.compiling import compiled
from hydroloop.tracing.elimination import At, assemble, factor, room, solve_transposed
from hydroloop.tracing.lanes import NOTHING, aligned
from hydroloop.tracing.operator import Operator
from hydroloop.tracing.passing import passing


class Glasses(NamedTuple):
    """Where each glass is drawn, in the plan's order, and in which step."""

    place: np.ndarray
    began: np.ndarray


class Doors(NamedTuple):
    """Flows in over a boundary, the stores they enter in the plan's order, whether in the gate."""

    flow: np.ndarray
    head: np.ndarray
    is_gate: np.ndarray


class Met(NamedTuple):
    """What a glass meets on its way back."""

    # share whose last pass through the gate was so many steps back, (glass, step, member) [-]
    passed: np.ndarray
    # share that entered over a boundary, not through the gate, so many steps back, (glass, step,
    # member) [-]
    entered: np.ndarray
    by_flow: np.ndarray  # share that entered by each flow, (glass, flow, member) [-]
    # share that stood in each store at the first edge, (glass, store, member) [-]
    standing: np.ndarray


def look_back(op: Operator, gate: np.ndarray, stores: list[int], steps: list[int]) -> Met:
    """Follow glasses of water, drawn from stores in steps, back to the gate (flows), the boundary
    or the first edge. With M the matrix of a step, e the glass and z = M^-T e, the flow q from a
    gate or boundary into store i has brought the share dt q z_i; V_i z_i was there at the step's
    start."""
    count, (_, n, members) = len(stores), op.shape
    far = max(steps) + 1
    met = Met(
        np.zeros((count, far, members)),
        np.zeros((count, far, members)),
        np.zeros((count, len(op.flows), members)),
        np.zeros((count, n, members)),
    )
    place = np.argsort(op.program.order)[np.array(stores, dtype=np.int64)]
    glasses = Glasses(place, np.array(steps, dtype=np.int64))
    split, prepared = op.split(gate), passing(op, gate, 1)
    edge = np.flatnonzero((op.source < 0) & (op.target >= 0))
    doors = Doors(edge, op.program.head[edge], gate[edge])
    for first, lanes in op.blocks():
        work = room(op.program, lanes)
        state = aligned(count, n * lanes)
        _back(op.program, op.water, split, prepared, work, state, first, glasses, doors, met)
    return met


@compiled
def _back(program, water, split, gate, work, state, first, glasses, doors, met):
    place, began = glasses.place, glasses.began
    size = len(work.lanes)
    stores = len(program.order)
    for t in range(began.max(), -1, -1):
        assemble(program, water, split, work, At(t, first))
        factor(program, work)
        for glass in range(len(began)):
            if began[glass] < t:
                continue
            x = state[glass]
            if began[glass] == t:
                for b in range(size):
                    x[place[glass] * size + b] = 1.0
            elif not x.any():
                continue
            solve_transposed(program, work, x)
            _meet(water, gate, x, At(t, first), work.lanes, doors, glass, began[glass] - t, met)
            for k in range(stores):
                for b in range(size):
                    left = x[k * size + b] * water.volume[t, program.order[k], first + b]
                    # Below this it is nothing, and would only slow the arithmetic down.
                    x[k * size + b] = left if left > NOTHING else 0.0
    for glass in range(len(began)):
        for k in range(stores):
            for b in range(size):
                met.standing[glass, program.order[k], first + b] = state[glass, k * size + b]


@compiled
def _meet(water, gate, x, at, lanes, doors, glass, back, met):
    t, first = at.step, at.first
    size = len(lanes)
    for g in range(len(gate.flow)):
        for b in range(size):
            moved = water.days[t] * water.rate[t, gate.flow[g], first + b]
            met.passed[glass, back, first + b] += moved * x[gate.head[g] * size + b]
    for e in range(len(doors.flow)):
        flow, head = doors.flow[e], doors.head[e] * size
        for b in range(size):
            share = water.days[t] * water.rate[t, flow, first + b] * x[head + b]
            if doors.is_gate[e]:
                met.passed[glass, back, first + b] += share
            else:
                met.entered[glass, back, first + b] += share
                met.by_flow[glass, flow, first + b] += share
