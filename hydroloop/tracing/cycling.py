"""How often water comes by again if the mean flows go on for ever: one pass over the stores.

Water comes back to a store only by stores that lead to each other. So the stores are taken group by
group, from the end of the water upwards, and a matrix is turned for each group alone.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from hydroloop.errors import AskError, Problem
from hydroloop.tracing.along_the_flow import along_the_flow
from hydroloop.tracing.mean_flows import mean_rates
from hydroloop.tracing.operator import Operator


class MeanFlows(NamedTuple):
    """Mean flows of a record, and the storage that it gained."""

    rate: np.ndarray  # of every flow, shape (flow) [m3/d]
    # flows between stores that run: stores they leave and enter, and rates [m3/d]
    tail: np.ndarray
    head: np.ndarray
    inner: np.ndarray
    through: np.ndarray  # what leaves each store and what its storage gains [m3/d]
    inputs: np.ndarray  # what enters each over a boundary and what its storage loses [m3/d]
    gained: np.ndarray  # storage that each store gains, less than zero if it loses [m3/d]


class Cycles(NamedTuple):
    """The measures of cycling, the member last."""

    cycling_index: np.ndarray  # cycled over total throughflow [-]
    path_length: np.ndarray  # total throughflow over inputs [-]
    passes: np.ndarray  # uses that a drop in each store has ahead of it, (store, member) [-]


def cycles(op: Operator, gate: np.ndarray) -> Cycles:
    """Cycling index, path length and passes of a gate (flows): see `hydroloop.long_run`."""
    rates = mean_rates(op, op.shape[0])
    found = []
    for member in range(op.shape[2]):
        flows = mean_flows(op, rates[:, member], member)
        check_ends(op, flows)
        once, passes = visits(flows, gate_share(op, flows, gate))
        total, inputs = flows.through.sum(), flows.inputs.sum()
        found.append(
            (
                cycled(flows, once).sum() / total if total else 0.0,
                total / inputs if inputs else 0.0,
                passes,
            )
        )
    return Cycles(*(np.stack(parts, axis=-1) for parts in zip(*found, strict=True)))


def mean_flows(op: Operator, rate: np.ndarray, member: int) -> MeanFlows:
    """Mean flows of a member, from mean rates (flow)."""
    stores = len(op.stores)
    leaves, enters = op.source >= 0, op.target >= 0
    volume = op.water.volume[..., member]
    gained = (volume[-1] - volume[0]) / op.water.days.sum()
    inner, into = leaves & enters & (rate > 0.0), enters & ~leaves
    return MeanFlows(
        rate,
        op.source[inner],
        op.target[inner],
        rate[inner],
        np.bincount(op.source[leaves], rate[leaves], stores) + np.maximum(gained, 0.0),
        np.bincount(op.target[into], rate[into], stores) + np.maximum(-gained, 0.0),
        gained,
    )


def gate_share(op: Operator, flows: MeanFlows, gate: np.ndarray) -> np.ndarray:
    """Part of what each store lets through that passes a gate next, shape (store) [-]."""
    passing = gate & (op.source >= 0)
    out = np.bincount(op.source[passing], flows.rate[passing], len(op.stores))
    return np.divide(out, flows.through, out=np.zeros(len(out)), where=flows.through > 0)


def cycled(flows: MeanFlows, once: np.ndarray) -> np.ndarray:
    """Throughflow that comes by again, shape (store) [m3/d]."""
    return np.asarray(flows.through * (1.0 - 1.0 / once))


def visits(flows: MeanFlows, given: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """N_ii, the visits of a drop to the store that it is in, and N g for what each visit gives.

    With N = (I - P)^-1 and P the share of each store's throughflow that goes on to another.
    """
    stores = len(given)
    share = flows.inner / flows.through[flows.tail]
    order = np.argsort(flows.tail, kind="stable")
    head, share = flows.head[order], share[order]
    start = np.searchsorted(flows.tail[order], np.arange(stores + 1))
    after: list[set[int]] = [set(head[start[k] : start[k + 1]].tolist()) for k in range(stores)]
    once, ahead, place = np.ones(stores), given.astype(float), np.full(stores, -1)
    for group in reversed(along_the_flow(after)):
        if len(group) == 1:
            links = slice(start[group[0]], start[group[0] + 1])
            ahead[group[0]] += share[links] @ ahead[head[links]]
            continue
        place[group] = np.arange(len(group))
        stay = np.eye(len(group))
        for row, store in enumerate(group):
            links = slice(start[store], start[store + 1])
            inner = place[head[links]]
            np.subtract.at(stay[row], inner[inner >= 0], share[links][inner >= 0])
            behind = np.where(inner < 0, share[links], 0.0)  # is known already
            ahead[store] += behind @ ahead[head[links]]
        place[group] = -1
        turned = np.maximum(np.linalg.inv(stay), 0.0)
        once[group], ahead[group] = np.diag(turned), turned @ ahead[group]
    return once, ahead


def check_ends(op: Operator, flows: MeanFlows) -> None:
    """Every store that lets water through must have a way out in the end."""
    on = np.bincount(flows.tail, flows.inner, len(op.stores))
    reached = flows.through - on > 1e-12 * flows.through
    before = -1
    while before != (before := int(reached.sum())):
        reached[flows.tail[reached[flows.head]]] = True
    stuck = [op.stores[k] for k in np.flatnonzero((flows.through > 0) & ~reached)]
    if stuck:
        what = f"water goes round without end in {', '.join(stuck[:6])}."
        raise AskError(Problem("record", what, "A long run needs a way out: add an outflow."))
