"""One step of the operator: put its matrix together, factor it, solve it, both ways.

The matrix of a step is ``diag(V[t+1] + dt sum_out q) - dt F'``, with F'[i, j] the flow from j to i.
What is kept of it are the flows off the diagonal, as positive numbers, and for each store what
leaves its column: the water that stays, and the water that goes over a boundary or a gate. A pivot
is then a sum of positive numbers, so nothing is ever lost by subtraction, no label can become
negative, and a pivot is zero exactly if the store is empty and lets nothing through.

Factored it is ``(I - L) D (I - U)``, with L and U not negative: both solves are then flat lists of
sums, which a processor runs through without asking.

Every number stands ``lanes`` times side by side, once for each member of the ensemble that is
traced in the same go; the number of lanes is known to the compiler.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from hydroloop.compiling import compiled
from hydroloop.tracing.along_the_flow import Program
from hydroloop.tracing.lanes import add_product, add_scaled, aligned, invert, multiply, scale


class Water(NamedTuple):
    """Numbers of a record."""

    volume: np.ndarray  # shape (edge, store, member) [m3]
    rate: np.ndarray  # shape (time, flow, member) [m3/d]
    days: np.ndarray  # lengths of the steps, shape (time) [d]


class Split(NamedTuple):
    """Where the label goes that a flow carries."""

    # flows whose label goes on to their target, and how much of it [-]
    inside: np.ndarray
    inside_share: np.ndarray
    # flows whose label leaves the system of equations, and how much of it [-]
    away: np.ndarray
    away_share: np.ndarray


class At(NamedTuple):
    """A step of a record, and the first of the members that are worked on side by side."""

    step: int
    first: int


def split_of(inside: np.ndarray, away: np.ndarray) -> Split:
    """The flows that carry a label on to their target, and those that carry it away, each with the
    share of it, shape (flow) [-]."""
    some, gone = np.flatnonzero(inside), np.flatnonzero(away)
    return Split(some, inside[some].astype(float), gone, away[gone].astype(float))


class Work(NamedTuple):
    """Room for one matrix, flat, with lanes innermost."""

    flow: np.ndarray
    excess: np.ndarray
    inverse: np.ndarray
    lanes: tuple[int, ...]


def room(program: Program, lanes: int) -> Work:
    """Room for one matrix of as many lanes, members that are traced side by side."""
    stores = len(program.order)
    slots = len(program.row) + 1
    return Work(
        aligned(slots * lanes), aligned((stores + 1) * lanes), aligned(stores * lanes), (0,) * lanes
    )


@compiled
def assemble(program, water, split, work, at):
    """Put the matrix of a step together, for the members of a block."""
    t, first = at.step, at.first
    size = len(work.lanes)
    _, stores, members = water.volume.shape
    flows = water.rate.shape[1]
    days = water.days[t]
    work.flow[:] = 0.0
    work.excess[:] = 0.0
    for k in range(len(program.order)):
        place = ((t + 1) * stores + program.order[k]) * members + first
        add_scaled((work.excess, k * size), 1.0, (water.volume, place), work.lanes)
    for n in range(len(split.inside)):
        q = split.inside[n]
        place = (t * flows + q) * members + first
        share = days * split.inside_share[n]
        add_scaled((work.flow, program.slot[q] * size), share, (water.rate, place), work.lanes)
    for n in range(len(split.away)):
        q = split.away[n]
        place = (t * flows + q) * members + first
        share = days * split.away_share[n]
        add_scaled((work.excess, program.tail[q] * size), share, (water.rate, place), work.lanes)


@compiled
def factor(program, work):
    """Factor the matrix in place; `inverse` gets one over each pivot, or zero."""
    flow, excess, inverse, lanes = work
    size = len(lanes)
    inverse[:] = 0.0
    for k in range(len(program.order)):
        at = k * size
        add_scaled((inverse, at), 1.0, (excess, at), lanes)
        for p in range(program.start[k], program.start[k + 1]):
            add_scaled((inverse, at), 1.0, (flow, p * size), lanes)
        invert((inverse, at), lanes)
        pair = program.pair_start[k]
        for p in range(program.start[k], program.start[k + 1]):
            multiply((flow, p * size), (inverse, at), lanes)
            for q in range(program.across[k + 1], program.across[k]):
                to = program.pair[pair] * size
                add_product((flow, to), (flow, p * size), (flow, q * size), lanes)
                pair += 1
        for q in range(program.across[k + 1], program.across[k]):
            multiply((flow, q * size), (inverse, at), lanes)
            to = program.column[q] * size
            add_product((excess, to), (excess, at), (flow, q * size), lanes)


@compiled
def solve(program, work, x):
    """Solve the factored system in place: right side in, solution out."""
    _forward(program, work, x)
    for i in range(len(x)):
        x[i] *= work.inverse[i]
    _back(program, work, x)


@compiled
def solve_keeping(program, work, x, dry):
    """Solve as `solve` does; what a store without a pivot was given is left in `dry`."""
    _forward(program, work, x)
    for i in range(len(x)):
        dry[i] = x[i] if work.inverse[i] == 0.0 else 0.0
        x[i] *= work.inverse[i]
    _back(program, work, x)


@compiled
def solve_side_by_side(program, work, x, lanes):
    """Solve for many right sides at once, in place; the matrix is that of one member."""
    size = len(lanes)
    for p in range(program.across[-1]):
        to, of = program.row[p] * size, program.column[p] * size
        add_scaled((x, to), work.flow[p], (x, of), lanes)
    for k in range(len(program.order)):
        scale((x, k * size), work.inverse[k], lanes)
    for p in range(program.across[-1], len(program.row)):
        to, of = program.row[p] * size, program.column[p] * size
        add_scaled((x, to), work.flow[p], (x, of), lanes)


@compiled
def weigh_side_by_side(x, held, lanes):
    """Turn many labels of each store into label times volume; what is next to nothing is none."""
    for k in range(len(held)):
        scale((x, k * len(lanes)), held[k], lanes)


@compiled
def _forward(program, work, x):
    size = len(work.lanes)
    for p in range(program.across[-1]):
        to, of = program.row[p] * size, program.column[p] * size
        add_product((x, to), (work.flow, p * size), (x, of), work.lanes)


@compiled
def _back(program, work, x):
    size = len(work.lanes)
    for p in range(program.across[-1], len(program.row)):
        to, of = program.row[p] * size, program.column[p] * size
        add_product((x, to), (work.flow, p * size), (x, of), work.lanes)


@compiled
def solve_transposed(program, work, x):
    """Solve the transposed system in place."""
    size = len(work.lanes)
    for p in range(len(program.row) - 1, program.across[-1] - 1, -1):
        to, of = program.column[p] * size, program.row[p] * size
        add_product((x, to), (work.flow, p * size), (x, of), work.lanes)
    for i in range(len(x)):
        x[i] *= work.inverse[i]
    for p in range(program.across[-1] - 1, -1, -1):
        to, of = program.column[p] * size, program.row[p] * size
        add_product((x, to), (work.flow, p * size), (x, of), work.lanes)
