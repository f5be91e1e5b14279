"""The label of water as it leaves a store along given flows."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.tracing.operator import Operator


def label_leaving(op: Operator, label: xr.DataArray, flows: np.ndarray) -> xr.DataArray:
    """Label of the water that several flows carry, mixed by their rates.

    What a store holds at the end of a step is what its outflows of that step carry. Where none of
    the flows runs, the mean of the stores they leave is given.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    label : xarray.DataArray
        Label of every store at every edge, or of what leaves it in every step; with store and edge
        or time among its dims.
    flows : numpy.ndarray of bool
        Flows that leave stores, shape (flow).

    Returns
    -------
    xarray.DataArray
        The same without store, and with time in place of edge, in the label's unit.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> from hydroloop.tracing import operator
    >>> pond = Network(["pond"], ["rain", "pond"], ["pond", "sky"], ["rain", "evaporation"])
    >>> record = build_record(pond, edges_of("2031-01-01", 1), [[1], [2]], [[2, 1]])
    >>> label = record["volume"] * 0 + 0.5
    >>> label_leaving(operator(record), label, record["source"].values == "pond").values.tolist()
    [0.5]
    """
    chosen = np.flatnonzero(flows & (op.source >= 0))
    stores = op.source[chosen]
    rate = op.water.rate[:, chosen]
    total = rate.sum(axis=1, keepdims=True)
    even = np.full_like(rate, 1.0 / max(1, len(chosen)))
    weight = np.divide(rate, total, out=even, where=total > 0)
    if "edge" in label.dims:
        label = label.isel(edge=slice(1, None)).rename(edge="time")
    part = label.isel(store=xr.DataArray(stores, dims="flow"))
    weights = xr.DataArray(weight, dims=("time", "flow", "member"))
    if "member" not in label.dims:
        weights = weights.isel(member=0)
    part = part.drop_vars(["store", "time"], errors="ignore").where(weights > 0.0, 0.0)
    mixed = (part * weights).sum("flow", skipna=False)
    return mixed.assign_coords(time=op.edge[:-1])
