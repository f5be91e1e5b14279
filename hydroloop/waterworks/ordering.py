"""The order in which a network acts within a step: upstream before downstream."""

from __future__ import annotations

from functools import lru_cache
from graphlib import CycleError, TopologicalSorter

import numpy as np

Event = tuple[int, int]  # what happens (`layout`), and the number of the cell, town or reservoir


def acting_order(events: list[Event], after: list[tuple[Event, Event]]) -> np.ndarray:
    """Events so that each comes after all it depends on."""
    return _acting_order(tuple(events), tuple(after)).copy()


@lru_cache(maxsize=64)  # many runs of one town ask for the same order
def _acting_order(events: tuple[Event, ...], after: tuple[tuple[Event, Event], ...]) -> np.ndarray:
    sorter: TopologicalSorter[Event] = TopologicalSorter(dict.fromkeys(events, ()))
    for earlier, later in after:
        sorter.add(later, earlier)
    return np.array(list(sorter.static_order()), dtype=np.int64).reshape(-1, 2)


def waits_to_cut_loops(
    nodes: list[Event],
    fixed: list[tuple[Event, Event]],
    returns: dict[int, list[tuple[Event, Event]]],
) -> set[int]:
    """Towns whose effluent must wait for the next step, so that no loop is left. A town that
    discharges above its own intake, or two towns that discharge above each other's, close a loop
    within a step. The first town of the file that lies on a loop waits, then the next."""
    waiting: set[int] = set()
    while True:
        pairs = fixed + [
            pair for town, own in returns.items() if town not in waiting for pair in own
        ]
        try:
            acting_order(nodes, pairs)
        except CycleError:
            waiting.add(_first_on_a_loop(nodes, pairs, returns, waiting))
        else:
            return waiting


def _first_on_a_loop(
    nodes: list[Event],
    pairs: list[tuple[Event, Event]],
    returns: dict[int, list[tuple[Event, Event]]],
    waiting: set[int],
) -> int:
    # Loops are rare, and loading this takes longer than drawing up a network.
    from scipy.sparse import coo_matrix
    from scipy.sparse.csgraph import connected_components

    number = {node: i for i, node in enumerate(nodes)}
    index = np.array([(number[a], number[b]) for a, b in pairs]).reshape(-1, 2)
    shape = (len(nodes), len(nodes))
    graph = coo_matrix((np.ones(len(index)), (index[:, 0], index[:, 1])), shape=shape)
    _, group = connected_components(graph, connection="strong")
    return next(
        town
        for town, own in returns.items()
        if town not in waiting and any(group[number[a]] == group[number[b]] for a, b in own)
    )
