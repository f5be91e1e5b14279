"""Reservoir yield: the storage that a draft needs, and the draft that a storage gives."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.errors import AskError, Problem
from hydroloop.record import check_is_record, flow_mask, flow_total, nearest, step_days


def sequent_peak(inflow: np.ndarray, draft: float, *, runs: int = 2) -> np.ndarray:
    """Storage drawn down at the end of each period.

    Starts full and follows how far a constant draft empties a reservoir without limits.
    Knows nothing of evaporation, dead storage or rules: those come on top.

    Parameters
    ----------
    inflow : numpy.ndarray
        Inflow of each period, shape (period) [m3]
    draft : float
        Water drawn in each period [m3]
    runs : int
        How often the series is run through: twice, so that a drought across its end is seen [-]

    Returns
    -------
    numpy.ndarray
        Storage drawn down, shape (runs times period) [m3]

    Notes
    -----
    K(t) = max(0, K(t-1) + draft - inflow(t)), K(0) = 0. The largest K is the storage needed.

    References
    ----------
    Thomas & Burden 1963, as given in Loucks & van Beek, Water Resource Systems Planning and
    Management (from memory).

    Examples
    --------
    >>> sequent_peak(np.array([1.0, 3.0, 5.0]), 2.0, runs=1).tolist()
    [1.0, 0.0, 0.0]
    """
    drawn, filled = np.empty(runs * len(inflow)), 0.0
    for period, water in enumerate(np.tile(np.asarray(inflow, dtype=float), runs).tolist()):
        filled = max(0.0, filled + draft - water)
        drawn[period] = filled
    return drawn


def storage_for_draft(inflow: np.ndarray, draft: float) -> float:
    """Storage that a constant draft needs [m3].

    The smallest reservoir that never runs dry in the record, run through twice.
    A drier time than the record's empties it.

    Parameters
    ----------
    inflow : numpy.ndarray
        Inflow of each period, shape (period) [m3]
    draft : float
        Water drawn in each period, at most the mean inflow [m3]

    Returns
    -------
    float
        Storage [m3]

    Raises
    ------
    ValueError
        If the draft is more than the mean inflow: no storage is enough for ever.

    Notes
    -----
    At a draft equal to the mean inflow it is the range of the cumulative departures from the mean
    (Rippl; Hurst).

    Examples
    --------
    >>> storage_for_draft(np.array([1, 3, 3, 5, 8, 6, 7, 2, 1]), 3.5)
    7.5
    """
    mean = float(np.mean(inflow))
    if draft > mean * (1.0 + 1e-12):
        raise ValueError(f"a draft of {draft:g} is more than the mean inflow of {mean:g}.")
    return float(sequent_peak(inflow, draft).max(initial=0.0))


def yield_for_storage(inflow: np.ndarray, storage: float) -> float:
    """Constant draft that a storage gives [m3].

    The most that can be drawn in every period without failure, in the record run through twice.
    The firm yield of planners; with evaporation and dead storage it is less.

    Parameters
    ----------
    inflow : numpy.ndarray
        Inflow of each period, shape (period) [m3]
    storage : float
        Storage that can be used [m3]

    Returns
    -------
    float
        Draft in each period, at most the mean inflow [m3]

    Raises
    ------
    ValueError
        If the storage is negative or there is no inflow series.

    Notes
    -----
    The draft is the least of (storage + inflow of a stretch) / length over all stretches. From the
    mean inflow down: the stretch that the sequent peak finds critical gives the next, smaller
    draft, until no stretch asks for more than the storage. Exact after a few rounds.

    Examples
    --------
    >>> yield_for_storage(np.array([1, 3, 3, 5, 8, 6, 7, 2, 1]), 7.5)
    3.5
    """
    inflow = np.asarray(inflow, dtype=float)
    if storage < 0.0 or not len(inflow):
        raise ValueError("give a storage that is not negative, and at least one inflow.")
    draft, twice = float(inflow.mean()), np.tile(inflow, 2)
    while True:
        start, end, needed = _critical_stretch(twice, draft)
        if needed <= storage:
            return draft
        smaller = (storage + float(twice[start:end].sum())) / (end - start)
        if smaller >= draft:
            return draft
        draft = smaller


def reservoir_yield(record: xr.Dataset, reservoir: str, storage: float) -> xr.DataArray:
    """Draft that a reservoir gives in every step of the season [m3/d].

    From all that flowed and rained into it, less what evaporated, by the sequent peak.
    One season is a short record: its driest weeks are not the driest that can come.

    Parameters
    ----------
    record : xarray.Dataset
        Water record with steps of one length.
    reservoir : str
        Name of its store.
    storage : float
        Storage that can be used [m3]

    Returns
    -------
    xarray.DataArray
        Draft, with member where the record has it [m3/d].

    Raises
    ------
    AskError
        If the record has no such store, or the storage is negative.
    RecordError
        If it is no water record.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> ends = (["upstream", "a/lake"], ["a/lake", "downstream"], ["upstream", "release"])
    >>> lake = Network(["a/lake"], *ends)
    >>> record = build_record(lake, edges_of("2031-01-01", 2), [[2], [3], [2]], [[3, 2], [1, 2]])
    >>> float(reservoir_yield(record, "a/lake", 0.5))
    1.5
    """
    check_is_record(record)
    if reservoir not in record["store"].values:
        near = nearest(reservoir, record["store"].values)
        raise AskError(Problem("reservoir", f'there is no store "{reservoir}".', near))
    into = flow_total(record, flow_mask(record, target=reservoir))
    gone = flow_total(record, flow_mask(record, source=reservoir, kind="evaporation"))
    net = (into - gone).transpose("time", ...)
    days = step_days(record)
    columns = net.values.reshape(len(days), -1).T * days
    drafts = [yield_for_storage(column, storage) / days[0] for column in columns]
    dims = net.dims[1:]
    return xr.DataArray(
        np.array(drafts).reshape(net.shape[1:]),
        {name: net[name] for name in dims},
        dims,
        attrs={"units": "m3 d-1", "long_name": "draft that the reservoir gives in every step"},
    )


def _critical_stretch(inflow: np.ndarray, draft: float) -> tuple[int, int, float]:
    """First period and end of the stretch that draws down most, and how much."""
    filled = most = 0.0
    begun = start = end = 0
    for period, water in enumerate(inflow.tolist()):
        filled += draft - water
        if filled <= 0.0:
            filled, begun = 0.0, period + 1
        elif filled > most:
            most, start, end = filled, begun, period + 1
    return start, end, most
