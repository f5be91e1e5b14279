"""Residence times: how long water stays in each part, and on its way."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.tracing import Operator, label_leaving, operator


def turnover_time(op: xr.Dataset | Operator) -> xr.DataArray:
    """Turnover time of every store.

    How long the store would take to empty at its mean throughflow. It says nothing of the spread:
    some drops leave at once, others stay for long.

    Parameters
    ----------
    op : xarray.Dataset or Operator
        Water record, or its operator.

    Returns
    -------
    xarray.DataArray
        Turnover time (store) [d], member last where the record has it; NaN without throughflow.

    Raises
    ------
    RecordError
        The record breaks its own rules.

    Notes
    -----
    mean volume / mean throughflow. The volume runs straight from edge to edge; the throughflow is
    the larger of mean inflow and mean outflow, that is outflow and what storage gains, if it gains.

    References
    ----------
    Bolin & Rodhe 1973, Tellus 25 (title from memory): turnover time.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> from hydroloop.tracing import operator
    >>> lake = Network(["lake"], ["upstream", "lake"], ["lake", "downstream"], ["river"] * 2)
    >>> record = build_record(lake, edges_of("2031-01-01", 1), [[10], [10]], [[2, 2]])
    >>> turnover_time(operator(record)).values.tolist()
    [5.0]
    """
    op = operator(op)
    part = op.water.days / op.water.days.sum()
    rate = np.tensordot(part, op.water.rate, axes=1)
    sides = np.zeros((2, len(op.stores) + 1, rate.shape[1]))
    for side, end in zip(sides, (op.source, op.target), strict=True):
        np.add.at(side, end, rate)
    through = sides.max(axis=0)[:-1]
    volume = op.water.volume
    mean = np.tensordot(part, 0.5 * (volume[:-1] + volume[1:]), axes=1)
    time = np.divide(mean, through, out=np.full_like(mean, np.nan), where=through > 0)
    attrs = {"units": "d", "long_name": "turnover time"}
    found = xr.DataArray(time, {"store": list(op.stores)}, ("store", "member"), attrs=attrs)
    return found.isel(member=0) if op.members is None else found.assign_coords(member=op.members)


def age_at(op: xr.Dataset | Operator, mean_age: xr.DataArray, flows: np.ndarray) -> xr.DataArray:
    """Age of the water that some flows carry.

    Mean time since it came over a boundary of the record: as rain, at a river's head, or bought.
    The past beyond the boundary is not in it.

    Parameters
    ----------
    op : xarray.Dataset or Operator
        Water record, or its operator.
    mean_age : xarray.DataArray
        Mean age of the water in every store, (edge, store), as `hydroloop.ages` gives it [d].
    flows : numpy.ndarray of bool
        The flows, shape (flow).

    Returns
    -------
    xarray.DataArray
        Mean age (time) [d], member last where the record has it.

    Raises
    ------
    RecordError
        The record breaks its own rules.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> taps = flow_mask(record, kind="home_use", to_place="larkmill")
    >>> bool((age_at(operator(record), hl.ages(record).mean_age, taps) > 0).all())
    True
    """
    op = operator(op)
    attrs = {"units": "d", "long_name": "mean age of the water at the tap"}
    return label_leaving(op, mean_age, flows).assign_attrs(attrs)
