"""Transit times: from a town's intake to its outfall, and from an outfall to the next tap."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.errors import AskError
from hydroloop.tracing import Operator, last_use

_GLASSES = 6


def transit_time(op: Operator, gate: np.ndarray, store: str) -> xr.Dataset:
    """Transit time from some flows to a store.

    Mean time since the water in a store last passed the flows, over some days of the later part of
    the record, and the share of it that did. Slow paths that began before the record are missing,
    so in a short record the mean is a lower bound.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    gate : numpy.ndarray of bool
        Flows where the time begins, shape (flow).
    store : str
        Store in which it ends.

    Returns
    -------
    xarray.Dataset
        `time` () [d], nan where nothing comes from there, and `share` () [-]; member last where the
        record has it.

    Raises
    ------
    AskError
        If there is no such store.

    Notes
    -----
    sum(days ago x share) / sum(share), from the transposed operator, with each step counted as
    whole steps: the mean is exact, see the explanation of the operator.

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
    >>> 1 < float(transit_time(operator(record), intake, "larkmill/contact")["time"]) < 5
    True
    """
    steps = len(op.edge) - 1
    dates = np.unique(np.linspace(steps // 3, steps - 1, _GLASSES).astype(int))
    try:
        ago = last_use(op, at=store, on=list(op.edge[dates]), gate=gate)["share"]
    except AskError:
        # Nothing runs through the gate, or the store stands dry on one of these days.
        if not gate.any() or store in op.stores:
            return xr.Dataset({"time": np.nan, "share": 0.0})
        raise
    share = ago.sum("days_ago")
    days = (ago * ago["days_ago"]).sum("days_ago")
    total = share.sum("on")
    mean = days.sum("on") / total.where(total > 1e-9)
    return xr.Dataset({
        "time": mean.assign_attrs(units="d", long_name="mean transit time"),
        "share": share.mean("on").assign_attrs(units="1", long_name="share that came from there"),
    })
