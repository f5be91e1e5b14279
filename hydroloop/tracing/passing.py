"""Step use classes through a record: the compiled part of `count_uses` and `follow`."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from hydroloop.compiling import compiled, lent
from hydroloop.tracing.elimination import At, Split, Work, assemble, factor, room, solve
from hydroloop.tracing.lanes import NOTHING, add_product, add_scaled, aligned
from hydroloop.tracing.operator import Operator

LAST, UNKNOWN, MEAN = -3, -2, -1
"""Rows of labels: use classes 0, 1, ... up to the last, water of an unknown past, mean of uses."""


class Passing(NamedTuple):
    """What a gate does to the flows of a record."""

    others: Split  # flows that are no gate between stores
    # gate flows between stores: which flow, the stores it joins in the plan's order, and where it
    # stands in the matrix. With the gate shut, what passes it leaves the system of its class; for
    # the last class and for the mean it is open
    flow: np.ndarray
    tail: np.ndarray
    head: np.ndarray
    slot: np.ndarray
    enter_start: np.ndarray  # where the entries of each row begin, shape (row + 1)
    # inflows over a boundary: which flow, the store, and the row's share of it [-]
    enter_flow: np.ndarray
    enter_head: np.ndarray
    enter_share: np.ndarray


class Rooms(NamedTuple):
    """Room for a step of a block of members."""

    shut: Work  # matrix with the gate shut
    whole: Work  # and with the gate open
    moved: np.ndarray  # water that passes each gate flow, shape (gate flow times lanes)
    held: np.ndarray  # water that each store holds at the step's start, shape (store times lanes)


class Span(NamedTuple):
    """Steps, and the first member of the block that they are taken for."""

    begin: int
    end: int
    first: int


class Uses(NamedTuple):
    """Where the labels of every edge are written."""

    share: np.ndarray  # shape (use, edge, store, member) [-]
    # shape (edge, store, member)
    unknown: np.ndarray
    mean: np.ndarray
    place: np.ndarray  # place in the plan's order of each store that is written


def passing(op: Operator, gate: np.ndarray, most: int) -> Passing:
    """Prepare a gate (flows) for tracing, up to the last use class."""
    program = op.program
    between = gate & (op.source >= 0) & (op.target >= 0)
    inner = np.flatnonzero(between)
    table = entering(op, gate, most)
    rows, flows = map(np.ascontiguousarray, np.nonzero(table))
    start = np.searchsorted(rows, np.arange(most + 4))
    others = op.split(None, np.where(between, 0.0, 1.0))
    return Passing(
        others,
        inner,
        program.tail[inner],
        program.head[inner],
        program.slot[inner],
        start,
        flows,
        program.head[flows],
        table[rows, flows],
    )


def entering(op: Operator, gate: np.ndarray, most: int) -> np.ndarray:
    """Shares of each boundary inflow by row: use classes, unknown past (none), mean of uses; shape
    (most + 3, flow) [-]. An inflow in the gate has passed once more."""
    table = np.zeros((most + 3, len(op.flows)))
    for flow in np.flatnonzero(op.source < 0).tolist():
        for earlier, share in enumerate(op.used_before[flow].tolist()):
            uses = earlier + int(gate[flow])
            table[min(uses, most), flow] += share
            table[MEAN, flow] += share * uses
    return table


def advance(
    op: Operator,
    gate: Passing,
    state: np.ndarray,
    block: tuple[int, int],
    *,
    steps: int,
    begin: int = 0,
    out: Uses | None = None,
) -> None:
    """Step the classes of a block of members on, in place, from one step of the record to before
    another. `state` has labels by row, and by store in the plan's order with lanes innermost."""
    # A class that nothing has come to yet need not be solved for.
    is_there = np.asarray(state.any(axis=1))
    is_there[MEAN] = True
    first, lanes = block
    _advance(
        op.program,
        op.water,
        gate,
        rooms_for(op, gate, lanes),
        state,
        Span(begin, steps, first),
        is_there,
        out or _NOWHERE,
    )


_NOWHERE = Uses(
    np.zeros((0, 0, 0, 0)), np.zeros((0, 0, 0)), np.zeros((0, 0, 0)), np.zeros(0, dtype=np.uint32)
)


@compiled
def _advance(program, water, gate, rooms, state, span, is_there, out):
    program, water, gate, rooms, state, out = lent((program, water, gate, rooms, state, out))
    lanes = rooms.shut.lanes
    size = len(lanes)
    rows = state.shape[0]
    last, unknown, mean = rows + LAST, rows + UNKNOWN, rows + MEAN
    for t in range(span.begin, span.end):
        at = At(t, span.first)
        factor_both(program, water, gate, rooms, at)
        hold(program, water, at, lanes, rooms.held)
        # Unknown past first: what of it passes the gate is known to have been used once.
        for turn in range(rows):
            row = unknown if turn == 0 else (mean if turn == mean else turn - 1)
            if not is_there[row]:
                is_there[row] = _comes(gate, state, row, is_there)
                if not is_there[row]:
                    continue
            x = state[row]
            weigh(x, rooms.held)
            _enter(water, gate, x, row, at, lanes)
            if 0 < row <= last:
                pass_on(gate, rooms.moved, state[row - 1], x, lanes)
            if row == 1 and is_there[unknown]:
                pass_on(gate, rooms.moved, state[unknown], x, lanes)
            if row == mean:
                for g in range(len(gate.flow)):
                    add_scaled((x, gate.head[g] * size), 1.0, (rooms.moved, g * size), lanes)
            solve(program, rooms.whole if row in (last, mean) else rooms.shut, x)
        if out.mean.shape[0] > 0:
            _write(state, out, at, lanes)


@compiled
def factor_both(program, water, gate, rooms, at):
    """Matrices of a step with the gate shut and open, factored, and what passes the gate."""
    apart, whole, moved, t = rooms.shut, rooms.whole, rooms.moved, at.step
    size = len(apart.lanes)
    _, flows, members = water.rate.shape
    assemble(program, water, gate.others, apart, at)
    whole.flow[:] = apart.flow
    whole.excess[:] = apart.excess
    moved[:] = 0.0
    for g in range(len(gate.flow)):
        place = (t * flows + gate.flow[g]) * members + at.first
        add_scaled((moved, g * size), water.days[t], (water.rate, place), apart.lanes)
        passing = (moved, g * size)
        add_scaled((apart.excess, gate.tail[g] * size), 1.0, passing, apart.lanes)
        add_scaled((whole.flow, gate.slot[g] * size), 1.0, passing, apart.lanes)
    factor(program, apart)
    factor(program, whole)


@compiled
def hold(program, water, at, lanes, held):
    """Water that the stores hold at the start of a step, in the plan's order."""
    size = len(lanes)
    for k in range(len(program.order)):
        for b in range(size):
            held[k * size + b] = water.volume[at.step, program.order[k], at.first + b]


@compiled
def weigh(x, held):
    """Turn labels into label times volume; what is next to nothing is none."""
    for i in range(len(x)):
        amount = x[i] * held[i]
        x[i] = amount if amount > NOTHING else 0.0


@compiled
def _comes(gate, state, row, is_there):
    """Whether a class that was empty so far may be so no longer."""
    if gate.enter_start[row + 1] > gate.enter_start[row]:
        return True
    if row == 1 and is_there[UNKNOWN]:
        return True
    return 0 < row < len(is_there) + UNKNOWN and is_there[row - 1] and state[row - 1].any()


@compiled
def _enter(water, gate, x, row, at, lanes):
    _, flows, members = water.rate.shape
    for e in range(gate.enter_start[row], gate.enter_start[row + 1]):
        place = (at.step * flows + gate.enter_flow[e]) * members + at.first
        share = water.days[at.step] * gate.enter_share[e]
        add_scaled((x, gate.enter_head[e] * len(lanes)), share, (water.rate, place), lanes)


@compiled
def pass_on(gate, moved, lower, x, lanes):
    """Add what passes the gate with the labels of the class below."""
    size = len(lanes)
    for g in range(len(gate.flow)):
        of = gate.tail[g] * size
        add_product((x, gate.head[g] * size), (moved, g * size), (lower, of), lanes)


@compiled
def _write(state, out, at, lanes):
    edge = at.step + 1
    size = len(lanes)
    rows = state.shape[0]
    # One class after the other, so that what is written lies close together.
    for row in range(rows):
        if row < rows + UNKNOWN:
            target = out.share[row, edge]
        else:
            target = out.unknown[edge] if row == rows + UNKNOWN else out.mean[edge]
        x = state[row]
        for store in range(len(out.place)):
            k = out.place[store]
            for b in range(size):
                target[store, at.first + b] = x[k * size + b]


class Parcel(NamedTuple):
    """A parcel on its way, by number of passes."""

    gone: np.ndarray  # share that has left, shape (use, boundary, lane) [-]
    # flows to a boundary: which flow, from which store, to which boundary, and whether it is in the
    # gate
    exit_flow: np.ndarray
    exit_tail: np.ndarray
    exit_place: np.ndarray
    exit_passes: np.ndarray


def carry(
    op: Operator, gate: Passing, state: np.ndarray, parcel: Parcel, *, begin: At, series: np.ndarray
) -> None:
    """Carry a parcel of a block of members to the end of the record, in place. `state` is label
    times volume at the first step, without unknown past and mean; `series` takes shares by step,
    (use, step, place, member), and has no rows if unwanted."""
    rooms = rooms_for(op, gate, parcel.gone.shape[-1])
    span = Span(begin.step, op.shape[0], begin.first)
    _carry(op.program, op.water, gate, rooms, state, parcel, span, series)


@compiled
def _carry(program, water, gate, rooms, state, parcel, span, series):
    lanes = rooms.shut.lanes
    size = len(lanes)
    last = state.shape[0] - 1
    for t in range(span.begin, span.end):
        at = At(t, span.first)
        factor_both(program, water, gate, rooms, at)
        hold(program, water, at, lanes, rooms.held)
        for row in range(last + 1):
            x = state[row]
            if t > span.begin:
                weigh(x, rooms.held)
            if row > 0:
                pass_on(gate, rooms.moved, state[row - 1], x, lanes)
            solve(program, rooms.whole if row == last else rooms.shut, x)
            for e in range(len(parcel.exit_flow)):
                uses = min(row + parcel.exit_passes[e], last)
                for b in range(size):
                    parcel.gone[uses, parcel.exit_place[e], b] += (
                        water.days[t]
                        * water.rate[t, parcel.exit_flow[e], span.first + b]
                        * x[parcel.exit_tail[e] * size + b]
                    )
        if series.shape[0] > 0:
            _write_parcel(program, water, state, parcel, at, lanes, series[:, t - span.begin])


@compiled
def _write_parcel(program, water, state, parcel, at, lanes, series):
    size = len(lanes)
    stores = len(program.order)
    for row in range(state.shape[0]):
        for b in range(size):
            for k in range(stores):
                store = program.order[k]
                volume = water.volume[at.step + 1, store, at.first + b]
                series[row, store, at.first + b] = volume * state[row, k * size + b]
            for place in range(parcel.gone.shape[1]):
                series[row, stores + place, at.first + b] = parcel.gone[row, place, b]


def rooms_for(op: Operator, gate: Passing, lanes: int) -> Rooms:
    """Room for as many members side by side."""
    return Rooms(
        room(op.program, lanes),
        room(op.program, lanes),
        aligned(len(gate.flow) * lanes),
        aligned(len(op.stores) * lanes),
    )
