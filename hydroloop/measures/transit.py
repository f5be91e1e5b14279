"""Transit times: from a town's intake to its outfall, and from an outfall to the next tap."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr

from hydroloop.tracing import Operator, operator
from hydroloop.tracing.backward import look_back

DATES = 6
"""Dates of the record, beyond its first third, over which a transit time is taken."""

_LEAST = 1e-9  # smaller shares are rounding


def transit_times(op: xr.Dataset | Operator, gate: np.ndarray, stores: Sequence[str]) -> xr.Dataset:
    """Transit time from some flows to stores.

    How long the water in a store has been under way since it last passed the flows, and how much of
    it ever did. Slow paths that began before the record are missing, so in a short record the mean
    is a lower bound.

    Parameters
    ----------
    op : xarray.Dataset or Operator
        Water record, or its operator.
    gate : numpy.ndarray of bool
        Flows where the time begins, shape (flow).
    stores : sequence of str
        Stores in which it ends.

    Returns
    -------
    xarray.Dataset
        ``time`` (to): mean [d], NaN where nothing comes from there; ``share`` (to): share of the
        water that came from there [-]; ``spread`` (to, days_between): that share by days [-].
        Member last where the record has it.

    Raises
    ------
    RecordError
        The record breaks its own rules.

    Notes
    -----
    mean = sum(days x share) / sum(share), from the transposed operator, with equal weight on dates
    spread evenly over the last two thirds of the record. A store counts on the dates on which it
    has water.

    References
    ----------
    Bolin & Rodhe 1973, Tellus 25 (title from memory): transit time.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> intake = flow_mask(record, kind="intake", to_place="larkmill")
    >>> 1 < float(transit_times(operator(record), intake, ["larkmill/contact"])["time"][0]) < 5
    True
    """
    op = operator(op)
    total, _, members = op.shape
    steps = np.unique(np.linspace(total // 3, total - 1, DATES).astype(int))
    spread = np.zeros((len(stores), total, members))
    reached = [k for k, name in enumerate(stores) if _joined(op, gate, name)]
    places = [op.stores.index(stores[k]) for k in reached]
    if reached:
        drawn = [place for place in places for _ in steps]
        met = look_back(op, gate, drawn, steps.tolist() * len(reached)).passed
        by_store = met.reshape(len(reached), len(steps), -1, members)
        full = (op.throughput[steps] > 0)[:, places].sum(axis=0)
        spread[reached, : by_store.shape[2]] = by_store.sum(axis=1) / np.maximum(full, 1)[:, None]
    return _labelled(op, stores, spread)


def _joined(op: Operator, gate: np.ndarray, store: str) -> bool:
    """Whether water can come to the store from the gate."""
    if store not in op.stores:
        return False
    runs = (op.water.rate > 0).any(axis=(0, 2)) & (op.target >= 0)
    reached = np.zeros(len(op.stores), dtype=bool)
    reached[op.target[gate & runs]] = True
    inner = runs & (op.source >= 0)
    while True:
        before = reached.sum()
        reached[op.target[inner][reached[op.source[inner]]]] = True
        if reached.sum() == before:
            return bool(reached[op.stores.index(store)])


def _labelled(op: Operator, stores: Sequence[str], spread: np.ndarray) -> xr.Dataset:
    days = (op.edge[:-1] - op.edge[0]) / np.timedelta64(1, "D")
    share = spread.sum(axis=1)
    whole = np.where(share > _LEAST, share, np.nan)
    mean = np.tensordot(days, spread, axes=(0, 1)) / whole
    parts = {
        "time": (("to",), mean, "d", "mean transit time"),
        "share": (("to",), share, "1", "share of the water that came from there"),
        "spread": (("to", "days_between"), spread, "1", "share of the water by transit time"),
    }
    found = xr.Dataset(coords={"to": list(stores), "days_between": (
        "days_between", days, {"units": "d", "long_name": "days under way"})})
    for name, (dims, values, units, words) in parts.items():
        has_members = op.members is not None
        found[name] = ((*dims, "member") if has_members else dims,
                       values if has_members else values[..., 0],
                       {"units": units, "long_name": words})  # fmt: skip
    return found if op.members is None else found.assign_coords(member=op.members)
