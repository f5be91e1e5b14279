"""Order the stores along the flow, and find out once where an elimination will touch.

The matrix of a step has the same pattern in every step of a record. So its order of elimination and
its fill are found once per network, and each step runs through a flat list of operations.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from functools import lru_cache
from itertools import chain
from typing import NamedTuple

import numpy as np

from hydroloop.compiling import compiled


class Program(NamedTuple):
    """Flat list of operations that eliminates the stores of a network one after another.

    Stores are counted in the order of elimination. Off the diagonal, the matrix keeps one number
    per slot. First come the slots below the diagonal, by column; then those to the right of it,
    by row, the last row first, as they are used when solving backwards. One more slot, and one
    more store, take what belongs nowhere.
    """

    order: np.ndarray  # store of the record at each place of the order, shape (store)
    # place in the order of each slot's row and column, shape (slot)
    row: np.ndarray
    column: np.ndarray
    # for each pivot, the slots that its elimination adds to: column slots by row slots
    pair: np.ndarray
    slot: np.ndarray  # slot of each flow, shape (flow)
    # store that each flow leaves and enters, shape (flow); the number of stores where it is a
    # boundary
    tail: np.ndarray
    head: np.ndarray
    # where the slots and pairs of each pivot are, shape (store + 1): pivot k has the column slots
    # `start[k]:start[k + 1]`, the row slots `across[k + 1]:across[k]`, and the pairs from
    # `pair_start[k]` on
    start: np.ndarray
    across: np.ndarray
    pair_start: np.ndarray


def plan(stores: int, tail: np.ndarray, head: np.ndarray) -> Program:
    """Plan the elimination of a network, from the store that each flow leaves and enters, -1 for a
    boundary. The same network gives the same plan, which is kept for the next call."""
    arrays = (np.ascontiguousarray(a, dtype=np.int64) for a in (tail, head))
    return _plan(stores, *(a.tobytes() for a in arrays))


@lru_cache(maxsize=64)
def _plan(stores: int, tails: bytes, heads: bytes) -> Program:
    tail, head = (np.frombuffer(raw, dtype=np.int64) for raw in (tails, heads))
    inside = (tail >= 0) & (head >= 0)
    after: list[set[int]] = [set() for _ in range(stores)]
    before: list[set[int]] = [set() for _ in range(stores)]
    for a, b in zip(tail[inside].tolist(), head[inside].tolist(), strict=True):
        after[a].add(b)
        before[b].add(a)
    order: list[int] = []
    columns: list[list[int]] = []
    rows: list[list[int]] = []
    for group in along_the_flow(after):
        for store in _eliminate(group, after, before):
            order.append(store)
            columns.append(sorted(after[store]))
            rows.append(sorted(before[store]))
    return _flatten(order, columns, rows, (tail, head, inside))


def along_the_flow(after: list[set[int]]) -> list[list[int]]:
    """Groups of stores that reach each other, upstream first: Tarjan's algorithm without recursion,
    which finds them downstream first."""
    number, low = [-1] * len(after), [0] * len(after)
    waiting: list[int] = []
    is_waiting = [False] * len(after)
    groups: list[list[int]] = []
    count = 0
    for root in range(len(after)):
        if number[root] >= 0:
            continue
        path: list[tuple[int, Iterator[int]]] = [(root, iter(sorted(after[root])))]
        number[root] = low[root] = count
        count += 1
        waiting.append(root)
        is_waiting[root] = True
        while path:
            store, rest = path[-1]
            for other in rest:
                if number[other] < 0:
                    number[other] = low[other] = count
                    count += 1
                    waiting.append(other)
                    is_waiting[other] = True
                    path.append((other, iter(sorted(after[other]))))
                    break
                if is_waiting[other]:
                    low[store] = min(low[store], number[other])
            else:
                path.pop()
                if path:
                    low[path[-1][0]] = min(low[path[-1][0]], low[store])
                if low[store] == number[store]:
                    cut = _last(waiting, store)
                    groups.append(waiting[cut:][::-1])
                    for member in waiting[cut:]:
                        is_waiting[member] = False
                    del waiting[cut:]
    return groups[::-1]


def _last(stack: list[int], value: int) -> int:
    place = len(stack) - 1
    while stack[place] != value:
        place -= 1
    return place


def _eliminate(group: list[int], after: list[set[int]], before: list[set[int]]) -> Iterator[int]:
    """Take the store with the least fill first; `after` and `before` are left as of its turn."""
    left = set(group)
    heap = [(len(before[k]) * len(after[k]), k) for k in group]
    heapq.heapify(heap)
    while left:
        cost, k = heapq.heappop(heap)
        if k not in left:
            continue
        now = len(before[k]) * len(after[k])
        if now > cost:
            heapq.heappush(heap, (now, k))
            continue
        left.discard(k)
        for i in after[k]:
            before[i].discard(k)
            before[i] |= before[k] - {i}
        for j in before[k]:
            after[j].discard(k)
            after[j] |= after[k] - {j}
            heapq.heappush(heap, (len(before[j]) * len(after[j]), j))
        for i in after[k] & left:
            heapq.heappush(heap, (len(before[i]) * len(after[i]), i))
        yield k


def _flatten(
    order: list[int],
    columns: list[list[int]],
    rows: list[list[int]],
    flows: tuple[np.ndarray, np.ndarray, np.ndarray],
) -> Program:
    place = {store: k for k, store in enumerate(order)}
    below = [(place[i], k) for k, column in enumerate(columns) for i in column]
    beside = [(k, place[j]) for k, row in reversed(list(enumerate(rows))) for j in row]
    ends = [*below, *beside]
    slot = {where: p for p, where in enumerate(ends)}
    nowhere = len(ends)
    pair = [
        [slot.get((place[i], place[j]), nowhere) for i in column for j in row]
        for column, row in zip(columns, rows, strict=True)
    ]
    tail, head, inside = flows
    lookup = np.array([*np.argsort(order), len(order)], dtype=np.int64)
    tail, head = lookup[tail], lookup[head]
    slots = np.full(len(tail), nowhere)
    slots[inside] = [
        slot[where] for where in zip(head[inside].tolist(), tail[inside].tolist(), strict=True)
    ]
    across = len(below) + _sums(rows[::-1])[::-1]
    # Where to find a number is held without sign: the compiler then need not ask for one.
    row, column = ([where[side] for where in ends] for side in (0, 1))
    places = (
        np.array(part, dtype=np.uint32)
        for part in (order, row, column, [*chain.from_iterable(pair)], slots, tail, head)
    )
    bounds = [_sums(columns), across, _sums(pair)]
    return Program(*places, *bounds)


def _sums(parts: list[list[int]]) -> np.ndarray:
    """Where each part begins when they stand one after the other, and where the last one ends."""
    return np.concatenate([[0], np.cumsum([len(part) for part in parts], dtype=np.int64)])


@compiled
def spread(reached, tail, head):
    """Mark all that can be reached along some links, in place. They mostly stand in the order of
    the flow, or against it, so that a few rounds to and fro find all."""
    links, goes_on = len(tail), True
    while goes_on:
        goes_on = False
        for turn in range(2 * links):
            link = min(turn, 2 * links - 1 - turn)
            if reached[tail[link]] and not reached[head[link]]:
                reached[head[link]] = goes_on = True
