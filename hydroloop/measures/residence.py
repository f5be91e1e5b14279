"""Residence times: how long water stays in each part, and on its way."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.tracing import Operator, ages, label_leaving


def turnover_time(op: Operator) -> xr.DataArray:
    """Turnover time of every store.

    How long the store would take to empty at its mean throughflow. It says nothing of the spread:
    some drops leave at once, others stay for long.

    Parameters
    ----------
    op : Operator
        Operator of the record.

    Returns
    -------
    xarray.DataArray
        Turnover time (store) [d], member last where the record has it; nan without throughflow.

    Notes
    -----
    mean volume / mean outflow, and inflow where nothing flows out.

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
    rate = op.water.rate.mean(axis=0)
    through = np.zeros((len(op.stores) + 1, rate.shape[1]))
    entering = np.zeros_like(through)
    np.add.at(through, op.source, rate)
    np.add.at(entering, op.target, rate)
    through, entering = through[:-1], entering[:-1]
    through = np.where(through > 0, through, entering)
    mean = op.water.volume.mean(axis=0)
    time = np.divide(mean, through, out=np.full_like(mean, np.nan), where=through > 0)
    attrs = {"units": "d", "long_name": "turnover time"}
    found = xr.DataArray(time, {"store": list(op.stores)}, ("store", "member"), attrs=attrs)
    return found.isel(member=0) if op.members is None else found.assign_coords(member=op.members)


def age_at(op: Operator, flows: np.ndarray, warm_up: str = "repeat") -> xr.DataArray:
    """Age of the water that some flows carry.

    Mean time since it came over a boundary of the map, as rain, at a river's head or bought. The
    past above the boundary is not in it.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    flows : numpy.ndarray of bool
        The flows, shape (flow).
    warm_up : str
        As `hydroloop.ages` takes it.

    Returns
    -------
    xarray.DataArray
        Mean age (time) [d], member last where the record has it.

    Raises
    ------
    AskError
        If there is no such way to warm up.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> taps = flow_mask(record, kind="home_use", to_place="larkmill")
    >>> bool((age_at(operator(record), taps) > 0).all())
    True
    """
    mean = ages(op, warm_up=warm_up)["mean_age"]
    attrs = {"units": "d", "long_name": "mean age of the water at the tap"}
    return label_leaving(op, mean, flows).assign_attrs(attrs)

