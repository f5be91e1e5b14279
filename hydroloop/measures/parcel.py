"""Cycles of a parcel: what becomes of water released at an intake, by the season's end."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.tracing import Operator, follow, operator

# Where a parcel may be, in words; the first line that names its role or boundary counts.
_ENDS = {
    "evaporated": ("sky",),
    "left down the river": ("downstream",),
    "left with sludge": ("solids",),
    "in rivers": ("reach", "streams"),
    "in reservoirs": ("reservoir",),
    "in the ground": ("subsoil", "groundwater"),
    "in soil, yards and snow": ("soil", "yards", "snow", "pavement", "storm_drains"),
}
_ELSEWHERE = "in pipes and water works"
ENDS = (*_ENDS, _ELSEWHERE)
_END_OF = {role: end for end, found in _ENDS.items() for role in found}
_MOST = 30


def parcel_fate(op: xr.Dataset | Operator, roles: dict[str, str], store: str, on: Any, *,
                gate: Any = None, most: int = 5) -> xr.Dataset:
    """Cycles of a parcel over the season.

    Passes that a parcel of water makes until the season's end, and where it is then. A short season
    or a large reservoir leaves much of it on its way.

    Parameters
    ----------
    op : xarray.Dataset or Operator
        Water record, or its operator.
    roles : dict
        Role of each store.
    store : str
        Store in which the parcel is released.
    on : str or datetime
        Date of the release.
    gate : str, sequence of str, or boolean mask, optional
        What counts as a use.
    most : int
        Highest use class of `parcel_pass_share`.

    Returns
    -------
    xarray.Dataset
        ``parcel_passes`` (): mean passes [-], with those beyond 30 counted as 30;
        ``parcel_pass_share`` (use) and ``parcel_end_share`` (end) [-]. Member last where the record
        has it.

    Raises
    ------
    AskError
        If there is no such store, date or gate, or the store is empty then.
    RecordError
        The record breaks its own rules.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> roles = dict(zip(record.store.values, record.role.values))
    >>> fate = parcel_fate(operator(record), roles, "larkmill/rapid_mix", "2031-05-01")
    >>> round(float(fate.parcel_end_share.sum()), 9)
    1.0
    """
    op = operator(op)
    share = follow(op, at=store, on=on, gate=gate, most=_MOST)["share"]
    by_use = share.values.sum(axis=1)
    passes = np.tensordot(np.arange(_MOST + 1), by_use, axes=1)
    by_class = np.concatenate([by_use[:most], by_use[most:].sum(axis=0, keepdims=True)])
    names = [_END_OF.get(roles.get(place, place), _ELSEWHERE) for place in share["place"].values]
    by_place = share.values.sum(axis=0)
    by_end = np.stack([by_place[[name == end for name in names]].sum(axis=0) for end in ENDS])
    rest = share.dims[2:]
    found = xr.Dataset({
        "parcel_passes": (rest, passes, {"units": "1", "long_name": "passes of a parcel, mean"}),
        "parcel_pass_share": (("use", *rest), by_class,
                              {"units": "1", "long_name": "share of a parcel by passes"}),
        "parcel_end_share": (("end", *rest), by_end,
                             {"units": "1", "long_name": "share of a parcel by where it ends"}),
    }, {"use": np.arange(most + 1), "end": list(ENDS)})  # fmt: skip
    return found.assign_coords({name: share[name] for name in rest})
