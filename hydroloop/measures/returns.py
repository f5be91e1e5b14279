"""Accumulated return ratio: what national studies print as de facto reuse."""

from __future__ import annotations

import xarray as xr

from hydroloop.tracing import Operator, trace

# Flows by which used water comes back to a river, and those that take water but leave this count.
_RETURNS = ("outfall", "overflow")
_LEAVES_COUNT = ("intake", "evaporation")


def return_label(op: Operator) -> xr.DataArray:
    """Accumulated return ratio in every store.

    All effluent that has joined the river above, over the river flow. It counts water again each
    time it is withdrawn and returned again, so it can pass 100 %; it is no share of anything.

    Parameters
    ----------
    op : Operator
        Operator of the record.

    Returns
    -------
    xarray.DataArray
        Ratio (edge, store) [-], and member last where the record has it. Trust it in rivers and
        reservoirs; what soaks into the ground from them carries it along.

    Notes
    -----
    A label that each outfall adds, 1 for each unit of return flow, whatever the return flow holds.
    The river carries it; withdrawals and evaporation take water and leave the label, so that it
    is never taken off again: S = sum of return flows above / river flow.

    References
    ----------
    Rice & Westerhoff 2015, Environmental Science & Technology 49:982 (the ratio, read in the
    abstract).

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import operator
    >>> ratio = return_label(operator(hl.simulate(hl.read_scenario("first_town"))))
    >>> bool(ratio.isel(edge=-1).sel(store="wren/reach_8") > 0)
    True
    """
    present = set(op.kinds)
    injection = {kind: 1.0 for kind in _RETURNS if kind in present}
    carries = {kind: 0.0 for kind in _LEAVES_COUNT if kind in present}
    if not injection:
        return trace(op)["label"].assign_attrs(units="1", long_name="accumulated return ratio")
    ratio = trace(op, injection=injection, carries=carries)["label"]
    return ratio.assign_attrs(units="1", long_name="accumulated return ratio")
