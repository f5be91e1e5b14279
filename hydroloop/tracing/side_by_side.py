"""One record as several, side by side: a question for each, with a gate of its own."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import numpy as np
import xarray as xr

from hydroloop.tracing.along_the_flow import plan
from hydroloop.tracing.elimination import Water
from hydroloop.tracing.operator import LANES, Operator
from hydroloop.tracing.use_shares import uses_at

_PADDED = min(lanes for lanes in LANES if lanes > 1)
_SMALL = 400_000  # rates of a record for which lanes that nobody needs cost less than more passes


def used_shares(
    op: Operator,
    stores: np.ndarray,
    gates: Sequence[np.ndarray],
    above: Sequence[bool],
    *,
    warm_up: str,
) -> np.ndarray:
    """Share of the water in some stores that has passed a gate, for several gates in one pass.

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
    Each gate is a member of one record: its water is the same, and a flow that is in some gates and
    not in others stands there twice, with the water in the one that is its gate's. So the pass is
    that of `hydroloop.count_uses` with members, and each comes to what it comes to alone.
    """
    members = op.shape[2]
    masks = np.array(gates, dtype=bool).reshape(len(gates), len(op.flows))
    counts = np.array(above, dtype=bool)
    padding = -(len(masks) * members) % _PADDED
    spare = -(-padding // members) if padding < _PADDED - 2 and members == 1 else 0
    if spare and op.water.rate.size > _SMALL:
        return np.concatenate(
            [
                used_shares(op, stores, [mask], [count], warm_up=warm_up)
                for mask, count in zip(masks, counts.tolist(), strict=True)
            ]
        )
    masks = np.concatenate([masks, np.repeat(masks[-1:], spare, axis=0)])
    counts = np.concatenate([counts, np.repeat(counts[-1:], spare)])
    wide, gate = _wide(op, masks, counts)
    found, _ = uses_at(wide, stores, gate, 1, warm_up=warm_up)
    shares = found.share[1].reshape(*found.share.shape[1:3], len(masks), members)
    return np.moveaxis(shares, 2, 0)[: len(gates)]


def _wide(op: Operator, masks: np.ndarray, counts: np.ndarray) -> tuple[Operator, np.ndarray]:
    """The record once for each gate, and the flows that are any gate's."""
    members = op.shape[2]
    used = (op.used_before[:, 0] < 1.0) & (op.source < 0)
    # Which lanes a flow carries water in: the gate's own, and there with its past above or without.
    apart = used & ~counts.all()
    variants = []
    for is_gate, known in product((False, True), (True, False)):
        lanes = (masks == is_gate) & np.where(apart, (counts == known)[:, None], known)
        chosen = np.flatnonzero(lanes.any(axis=0))
        variants.append(
            (
                chosen,
                lanes.T[chosen],
                np.full_like(chosen, is_gate, dtype=bool),
                np.full_like(chosen, known, dtype=bool),
            )
        )
    flows, own, in_gate, above = (np.concatenate(part) for part in zip(*variants, strict=True))
    carries = own.reshape(len(flows), len(masks), 1).astype(float)
    rate = op.water.rate[:, flows, None] * carries
    rate = rate.reshape(*rate.shape[:2], len(masks) * members)
    before = op.used_before[flows].copy()
    before[~above] = np.eye(1, before.shape[1])
    source, target = op.source[flows], op.target[flows]
    wide = replace(
        op,
        flows=tuple(f"{op.flows[flow]} {number}" for number, flow in enumerate(flows.tolist())),
        kinds=tuple(op.kinds[flow] for flow in flows),
        source=source,
        target=target,
        outside=tuple(op.outside[flow] for flow in flows),
        used_before=before,
        water=Water(np.tile(op.water.volume, (1, 1, len(masks))), rate, op.water.days),
        program=plan(len(op.stores), source, target),
        members=xr.DataArray(np.arange(rate.shape[2]), dims="member"),
    )
    return wide, in_gate
