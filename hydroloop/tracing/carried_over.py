"""What slow stores hand on from one year to the next, to themselves and to each other.

Groundwater and lakes still hold last year's water, and some of it comes back to them by way of
rivers and towns. A warm-up that knows how much need not wait until it has all gone round.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hydroloop.compiling import compiled, lent
from hydroloop.tracing.elimination import At, solve
from hydroloop.tracing.lanes import aligned
from hydroloop.tracing.operator import Operator
from hydroloop.tracing.passing import (
    LAST,
    MEAN,
    UNKNOWN,
    Passing,
    Span,
    factor_both,
    hold,
    pass_on,
    rooms_for,
    weigh,
)
from hydroloop.tracing.warm_up import NEVER_LEAVES, gain

MOST_SLOW = 16
"""Slow stores that are followed; where there are more, that would take longer than it spares. In a
record that is much shorter than a year more stores are slow, and a repeat takes less time."""

WHOLE = 1.0 - 1e-6
"""Part that is taken of what goes round for ever, so that bringing it forward has an end."""

_SLOW = 0.01  # share of a store's water that stays over the year, from which the store is slow


@dataclass(frozen=True, eq=False)
class CarriedOver:
    """How the labels at the year's end depend on those that slow stores begin it with."""

    slow: np.ndarray  # the slow stores, shape (slow)
    # share of the water of each store at the year's end that was in a slow store at its beginning,
    # and has passed the gate never, or once, since; shape (slow, store, member) [-]
    unused: np.ndarray
    used: np.ndarray
    # what a change comes to in a store by itself, 1 where its water is followed; shape (store,
    # member) [-]
    gain: np.ndarray

    def brought_forward(self, change: np.ndarray) -> np.ndarray:
        """Changes, shape (row, store, member), that all further repeats would bring, from those of
        one.

        With A0 and A1 the shares of slow stores by slow stores, unused and used, the changes d
        of class k come to d_k = r_k + A0 d_k + A1 d_(k-1), for r_k those of the year; of the
        last class, and of the mean, to d = r + (A0 + A1) d, for the last with A1 d_(k-1)
        besides. Water that is used twice in the year is left to further repeats, in every row
        alike: so no label comes to less than nothing, and those of a store still sum to one.
        """
        change = change * self.gain
        if not len(self.slow):
            return change
        inner = [share[:, self.slow].transpose(2, 1, 0) for share in (self.unused, self.used)]
        one = np.eye(len(self.slow))
        shut, both = (np.linalg.inv(one - kept) for kept in (inner[0], inner[0] + inner[1]))
        begun = change[:, self.slow].transpose(2, 0, 1)
        found = np.zeros_like(begun)
        last, unknown, mean = (len(change) + row for row in (LAST, UNKNOWN, MEAN))
        for row in (unknown, *range(last + 1), mean):
            given = begun[:, row].copy()
            if 0 < row <= last:
                before = found[:, row - 1] + (found[:, unknown] if row == 1 else 0.0)
                given += np.einsum("mij,mj->mi", inner[1], before)
            solver = both if row in (last, mean) else shut
            found[:, row] = np.einsum("mij,mj->mi", solver, given)
        return change + self._handed_on(found.transpose(1, 2, 0))

    def _handed_on(self, begun: np.ndarray) -> np.ndarray:
        """What labels of slow stores, shape (row, slow, member), become in all stores."""
        stay = np.einsum("rsm,sim->rim", begun, self.unused)
        pass_gate = np.einsum("rsm,sim->rim", begun, self.used)
        stay[1:UNKNOWN] += pass_gate[:LAST]
        stay[1] += pass_gate[UNKNOWN]
        for row in (LAST, MEAN):
            stay[row] += pass_gate[row]
        return stay


def carried_over(op: Operator, gate: Passing, steps: int, kept: np.ndarray) -> CarriedOver:
    """Follow the water of slow stores through the year; `kept` is the share of each store's first
    water that has surely not left it by then, shape (store, member) [-]. Without stores where none
    is slow, or too many are."""
    is_slow = slow_stores(steps, kept)
    slow = np.flatnonzero(is_slow.any(axis=1))
    shares = np.zeros((2, len(slow), *op.shape[1:]))
    for first, lanes in op.blocks() if len(slow) else ():
        states = _begin(op, slow, lanes)
        _hand_on(
            op.program, op.water, gate, rooms_for(op, gate, lanes), states, Span(0, steps, first)
        )
        for number, state in enumerate(states):
            op.unpack(state, (first, lanes), shares[:, number])
    shares *= WHOLE * is_slow[slow][:, None]
    unused, used = shares
    return CarriedOver(slow, unused, used, np.where(is_slow, 1.0, gain(kept)))


def slow_stores(steps: int, kept: np.ndarray) -> np.ndarray:
    """Stores whose water is followed, (store, member): none for a member that has too many.

    By member, so that each comes to what it would come to alone.
    """
    is_slow = (kept >= _SLOW) & (kept < NEVER_LEAVES)
    is_slow &= is_slow.sum(axis=0) <= MOST_SLOW * min(max(1, 365 // steps), 6)
    return is_slow


def _begin(op: Operator, slow: np.ndarray, lanes: int) -> np.ndarray:
    """For each slow store the labels, unused and used, of water that is all in it."""
    states = aligned(len(slow), 2, len(op.stores) * lanes)
    for state, place in zip(states, np.argsort(op.program.order)[slow].tolist(), strict=True):
        state[0, place * lanes : (place + 1) * lanes] = 1.0
    return states


@compiled
def _hand_on(program, water, gate, rooms, states, span):
    program, water, gate, rooms, states = lent((program, water, gate, rooms, states))
    shut, moved, held = rooms.shut, rooms.moved, rooms.held
    for t in range(span.begin, span.end):
        at = At(t, span.first)
        factor_both(program, water, gate, rooms, at)
        hold(program, water, at, shut.lanes, held)
        for number in range(len(states)):
            unused, used = states[number, 0], states[number, 1]
            weigh(unused, held)
            solve(program, shut, unused)
            weigh(used, held)
            pass_on(gate, moved, unused, used, shut.lanes)
            solve(program, shut, used)  # the gate is shut: what passes it again is left out
