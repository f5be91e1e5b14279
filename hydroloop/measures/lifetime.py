"""Cycling in the long run: what the mean flows would do for ever."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import AskError
from hydroloop.tracing import Operator, cycles, find_gate, operator


def cycling(op: xr.Dataset | Operator, gate: Any, stores: Sequence[str]) -> dict[str, np.ndarray]:
    """Cycling index, and passes of a drop in its whole life.

    Tells how much of all that flows is water that comes by again, and how often a drop would pass
    homes before it leaves for good. Mean flows that go on for ever are supposed: a season is
    shorter, and a drought is not a mean.

    Parameters
    ----------
    op : xarray.Dataset or Operator
        Water record, or its operator.
    gate : str, sequence of str, or boolean mask
        What counts as a use.
    stores : sequence of str
        Stores in which drops begin.

    Returns
    -------
    dict of numpy.ndarray
        ``cycling_index``, ``path_length`` (member) and ``lifetime_passes`` (store, member) [-]; NaN
        where water goes round without end, and passes NaN where there is no such store.

    Raises
    ------
    RecordError
        The record breaks its own rules.

    Notes
    -----
    cycling index = sum of T_i (N_ii - 1) / N_ii over sum of T_i, with T the mean throughflows
    [m3/d] and N the fundamental matrix; path length = sum of T_i over all inflow.

    References
    ----------
    Finn 1980: Flow analysis of models of the Hubbard Brook ecosystem (title from memory).

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import operator
    >>> op = operator(hl.simulate(hl.read_scenario("first_town")))
    >>> bool(cycling(op, "home_use", ["larkmill/rapid_mix"])["lifetime_passes"][0] > 0)
    True
    """
    op = operator(op)
    mask = find_gate(op, gate)
    passes = np.full((len(stores), op.shape[2]), np.nan)
    try:
        found = cycles(op, mask)
    except AskError:  # water that goes round without end has no last pass
        nothing = np.full(op.shape[2], np.nan)
        return {"cycling_index": nothing, "path_length": nothing, "lifetime_passes": passes}
    for row, name in enumerate(stores):
        if name in op.stores and (gate is not None or mask.any()):
            passes[row] = found.passes[op.stores.index(name)]
    return {
        "cycling_index": found.cycling_index,
        "path_length": found.path_length,
        "lifetime_passes": passes,
    }
