"""Cycling in the long run: what the mean flows would do for ever."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import AskError
from hydroloop.tracing import Operator, long_run, operator


def cycling(op: xr.Dataset | Operator, gate: Any, stores: Sequence[str]) -> xr.Dataset:
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
    xarray.Dataset
        ``cycling_index`` (), ``path_length`` () and ``lifetime_passes`` (start) [-]; NaN where
        water goes round without end, and passes NaN where there is no such store. Member last where
        the record has it.

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
    >>> bool(cycling(op, "home_use", ["larkmill/rapid_mix"]).lifetime_passes[0] > 0)
    True
    """
    op = operator(op)
    try:
        run = long_run(op, gate)
    except AskError:
        # Water that goes round without end has no last pass; anything else was asked for earlier.
        run = None
    known = [name in op.stores for name in stores]
    shape = () if op.members is None else (len(op.members),)
    dims = ("member",) if shape else ()
    never = xr.DataArray(np.full(shape, np.nan), dims=dims)
    rows = [run["passes"].sel(store=name, drop=True) if run is not None and is_known else never
            for name, is_known in zip(stores, known, strict=True)]
    words = {"cycling_index": "share of the total throughflow that is cycled",
             "path_length": "stores that water passes from entry to exit"}
    found = {name: (never if run is None else run[name]).assign_attrs(units="1", long_name=said)
             for name, said in words.items()}
    passes = xr.concat(rows, xr.IndexVariable("start", list(stores))) if rows else never
    found["lifetime_passes"] = passes.assign_attrs(
        units="1", long_name="uses that a drop from the intake makes before it leaves, long run")
    return xr.Dataset(found)
