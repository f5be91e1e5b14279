"""Turnover times: how long water stays in each part, on average."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.tracing import Operator, operator
from hydroloop.tracing.long_run import NO_FLOW


def turnover_time(op: xr.Dataset | Operator) -> np.ndarray:
    """Turnover time of every store.

    How long the store would take to empty at its mean throughflow. It says nothing of the spread:
    some drops leave at once, others stay for long.

    Parameters
    ----------
    op : xarray.Dataset or Operator
        Water record, or its operator.

    Returns
    -------
    numpy.ndarray
        Shape (store, member) [d]; NaN without throughflow.

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
    >>> turnover_time(operator(record)).tolist()
    [[5.0]]
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
    return np.divide(mean, through, out=np.full_like(mean, np.nan), where=through > NO_FLOW)
