"""Cycles of a parcel: what becomes of water released at an intake, by the season's end."""

from __future__ import annotations

from typing import Any

import xarray as xr

from hydroloop.tracing import Operator, follow

# Where a parcel may be, in words; the first line that names its role or boundary counts.
_ENDS = {
    "evaporated": ("sky",),
    "left down the river": ("downstream",),
    "left with sludge": ("solids",),
    "in rivers": ("reach",),
    "in reservoirs": ("reservoir",),
    "in the ground": ("groundwater",),
    "in soil, yards and snow": ("soil", "yards", "snow", "pavement", "storm_drains"),
}
_ELSEWHERE = "in pipes and water works"
ENDS = (*_ENDS, _ELSEWHERE)


def parcel_fate(op: Operator, roles: dict[str, str], store: str, on: Any, *, gate: Any = "home_use",
                most: int = 5) -> xr.Dataset:
    """Cycles of a parcel over the season.

    Passes that a parcel of water makes until the season's end, and where it is then. A short season
    or a large reservoir leaves much of it on its way.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    roles : dict
        Role of each store.
    store : str
        Store in which the parcel is released.
    on : str or datetime
        Date of the release.
    gate : str, sequence of str, or boolean mask
        What counts as a use.
    most : int
        Highest use class of `parcel_pass_share`.

    Returns
    -------
    xarray.Dataset
        `parcel_passes` (): mean passes [-], with those beyond 30 counted as 30;
        `parcel_pass_share` (use) and `parcel_end_share` (end) [-]. Member last where the record has
        it.

    Raises
    ------
    AskError
        If there is no such store, date or gate, or the store is empty then.

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
    share = follow(op, at=store, on=on, gate=gate, most=30)["share"]
    by_use = share.sum("place")
    passes = (by_use * by_use["use"]).sum("use")
    cut = xr.concat([by_use.isel(use=slice(0, most)),
                     by_use.isel(use=slice(most, None)).sum("use").expand_dims(use=[most])], "use")
    return xr.Dataset({
        "parcel_passes": passes.assign_attrs(units="1", long_name="passes of a parcel, mean"),
        "parcel_pass_share": cut.assign_attrs(units="1", long_name="share of a parcel by passes"),
        "parcel_end_share": _ends(share.sum("use"), roles),
    })


def _ends(share: xr.DataArray, roles: dict[str, str]) -> xr.DataArray:
    words = {role: end for end, found in _ENDS.items() for role in found}
    ends = [words.get(roles.get(place, place), _ELSEWHERE) for place in share["place"].values]
    grouped = share.assign_coords(end=("place", ends)).groupby("end").sum()
    grouped = grouped.reindex(end=list(ENDS), fill_value=0.0).transpose("end", ...)
    return grouped.assign_attrs(units="1", long_name="share of a parcel by where it has ended")
