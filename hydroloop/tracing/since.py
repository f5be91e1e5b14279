"""Time since water passed some flows, all releases at once: cohorts on their way."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from hydroloop.compiling import compiled
from hydroloop.tracing.elimination import At, Water, assemble, factor, room, solve
from hydroloop.tracing.lanes import NOTHING, aligned
from hydroloop.tracing.operator import Operator
from hydroloop.tracing.ordering import plan

_LITTLE = 1e-9  # a cohort that is less of the water in every store is followed no further [-]


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
    # shape (time, class, store, member) [-]
    seen: np.ndarray


def follow_cohorts(op: Operator, way: Way, stores: tuple[int, ...] = ()) -> Cohorts:
    """Follow what passes some flows in every step, for a given time.

    The operator of `operator` with a label for each step of release: `M c_s = V c_s_old`, begun
    with `M c_s = dt q` of the flows at the begin. Within a step the rates are constant and the
    volumes run straight, so a step may be divided: the account closes as before, and mixing
    within the step spreads the times less. A class is held against the releases that the record
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
    whole = [np.tensordot(late * op.water.days, op.water.rate[:, read].sum(axis=1), axes=1)
             for read in way.read]
    each = np.repeat(op.water.days[:, None] * op.water.rate[:, way.begins].sum(axis=1) / pieces,
                     pieces, axis=0)
    released = np.cumsum(each, axis=0)[steps - 1 - np.arange(classes)]
    out = Cohorts(np.arange(classes) * mean_step, released,
                  np.zeros((groups, classes, members)), np.zeros(members),
                  np.zeros((groups, members)), np.array(whole).reshape(groups, members),
                  np.zeros((op.shape[0], classes if stores else 0, len(stores), members)))
    if not part.stores:
        return out
    fine = _finer(part, pieces)
    begins, ends = way.begins[flows], way.ends[flows]
    split = fine.split(begins | ends)
    group = np.array([(k, n) for k, read in enumerate(way.read)
                      for n in np.flatnonzero(read[flows] & (fine.source >= 0))],
                     dtype=np.int64).reshape(-1, 2)
    doors = np.flatnonzero(begins & (fine.target >= 0))
    at = np.argsort(fine.program.order)[place].astype(np.int64)
    for first, lanes in fine.blocks():
        work = room(fine.program, lanes)
        state = aligned(classes, fine.shape[1] * lanes)
        held = aligned(fine.shape[1] * lanes)
        _advance(fine.program, fine.water, (split, doors, group, at), (work, state, held),
                 (first, pieces), out)
    return out


def time_within(days: np.ndarray, share: np.ndarray, part: float,
                whole: float | None = None) -> np.ndarray:
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


def _on_the_way(op: Operator, way: Way, stores: tuple[int, ...]) -> tuple[
        Operator, np.ndarray, np.ndarray]:
    """The stores that lie on the way alone, which flows they have, and where the stores are."""
    shut = way.begins | way.ends
    runs = (op.water.rate > 0).any(axis=(0, 2))
    inner = runs & ~shut & (op.source >= 0) & (op.target >= 0)
    reached, leads = (np.zeros(len(op.stores) + 1, dtype=bool) for _ in range(2))
    reached[op.target[way.begins & runs]] = True
    for read in way.read:
        leads[op.source[read]] = True
    leads[list(stores)] = True
    reached[-1] = leads[-1] = False
    _spread(reached, op.source[inner], op.target[inner])
    _spread(leads, op.target[inner], op.source[inner])
    chosen = reached & leads
    chosen[list(stores)] = True
    return _only(op, chosen[:-1], np.array(stores, dtype=np.int64))


def _spread(reached: np.ndarray, tail: np.ndarray, head: np.ndarray) -> None:
    """Mark all that can be reached along some links, in place."""
    before = -1
    while before != reached.sum():
        before = reached.sum()
        reached[head[reached[tail]]] = True


def _only(op: Operator, chosen: np.ndarray, stores: np.ndarray) -> tuple[
        Operator, np.ndarray, np.ndarray]:
    number = np.append(np.where(chosen, np.cumsum(chosen) - 1, -1), -1)
    source, target = number[op.source], number[op.target]
    flows = np.flatnonzero((source >= 0) | (target >= 0))
    source, target = source[flows], target[flows]
    keep = np.flatnonzero(chosen)
    part = replace(
        op, stores=tuple(op.stores[k] for k in keep), flows=tuple(op.flows[k] for k in flows),
        kinds=tuple(op.kinds[k] for k in flows), source=source, target=target,
        outside=tuple(op.outside[k] for k in flows), used_before=op.used_before[flows],
        water=Water(op.water.volume[:, keep], op.water.rate[:, flows], op.water.days),
        program=plan(len(keep), source, target), places=tuple(op.places[k] for k in keep),
        roles=tuple(op.roles[k] for k in keep))
    return part, flows, number[stores]


def _finer(op: Operator, pieces: int) -> Operator:
    """The same record in shorter steps; its dates are left as they are."""
    if pieces == 1:
        return op
    volume, rate, days = op.water
    along = np.arange(pieces)[None, :, None, None] / pieces
    between = volume[:-1, None] * (1.0 - along) + volume[1:, None] * along
    whole = np.concatenate([between.reshape(-1, *volume.shape[1:]), volume[-1:]])
    return replace(op, water=Water(whole, np.repeat(rate, pieces, axis=0),
                                   np.repeat(days / pieces, pieces)))


@compiled
def _advance(program, water, way, rooms, span, out):
    split, doors, group, at = way
    work, state, held = rooms
    first, pieces = span
    size = len(work.lanes)
    stores = len(program.order)
    steps, classes = len(water.days), state.shape[0]
    lives = np.zeros(classes, dtype=np.bool_)
    for t in range(steps):
        assemble(program, water, split, work, At(t, first))
        factor(program, work)
        days = water.days[t]
        for k in range(stores):
            for b in range(size):
                held[k * size + b] = water.volume[t, program.order[k], first + b]
        for age in range(min(t + 1, classes)):
            released = t - age
            row = released % classes
            x = state[row]
            if age == 0:
                x[:] = 0.0
                for d in range(len(doors)):
                    for b in range(size):
                        amount = days * water.rate[t, doors[d], first + b]
                        x[program.head[doors[d]] * size + b] += amount
                lives[row] = True
            elif not lives[row]:
                continue
            else:
                for i in range(len(x)):
                    amount = x[i] * held[i]
                    x[i] = amount if amount > NOTHING else 0.0
            solve(program, work, x)
            lives[row] = x.max() > _LITTLE
            _count(program, water, group, x, (t, age, first), work.lanes, out)
            if out.seen.shape[1] > 0:
                for p in range(len(at)):
                    for b in range(size):
                        share = x[at[p] * size + b] / pieces
                        out.seen[t // pieces, age, p, first + b] += share


@compiled
def _count(program, water, group, x, at, lanes, out):
    t, age, first = at
    size = len(lanes)
    classes = out.moved.shape[1]
    for g in range(len(group)):
        flow = group[g, 1]
        for b in range(size):
            moved = water.days[t] * water.rate[t, flow, first + b]
            moved *= x[program.tail[flow] * size + b]
            out.moved[group[g, 0], age, first + b] += moved
            if t >= classes:
                out.passed[group[g, 0], first + b] += moved
    if age == classes - 1:
        for k in range(len(program.order)):
            for b in range(size):
                stands = water.volume[t + 1, program.order[k], first + b]
                out.pending[first + b] += stands * x[k * size + b]
