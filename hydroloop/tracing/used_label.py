"""The used share alone: one label, in place of one for each number of uses."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from hydroloop.compiling import compiled, lent
from hydroloop.tracing.carried_over import WHOLE, slow_stores
from hydroloop.tracing.elimination import At, Split, assemble, factor, room, solve
from hydroloop.tracing.lanes import add_scaled, aligned
from hydroloop.tracing.mean_flows import fed, mean_rates, steady_solver
from hydroloop.tracing.operator import Operator
from hydroloop.tracing.passing import Span, hold, weigh
from hydroloop.tracing.use_shares import LAST_PART
from hydroloop.tracing.warm_up import UNSETTLED, Change, first_year, gain, retained, settle


class Brought(NamedTuple):
    """What flows bring of the label."""

    split: Split  # with the gate shut
    # flows that bring some: which flow, the store it enters in the plan's order, how much of it [-]
    flow: np.ndarray
    head: np.ndarray
    share: np.ndarray


def used_shares(
    op: Operator,
    stores: np.ndarray,
    gates: Sequence[np.ndarray],
    above: Sequence[bool],
    *,
    warm_up: str,
) -> np.ndarray:
    """Share of the water in some stores that has passed a gate, for each of several gates.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    stores : numpy.ndarray of int
        Places of the stores in the record.
    gates : sequence of numpy.ndarray of bool
        Flows of each gate, shape (flow).
    above : sequence of bool
        Whether uses above the record count at the gate.
    warm_up : str
        As in `hydroloop.count_uses`.

    Returns
    -------
    numpy.ndarray
        Shape (gate, edge, store, member) [-].

    Notes
    -----
    ``M c = V c_old + dt sum q(G) + inflow``, with M the matrix of a step in which the gate flows G
    hand no label on: what passes them has been used, whatever its past. So it comes to the sum of
    the shares from one use on of `hydroloop.count_uses`.
    """
    kept = retained(op) if warm_up == "repeat" else np.zeros(0)
    found = np.empty((len(gates), op.shape[0] + 1, len(stores), op.shape[2]))
    place = np.argsort(op.program.order)[stores].astype(np.uint32)
    for out, gate, counts in zip(found, gates, above, strict=True):
        before = (op.source < 0) * op.used_before[:, 1:].sum(axis=1) * counts
        share = np.where(gate, 1.0, before)
        begun = _begun(op, gate, share, kept, warm_up)
        out[0] = np.where(op.water.volume[0] > 0, begun, 0.0)[stores]
        _advance_all(op, _brought(op, gate, share), begun[None], (0, op.shape[0]), (place, out))
    return found


def _brought(op: Operator, gate: np.ndarray, share: np.ndarray) -> Brought:
    flows = np.flatnonzero((share > 0) & (op.target >= 0))
    return Brought(op.split(gate), flows, op.program.head[flows], share[flows])


def _begun(
    op: Operator, gate: np.ndarray, share: np.ndarray, kept: np.ndarray, warm_up: str
) -> np.ndarray:
    """The label at the first edge, (store, member), found as `count_uses` finds its own."""
    if warm_up == "none":
        return np.zeros(op.shape[1:])
    steps = first_year(op)
    guess = _steady(op, gate, share, steps)
    if warm_up == "steady":
        return guess
    brought, is_dry = _brought(op, gate, share), _dry_after(op, steps)

    def year(label: np.ndarray, begin: int = 0) -> np.ndarray:
        return np.where(is_dry, guess, _advance_all(op, brought, label, (begin, steps)))

    begun = np.where(slow_stores(steps, kept), guess, year(guess[None], steps - steps // LAST_PART))
    settled = settle(op, year, begun, _forward(op, brought, steps, kept), most=1.0)
    return np.where(settled.left > UNSETTLED, 0.0, np.minimum(settled.state, 1.0))[0]


def _steady(op: Operator, gate: np.ndarray, share: np.ndarray, steps: int) -> np.ndarray:
    """The label in the steady state of the mean flows of the first steps, (store, member)."""
    label = np.zeros(op.shape[1:])
    into = np.flatnonzero((share > 0) & (op.target >= 0))
    for member, rate in enumerate(mean_rates(op, steps).T):
        given = np.zeros(len(label))
        np.add.at(given, op.target[into], share[into] * rate[into])
        given[~fed(op, rate)] = 0.0
        label[:, member] = steady_solver(op, rate, ~gate)(given)
    return np.maximum(label, 0.0)


def _dry_after(op: Operator, steps: int) -> np.ndarray:
    """Stores that end the steps dry and let nothing through in the last, (store, member)."""
    wet = op.water.volume[steps] > 0
    out = np.flatnonzero(op.source >= 0)
    np.logical_or.at(wet, op.source[out], op.water.rate[steps - 1, out] > 0)
    return ~wet


def _forward(op: Operator, brought: Brought, steps: int, kept: np.ndarray) -> Change:
    """Changes that all further repeats would bring, from those of one: the unused water of slow
    stores brings it on, as in `hydroloop.tracing.carried_over`."""
    is_slow = slow_stores(steps, kept)
    slow = np.flatnonzero(is_slow.any(axis=1))
    gains = np.where(is_slow, 1.0, gain(kept))
    whole = np.zeros((len(slow), *op.shape[1:]))
    whole[np.arange(len(slow)), slow] = 1.0
    nothing = brought._replace(flow=brought.flow[:0])
    stays = _advance_all(op, nothing, whole, (0, steps)) if len(slow) else whole
    stays *= WHOLE * is_slow[slow][:, None]
    solver = np.linalg.inv(np.eye(len(slow)) - stays[:, slow].transpose(2, 1, 0))

    def forward(change: np.ndarray) -> np.ndarray:
        change = change * gains
        begun = np.einsum("mij,jm->im", solver, change[0, slow])
        return change + np.einsum("sm,sim->im", begun, stays)

    return forward


def _advance_all(
    op: Operator,
    brought: Brought,
    labels: np.ndarray,
    span: tuple[int, int],
    out: tuple[np.ndarray, np.ndarray] | None = None,
) -> np.ndarray:
    """Labels, (row, store, member), stepped on from one step to before another; those of the last
    row in some stores are written at every edge, shape (edge, store, member)."""
    after = np.empty_like(labels)
    for first, lanes in op.blocks():
        state = op.packed(labels, (first, lanes))
        rooms = room(op.program, lanes), aligned(len(op.stores) * lanes)
        _advance(op.program, op.water, brought, rooms, state, Span(*span, first), out or _NOWHERE)
        op.unpack(state, (first, lanes), after)
    return after


_NOWHERE = (np.zeros(0, dtype=np.uint32), np.zeros((0, 0, 0)))


@compiled
def _advance(program, water, brought, rooms, state, span, out):
    program, water, brought, rooms, state, out = lent((program, water, brought, rooms, state, out))
    work, held = rooms
    place, written = out
    size = len(work.lanes)
    _, flows, members = water.rate.shape
    for t in range(span.begin, span.end):
        at = At(t, span.first)
        assemble(program, water, brought.split, work, at)
        factor(program, work)
        hold(program, water, at, work.lanes, held)
        for row in range(len(state)):
            x = state[row]
            weigh(x, held)
            for n in range(len(brought.flow)):
                rate = (water.rate, (t * flows + brought.flow[n]) * members + at.first)
                to = (x, brought.head[n] * size)
                add_scaled(to, water.days[t] * brought.share[n], rate, work.lanes)
            solve(program, work, x)
        for s in range(len(place)):
            for b in range(size):
                written[t + 1, s, at.first + b] = state[-1, place[s] * size + b]
