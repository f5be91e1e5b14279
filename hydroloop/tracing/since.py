"""Time since water passed some flows, all releases at once: cohorts on their way."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from hydroloop.compiling import compiled, lent
from hydroloop.tracing.along_the_flow import plan, spread
from hydroloop.tracing.elimination import (
    At,
    Water,
    assemble,
    factor,
    room,
    solve_side_by_side,
    weigh_side_by_side,
)
from hydroloop.tracing.lanes import add_scaled, aligned
from hydroloop.tracing.operator import Operator
from hydroloop.tracing.passing import hold

_SIDE = 80
"""Cohorts that stand side by side: fewer wait for each other, more crowd the nearest memory."""
_LITTLE = 1e-10  # a cohort that is less of the water in every store is followed no further [-]


class Way(NamedTuple):
    """A way through the record, and for how long it is followed."""

    begins: np.ndarray  # flows at which time begins, and begins anew, shape (flow)
    # flows behind which water is followed no further, as into the ground, shape (flow)
    ends: np.ndarray
    read: tuple[np.ndarray, ...]  # groups of flows at which the time is read; each of shape (flow)
    longest: float  # time for which each release is followed; at most half of the record [d]
    finest: float  # steps are divided until they are no longer than this [d]


class Cohorts(NamedTuple):
    """What became of the water that passed the begin of a way."""

    days: np.ndarray  # time under way of each class, shape (class) [d]
    # water that passed the begin and was followed to each class, shape (class, member) [m3]
    released: np.ndarray
    # of it, what passed each group of flows in each class, shape (group, class, member) [m3]
    moved: np.ndarray
    # what was still under way to one of the groups after the last class, (member) [m3]
    pending: np.ndarray
    # in all steps that may hold every class: what of the water that passes each group has come that
    # way, and all water that does, (group, member) [m3]
    passed: np.ndarray
    whole: np.ndarray
    # of the water in the stores asked for, the share in each class in every step of the record,
    # shape (time, store, class, member) [-]
    seen: np.ndarray


def follow_cohorts(op: Operator, way: Way, stores: tuple[int, ...] = ()) -> Cohorts:
    """Follow what passes some flows in every step, for a given time.

    The operator of `operator` with a label for each step of release: `M c_s = V c_s_old`, begun
    with `M c_s = dt q` of the flows at the begin. Within a step the rates are constant and the
    volumes run straight, so a step may be divided: the account closes as before, and mixing
    within the step spreads the times less. A class is compared with the releases that the record
    is long enough to see in it, so that its end cuts nothing off. `stores` are those whose share
    of each class is wanted.
    """
    part, flows, place = _on_the_way(op, way, stores)
    pieces = max(1, int(np.ceil(float(op.water.days.max()) / way.finest - 1e-9)))
    steps, members = pieces * op.shape[0], op.shape[2]
    mean_step = float(op.water.days.mean()) / pieces
    classes = int(np.clip(round(way.longest / mean_step), 1, max(1, steps // 2)))
    groups = len(way.read)
    late = np.clip(pieces * np.arange(1, op.shape[0] + 1) - classes, 0, pieces) / pieces
    whole = [
        np.tensordot(late * op.water.days, op.water.rate[:, read].sum(axis=1), axes=1)
        for read in way.read
    ]
    each = np.repeat(
        op.water.days[:, None] * op.water.rate[:, way.begins].sum(axis=1) / pieces, pieces, axis=0
    )
    released = np.cumsum(each, axis=0)[steps - 1 - np.arange(classes)]
    out = Cohorts(
        np.arange(classes) * mean_step,
        released,
        np.zeros((groups, classes, members)),
        np.zeros(members),
        np.zeros((groups, members)),
        np.array(whole).reshape(groups, members),
        np.zeros((op.shape[0], len(stores), classes if stores else 0, members)),
    )
    if not part.stores:
        return out
    fine = _finer(part, pieces)
    begins, ends = way.begins[flows], way.ends[flows]
    split = fine.split(begins | ends)
    doors = np.flatnonzero(begins & (fine.target >= 0))
    read = _reading(fine, [one[flows] for one in way.read])
    at = np.argsort(fine.program.order)[place].astype(np.int64)
    blocks = -(-classes // _SIDE)
    for member in range(members):
        state = aligned(blocks, len(part.stores) * _SIDE)
        moved = np.zeros((2, groups, 2 * blocks * _SIDE))
        _advance(
            fine.program,
            fine.water,
            (split, doors, read, at),
            (room(fine.program, 1), state, (0,) * _SIDE, moved),
            (member, pieces, classes),
            out,
        )
        before, after = np.split(moved.sum(axis=0), 2, axis=1)
        out.moved[:, :, member] = (before + after)[:, :classes]
        out.passed[:, member] = moved[1].sum(axis=1)
    return out


def time_within(
    days: np.ndarray, share: np.ndarray, part: float, whole: float | None = None
) -> np.ndarray:
    """Time within which a part (0 to 1) of the water has come [d], half of it within the median.

    From water in evenly spaced classes from 0 on, shape (class, ...); `whole` is all water where
    some has been under way for longer. A class stands for the time around it: the sum of the
    shares up to it is reached half a class later, and grows evenly between. NaN without water or
    where not reached.
    """
    width = float(days[1] - days[0]) if len(days) > 1 else 0.0
    gathered = np.cumsum(share, axis=0)
    wanted = part * (gathered[-1:] if whole is None else np.full_like(gathered[-1:], whole))
    first = np.minimum((gathered < wanted).sum(axis=0, keepdims=True), len(days) - 1)
    own = np.take_along_axis(np.asarray(share, dtype=float), first, axis=0)
    before = np.take_along_axis(gathered, first, axis=0) - own
    inside = np.divide(wanted - before, own, out=np.zeros_like(own), where=own > 0)
    begin = np.maximum(days[first] - 0.5 * width, 0.0)
    found = begin + inside * (days[first] + 0.5 * width - begin)
    return np.asarray(np.where((wanted > 0) & (gathered[-1:] >= wanted), found, np.nan)[0])


def _on_the_way(
    op: Operator, way: Way, stores: tuple[int, ...]
) -> tuple[Operator, np.ndarray, np.ndarray]:
    """The stores that lie on the way alone, which flows they have, and where the stores are."""
    leads = np.array(stores, dtype=np.int64)
    ends = np.unique(np.concatenate([leads, *(op.source[read] for read in way.read)]))
    chosen = between(op, way.begins, way.begins | way.ends, ends)
    chosen[leads] = True
    part, flows = only(op, chosen)
    return part, flows, (np.cumsum(chosen) - 1)[leads]


def between(op: Operator, begins: np.ndarray, shut: np.ndarray, ends: np.ndarray) -> np.ndarray:
    """Stores on the ways from some flows to some stores, past no flow that is shut; (store)."""
    inner = op.runs & ~shut & (op.source >= 0) & (op.target >= 0)
    reached, leads = (np.zeros(len(op.stores) + 1, dtype=bool) for _ in range(2))
    reached[op.target[begins & op.runs]] = True
    leads[ends] = True
    reached[-1] = leads[-1] = False
    spread(reached, op.source[inner], op.target[inner])
    spread(leads, op.target[inner], op.source[inner])
    return (reached & leads)[:-1]


def only(op: Operator, chosen: np.ndarray) -> tuple[Operator, np.ndarray]:
    """Some stores of a record alone, all others as its boundary; and which flows they have."""
    number = np.append(np.where(chosen, np.cumsum(chosen) - 1, -1), -1)
    source, target = number[op.source], number[op.target]
    flows = np.flatnonzero((source >= 0) | (target >= 0))
    source, target = source[flows], target[flows]
    keep = np.flatnonzero(chosen)
    part = replace(
        op,
        stores=tuple(op.stores[k] for k in keep),
        flows=tuple(op.flows[k] for k in flows),
        kinds=tuple(op.kinds[k] for k in flows),
        source=source,
        target=target,
        outside=tuple(op.outside[k] for k in flows),
        used_before=op.used_before[flows],
        water=Water(op.water.volume[:, keep], op.water.rate[:, flows], op.water.days),
        program=plan(len(keep), source, target),
        places=tuple(op.places[k] for k in keep),
        roles=tuple(op.roles[k] for k in keep),
    )
    return part, flows


def _reading(op: Operator, groups: list[np.ndarray]) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Group, store and rate of all flows that are read; those of a group out of a store as one."""
    pairs = [
        (number, store)
        for number, flows in enumerate(groups)
        for store in np.unique(op.source[flows & (op.source >= 0)]).tolist()
    ]
    rate = np.zeros((op.shape[0], len(pairs), op.shape[2]))
    for column, (number, store) in enumerate(pairs):
        rate[:, column] = op.water.rate[:, groups[number] & (op.source == store)].sum(axis=1)
    group, tail = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    return group.copy(), np.argsort(op.program.order)[tail].astype(np.int64), rate


def _finer(op: Operator, pieces: int) -> Operator:
    """The same record in shorter steps; its dates are left as they are."""
    if pieces == 1:
        return op
    volume, rate, days = op.water
    along = np.arange(pieces)[None, :, None, None] / pieces
    between = volume[:-1, None] * (1.0 - along) + volume[1:, None] * along
    whole = np.concatenate([between.reshape(-1, *volume.shape[1:]), volume[-1:]])
    return replace(
        op, water=Water(whole, np.repeat(rate, pieces, axis=0), np.repeat(days / pieces, pieces))
    )


@compiled
def _advance(program, water, way, rooms, span, out):
    """Step all cohorts of one member on. They stand in a ring, in which each keeps its place and
    the youngest stands before the others, at `begin`."""
    program, water, way, rooms, out = lent((program, water, way, rooms, out))
    split, doors, read, at = way
    work, state, lanes, moved = rooms
    member, pieces, classes = span
    size, ring, alive = len(lanes), len(state) * len(lanes), 0
    held = np.empty(len(program.order))
    for t in range(len(water.days)):
        assemble(program, water, split, work, At(t, member))
        factor(program, work)
        hold(program, water, At(t, member), work.lanes, held)
        begin = -t % ring
        alive += 1
        for block in range(len(state)):
            # Of the block, or of the youngest, one stands in the other's stretch of the ring.
            if (block * size - begin) % ring >= alive and (begin - block * size) % ring >= size:
                continue
            x = state[block]
            weigh_side_by_side(x, held, lanes)
            if begin // size == block:
                for d in range(len(doors)):
                    into = program.head[doors[d]] * size + begin % size
                    x[into] += water.days[t] * water.rate[t, doors[d], member]
            solve_side_by_side(program, work, x, lanes)
            _count(
                water,
                read,
                x,
                (t, member, block * size - begin + ring),
                moved[1 if t >= classes else 0],
                lanes,
            )
        for p in range(len(at)):
            for age in range(alive):
                slot = (begin + age) % ring
                share = state[slot // size, at[p] * size + slot % size] / pieces
                out.seen[t // pieces, p, age, member] += share
        if alive == classes:
            slot = (begin + alive - 1) % ring
            for k in range(len(held)):
                stands = water.volume[t + 1, program.order[k], member]
                out.pending[member] += stands * state[slot // size, k * size + slot % size]
        # The oldest are followed no further once little is left of them anywhere.
        while alive == classes or alive > 1:
            slot = (begin + alive - 1) % ring
            x = state[slot // size, slot % size :: size]
            if alive < classes and x.max() > _LITTLE:
                break
            x[:] = 0.0
            alive -= 1


@compiled
def _count(water, read, x, at, moved, lanes):
    """Add what passes each group; by age, from the whole ring before the youngest on."""
    group, tail, rate = read
    t, member, age = at
    for g in range(len(group)):
        passed = water.days[t] * rate[t, g, member]
        if passed > 0.0:
            add_scaled((moved[group[g]], age), passed, (x, tail[g] * len(lanes)), lanes)
