"""Accumulated return ratio: what national studies print as de facto reuse."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.tracing import Operator, trace

# Flows by which used water comes back to a river, and those that take water but leave this count.
_RETURNS = ("outfall", "overflow")
_LEAVES_COUNT = ("intake", "evaporation")


def return_ratio(op: Operator) -> xr.DataArray:
    """Accumulated return ratio of what leaves every store.

    All effluent that has joined the river above, over the river flow. It counts water again each
    time it is withdrawn and returned again, so it can pass 100 %; it is no share of anything.

    Parameters
    ----------
    op : Operator
        Operator of the record.

    Returns
    -------
    xarray.DataArray
        Ratio (time, store) [-], and member last where the record has it. Trust it in rivers and
        reservoirs; what soaks into the ground from them carries it along.

    Notes
    -----
    A label that each outfall adds, 1 for each unit of return flow, whatever the return flow holds.
    The river carries it; withdrawals and evaporation take water and leave the label, so that it
    is never taken off again: S = sum of return flows above / river flow, that of an intake
    included.

    References
    ----------
    Rice & Westerhoff 2015, Environmental Science & Technology 49:982 (the ratio, read in the
    abstract).

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import operator
    >>> ratio = return_ratio(operator(hl.simulate(hl.read_scenario("first_town"))))
    >>> 0.05 < float(ratio.isel(time=-1).sel(store="wren/reach_6")) < 0.5
    True
    """
    present = set(op.kinds)
    injection = {kind: 1.0 for kind in _RETURNS if kind in present}
    carries = {kind: 0.0 for kind in _LEAVES_COUNT if kind in present}
    label = trace(op, injection=injection or 0.0, carries=carries or 1.0)["label"]
    ratio = label.isel(edge=slice(1, None)).rename(edge="time") * _carried_on(op, label)
    ratio = ratio.assign_coords(time=op.edge[:-1])
    return ratio.assign_attrs(units="1", long_name="accumulated return ratio")


def _carried_on(op: Operator, label: xr.DataArray) -> xr.DataArray:
    """Part of the water leaving a store as water that is not withdrawn, (time, store[, member]).

    The label of a river cell is all in the flow that passes its intake; the flow that arrives there
    is that and the withdrawal. Vapour has left before.
    """
    passing, arriving = np.zeros(op.shape), np.zeros(op.shape)
    for flow in np.flatnonzero(op.source >= 0).tolist():
        if op.kinds[flow] != "evaporation":
            arriving[:, op.source[flow]] += op.water.rate[:, flow]
            if op.kinds[flow] != "intake":
                passing[:, op.source[flow]] += op.water.rate[:, flow]
    part = np.divide(passing, arriving, out=np.ones_like(passing), where=arriving > 0)
    found = xr.DataArray(part, dims=("time", "store", "member"))
    return found if "member" in label.dims else found.isel(member=0)
