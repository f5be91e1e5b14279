"""Use shares: how often the water in every store has passed a gate."""

from __future__ import annotations

import warnings
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import HydroloopWarning
from hydroloop.tracing.along_the_flow import spread
from hydroloop.tracing.carried_over import carried_over, slow_stores
from hydroloop.tracing.lanes import LEAST_WATER
from hydroloop.tracing.mean_flows import steady_uses
from hydroloop.tracing.operator import Operator, operator, result
from hydroloop.tracing.passing import MEAN, UNKNOWN, Passing, Uses, advance, passing
from hydroloop.tracing.warm_up import (
    UNSETTLED,
    Settled,
    as_begun,
    check_warm_up,
    first_year,
    retained,
    settle,
)
from hydroloop.tracing.where_and_when import Gate, as_counted, find_gate, find_most

LAST_PART = 5  # of the year: its last fifth is stepped through for a better guess


def count_uses(
    record: xr.Dataset | Operator,
    gate: Gate = None,
    most: int = 12,
    *,
    warm_up: str = "repeat",
) -> xr.Dataset:
    """Share of the water by number of earlier uses.

    Tells for every store and instant how much of its water has passed the gate never, once, twice,
    and so on. Do not trust it where the share of an unknown past is large, or where a store is so
    big that taking it as mixed is wrong.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record.
    gate : str, sequence of str, or boolean mask over flows, optional
        Ready gate, as "toilet", flow kind, names of flows, or one truth value per flow;
        by default what the scenario of the record says, else "home". Where there is no such flow,
        only what was used above the record is counted, and a warning says so.
    most : int
        Highest use class; it holds what has passed `most` times or more.
    warm_up : str
        Past of the water that is there at the first edge: "repeat" repeats the first year until
        the labels settle, "steady" takes the steady state of that year's mean flows, "none" leaves
        it unknown. A store that ends the year dry begins with what enters it in an average
        year. It stays unknown where nothing tells: in a store that nothing from over a boundary
        reaches, and where no repeats settle it.

    Returns
    -------
    xarray.Dataset
        ``share`` (use, edge, store), ``unknown`` (edge, store): water of an unknown past that
        has not passed the gate since; they sum to one wherever ``has_water`` (edge, store) and are
        zero elsewhere. ``mean_uses`` (edge, store): mean number of passes, which `most` does not
        cut [-]; NaN where it does not settle, and in all that this water reaches. Member last where
        the record has it. Attributes ``warm_up_change`` (how far the first labels are from settled
        [-]) and ``warm_up_repeats``.

    Raises
    ------
    AskError
        There is no such gate or way to warm up, or `most` is out of bounds.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    ``M c_k = V c_k_old + inflow_k + dt G c_(k-1)``: M is the matrix of `operator` without the gate
    flows G; for the last class it has them, so that nothing is lost. The label at edge t + 1 is
    also that of all water which leaves the store during step t. Water of an unknown past that
    passes the gate is known to have been used at least once.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> town = Network(["home"], ["upstream", "home"], ["home", "sky"], ["home_use", "evaporation"])
    >>> record = build_record(town, edges_of("2031-01-01", 2), [[0], [0], [0]], [[1, 1], [1, 1]])
    >>> count_uses(record, most=2).share.sel(store="home")[:, -1].values.tolist()
    [0.0, 1.0, 0.0]
    """
    op = operator(record)
    out, first = uses_at(op, np.arange(len(op.stores)), gate, most, warm_up=warm_up)
    return _labelled(op, out, first)


def uses_at(
    op: Operator, stores: np.ndarray, gate: Gate, most: int, *, warm_up: str
) -> tuple[Uses, Settled]:
    """Use shares at some stores only, as plain arrays: for many members, where keeping every store
    would take more time and room than tracing does."""
    mask, op = find_gate(op, gate), as_counted(op, gate)
    if gate is None and not mask.any():
        warnings.warn(
            "The record has no flow into homes and no gate is named, so that nothing "
            "counts as a use within it. Name a gate: a kind of flow, or flows.",
            HydroloopWarning,
            stacklevel=3,
        )
    check_warm_up(warm_up)
    most = find_most(most)
    prepared = passing(op, mask, most)
    first = _first_labels(op, mask, prepared, most, warm_up)
    out = _room(op, stores, most)
    _start(op, first.state, stores, out)
    for block in op.blocks():
        advance(op, prepared, op.packed(first.state, block), block, steps=op.shape[0], out=out)
    out.mean[:, _in_doubt(op, first.left[MEAN] > UNSETTLED)[stores]] = np.nan
    return out, first


def first_uses(op: Operator, mask: np.ndarray, most: int, warm_up: str) -> np.ndarray:
    """Use classes at the first edge, then unknown past and the mean, (row, store, member)."""
    return _first_labels(op, mask, passing(op, mask, most), most, warm_up).state


def _first_labels(
    op: Operator, mask: np.ndarray, gate: Passing, most: int, warm_up: str
) -> Settled:
    if warm_up == "none":
        state = np.zeros((most + 3, *op.shape[1:]))
        state[UNKNOWN] = 1.0
        return as_begun(state)
    steps = first_year(op)
    guess = steady_uses(op, mask, most, steps)
    if warm_up == "steady":
        return as_begun(guess)

    def year(labels: np.ndarray, begin: int = 0) -> np.ndarray:
        after = np.empty_like(labels)
        for block in op.blocks():
            state = op.packed(labels, block)
            advance(op, gate, state, block, steps=steps, begin=begin)
            op.unpack(state, block, after)
        # A store that ends the year dry, as snow does, tells nothing about the water that it began
        # with: that was like what enters it in an average year.
        return np.where(after[:MEAN].sum(axis=0) < 0.5, guess, after)

    kept = retained(op)
    over = carried_over(op, gate, steps, kept)
    most_label = np.ones((len(guess), 1, 1))
    most_label[MEAN] = np.inf
    # Quick stores end the year as its last days leave them, whatever they began it with.
    begun = np.where(slow_stores(steps, kept), guess, year(guess, steps - steps // LAST_PART))
    settled = settle(op, year, begun, over.brought_forward, most=most_label)
    _tell_apart(settled, most)
    return settled


def _tell_apart(settled: Settled, most: int) -> None:
    """Make the labels whole; what no repeats settle has an unknown past."""
    state, total = settled.state, settled.state[:MEAN].sum(axis=0)
    state[:MEAN] /= np.where(total > 0.0, total, 1.0)
    unknown = (settled.left[:MEAN] > UNSETTLED).any(axis=0) | (total == 0.0)
    state[:, unknown] = 0.0
    state[UNKNOWN, unknown] = 1.0
    settled.left[MEAN, unknown] = 0.0
    # Shares and mean settle each to their last digits: the mean is never less than they say.
    least = np.tensordot(np.arange(most + 1), state[:UNKNOWN], axes=1)
    state[MEAN] = np.maximum(state[MEAN], least)


def _in_doubt(op: Operator, unsettled: np.ndarray) -> np.ndarray:
    """Stores whose label has not settled, and all that take water from them, (store, member)."""
    doubt, inner = unsettled.copy(), (op.source >= 0) & (op.target >= 0)
    for member in np.flatnonzero(unsettled.any(axis=0)):
        runs = inner & (op.water.rate[..., member] > 0.0).any(axis=0)
        reached = np.append(unsettled[:, member], False)
        spread(reached, op.source[runs], op.target[runs])
        doubt[:, member] = reached[:-1]
    return doubt


def _room(op: Operator, stores: np.ndarray, most: int) -> Uses:
    steps, _, members = op.shape
    share = np.empty((most + 1, steps + 1, len(stores), members))
    place = np.argsort(op.program.order)[stores].astype(np.uint32)
    return Uses(share, np.empty(share.shape[1:]), np.empty(share.shape[1:]), place)


def _start(op: Operator, state: np.ndarray, stores: np.ndarray, out: Uses) -> None:
    held = np.where(op.water.volume[0] > 0, state, 0.0)[:, stores]
    out.share[:, 0], out.unknown[0], out.mean[0] = held[:UNKNOWN], held[UNKNOWN], held[MEAN]


def _labelled(op: Operator, out: Uses, first: Settled) -> xr.Dataset:
    has_water = np.concatenate([op.water.volume[:1] > 0, op.throughput > LEAST_WATER])
    axes = ("edge", "store")
    data: dict[str, tuple[Any, ...]] = {
        "share": (("use", *axes), out.share, "1", "share of the water by number of uses"),
        "mean_uses": (axes, out.mean, "1", "mean number of uses"),
        "unknown": (axes, out.unknown, "1", "share of the water whose past is not known"),
        "has_water": (axes, has_water, "1", "whether the store holds or passes water"),
    }
    coords = {
        "use": (np.arange(len(out.share)), "1", "number of uses; the last or more"),
        "edge": (op.edge, "", "instants between steps"),
        "store": (np.array(op.stores), "1", "store of water"),
    }
    answer = result(op, data, coords)
    answer.attrs = {"warm_up_change": first.change, "warm_up_repeats": first.repeats}
    return answer
