"""Step the parts of used water through a record: who used it last, and how it came back.

A label for each user, in place of one for each number of uses: water that passes the gate to user
j takes label j and loses all others. A second label is the way by which it came back, set by the
last returning flow that it crossed since. All labels of a step share two matrices, so they stand
side by side as members do elsewhere, `SIDE` at a time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from hydroloop.compiling import compiled
from hydroloop.tracing.elimination import (
    At,
    Split,
    assemble,
    factor,
    room,
    solve_side_by_side,
    weigh_side_by_side,
)
from hydroloop.tracing.lanes import aligned
from hydroloop.tracing.operator import Operator
from hydroloop.tracing.passing import hold
from hydroloop.tracing.returning import RETURNS, Users, ways_of

SIDE = 32
"""Labels that stand side by side."""

APART = ("above", "untold", "never", "unknown")
"""Labels of water without a user in the record, after those of the users."""


class Crossings(NamedTuple):
    """What sets the labels.

    Attributes
    ----------
    gate, marks : Split
        Where labels go with the gate shut, and with the returning flows shut too.
    use_flow, use_head, use_label, use_way : numpy.ndarray
        Flows of the gate: which flow, the store it enters in the plan's order, the label of its
        user, and the way that it sets.
    enter_flow, enter_head, enter_label, enter_share : numpy.ndarray
        Inflows over a boundary, and the share of them that a label takes [-].
    mark_flow, mark_tail, mark_head, mark_way : numpy.ndarray
        Returning flows between stores, and the way that each sets.
    town : numpy.ndarray
        Town of each label, for the ways; -1 where ways are not asked.
    towns : int
        How many towns there are.
    """

    gate: Split
    marks: Split
    use_flow: np.ndarray
    use_head: np.ndarray
    use_label: np.ndarray
    use_way: np.ndarray
    enter_flow: np.ndarray
    enter_head: np.ndarray
    enter_label: np.ndarray
    enter_share: np.ndarray
    mark_flow: np.ndarray
    mark_tail: np.ndarray
    mark_head: np.ndarray
    mark_way: np.ndarray
    town: np.ndarray
    towns: int


@dataclass(frozen=True, eq=False)
class Parts:
    """Labels of users, and of their towns by way.

    Attributes
    ----------
    user : numpy.ndarray
        Labels of users and then `APART`, shape (label, ...) [-].
    way : numpy.ndarray
        Those of towns by way: not returned, then `RETURNS`; shape (way, town, ...) [-].
    """

    user: np.ndarray
    way: np.ndarray

    @property
    def towns(self) -> np.ndarray:
        """Sum over the ways, shape (town, ...)."""
        return np.asarray(self.way.sum(axis=0))


def crossings(op: Operator, gate: np.ndarray, users: Users) -> Crossings:
    """Prepare what sets the labels."""
    way = ways_of(op)
    used = np.flatnonzero((users.of_flow >= 0) & (op.target >= 0))
    marks = np.flatnonzero((way >= 0) & ~gate)
    entering = np.flatnonzero((op.source < 0) & (op.target >= 0) & ~gate)
    shares = np.zeros((len(APART), len(entering)))
    shares[APART.index("above")] = op.used_before[entering, 1:].sum(axis=1)
    shares[APART.index("never")] = op.used_before[entering, 0]
    labels, flows = np.nonzero(shares)
    towns = {name: k for k, name in enumerate(dict.fromkeys(users.town))}
    head = op.program.head
    return Crossings(
        op.split(gate),
        op.split(gate | (way >= 0)),
        used,
        head[used],
        users.of_flow[used],
        way[used] + 1,
        entering[flows],
        head[entering[flows]],
        labels + len(users.town),
        shares[labels, flows],
        marks,
        op.program.tail[marks],
        head[marks],
        way[marks] + 1,
        np.array([*(towns[name] for name in users.town), *[-1] * len(APART)], dtype=np.int64),
        len(towns),
    )


def nothing(op: Operator, rules: Crossings) -> Parts:
    """Labels of no water, shape (label, store)."""
    stores = len(op.stores)
    return Parts(
        np.zeros((len(rules.town), stores)), np.zeros((len(RETURNS) + 1, rules.towns, stores))
    )


def advance(
    op: Operator, rules: Crossings, begun: Parts, steps: int, stores: np.ndarray | None = None
) -> tuple[Parts, Parts]:
    """Step the labels of one member on.

    Parameters
    ----------
    op : Operator
        Operator of the record, with one member.
    rules : Crossings
        What sets the labels.
    begun : Parts
        Labels at the first edge, shape (label, store).
    steps : int
        Number of steps, from the first of the record on.
    stores : numpy.ndarray of int, optional
        Stores whose labels are wanted at every edge.

    Returns
    -------
    tuple of Parts
        Labels after the steps; and those of the stores, shape (label, edge, store).

    Notes
    -----
    For user j with gate flows G_j: ``M c_j = V c_j_old + dt sum q(G_j)``, with M the matrix of a
    step in which the gate hands no label on. Of town n by way w, with returning flows R_w:
    ``M' c_nw = V c_nw_old + dt sum q(R_w) c_n``, with c_n the sum of the town's users, and M' the
    matrix in which returning flows hand none on either. So the ways of a town sum to the town.
    """
    chosen = np.zeros(0, dtype=np.int64) if stores is None else stores
    user = _side_by_side(op, begun.user)
    owners = len(begun.way) * rules.towns
    way = _side_by_side(op, begun.way.reshape(owners, len(op.stores)))
    edges = steps + 1 if len(chosen) else 0
    out = Parts(
        np.zeros((len(begun.user), edges, len(chosen))),
        np.zeros((*begun.way.shape[:2], edges, len(chosen))),
    )
    if edges:
        held = op.water.volume[0, chosen, 0] > 0
        out.user[:, 0], out.way[:, :, 0] = (
            np.where(held, labels[..., chosen], 0.0) for labels in (begun.user, begun.way)
        )
    works = room(op.program, 1), room(op.program, 1)
    place = np.argsort(op.program.order)[chosen].astype(np.int64)
    _advance(
        op.program,
        op.water,
        rules,
        works,
        (user, way),
        steps,
        (0,) * SIDE,
        (place, out.user, out.way.reshape(owners, *out.way.shape[2:])),
    )
    ways = _apart(op, way, owners)
    return Parts(_apart(op, user, len(begun.user)), ways.reshape(begun.way.shape)), out


def _side_by_side(op: Operator, labels: np.ndarray) -> np.ndarray:
    """Labels (label, store) in the plan's order, `SIDE` of them innermost."""
    blocks = max(1, -(-len(labels) // SIDE))
    packed = aligned(blocks, len(op.stores) * SIDE)
    for k, lying in enumerate(packed.reshape(blocks, len(op.stores), SIDE)):
        here = labels[k * SIDE : (k + 1) * SIDE]
        lying[:, : len(here)] = here[:, op.program.order].T
    return packed


def _apart(op: Operator, packed: np.ndarray, count: int) -> np.ndarray:
    """What `_side_by_side` put together, shape (label, store)."""
    lying = packed.reshape(len(packed), len(op.stores), SIDE).transpose(0, 2, 1)
    labels = np.empty((count, len(op.stores)))
    labels[:, op.program.order] = lying.reshape(-1, len(op.stores))[:count]
    return labels


@compiled
def _advance(program, water, rules, works, states, steps, lanes, out):
    gate, marks = works
    user, way = states
    held = np.empty(len(program.order))
    for t in range(steps):
        assemble(program, water, rules.gate, gate, At(t, 0))
        factor(program, gate)
        assemble(program, water, rules.marks, marks, At(t, 0))
        factor(program, marks)
        hold(program, water, At(t, 0), gate.lanes, held)
        for block in range(len(user)):
            weigh_side_by_side(user[block], held, lanes)
        for block in range(len(way)):
            weigh_side_by_side(way[block], held, lanes)
        _use(water, rules, t, user, way, len(lanes))
        for block in range(len(user)):
            solve_side_by_side(program, gate, user[block], lanes)
        _mark(water, rules, t, user, way, len(lanes))
        for block in range(len(way)):
            solve_side_by_side(program, marks, way[block], lanes)
        _write(user, way, t, len(lanes), out)


@compiled
def _use(water, rules, t, user, way, size):
    """All that passes the gate takes the label of its user; what enters has one already."""
    days = water.days[t]
    for n in range(len(rules.use_flow)):
        amount = days * water.rate[t, rules.use_flow[n], 0]
        label, at = rules.use_label[n], rules.use_head[n] * size
        user[label // size, at + label % size] += amount
        if rules.town[label] >= 0:
            own = rules.use_way[n] * rules.towns + rules.town[label]
            way[own // size, at + own % size] += amount
    for n in range(len(rules.enter_flow)):
        amount = days * water.rate[t, rules.enter_flow[n], 0] * rules.enter_share[n]
        label = rules.enter_label[n]
        user[label // size, rules.enter_head[n] * size + label % size] += amount


@compiled
def _mark(water, rules, t, user, way, size):
    """What crosses a returning flow takes its way, whatever way it had."""
    for n in range(len(rules.mark_flow)):
        amount = water.days[t] * water.rate[t, rules.mark_flow[n], 0]
        if amount == 0.0:
            continue
        tail, head = rules.mark_tail[n] * size, rules.mark_head[n] * size
        for label in range(len(rules.town)):
            if rules.town[label] >= 0:
                own = rules.mark_way[n] * rules.towns + rules.town[label]
                share = user[label // size, tail + label % size]
                way[own // size, head + own % size] += amount * share


@compiled
def _write(user, way, t, size, out):
    place, by_user, by_way = out
    for s in range(len(place)):
        at = place[s] * size
        for label in range(len(by_user)):
            by_user[label, t + 1, s] = user[label // size, at + label % size]
        for own in range(len(by_way)):
            by_way[own, t + 1, s] = way[own // size, at + own % size]
