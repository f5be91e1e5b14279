"""What a town takes, delivers and gives back."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.record import flow_mask, flow_total

_WORDS = {
    "delivered": "water delivered to homes",
    "withdrawn": "water withdrawn from rivers and reservoirs",
    "pumped": "water pumped from wells",
    "effluent": "treated wastewater returned",
    "overflowed": "sewage and rain that overflowed untreated",
    "river_flow_at_intake": "river flow that arrives at the intake",
}
_OPEN_WATER = ("reach", "reservoir")
_SUPPLY: dict[str, dict[str, Any]] = {
    "homes": {"kind": "home_use"}, "workplaces": {"kind": "work_use"},
    "yards": {"kind": ("yard_use", "reclaimed"), "to_role": "yards"},
}  # fmt: skip


def delivered(record: xr.Dataset, town: str) -> xr.Dataset:
    """Water that a town takes, delivers and gives back.

    The plain flows behind all shares. River flow at the intake is what arrives there, before the
    town takes its part.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    town : str
        Place whose homes are supplied.

    Returns
    -------
    xarray.Dataset
        `delivered`, `withdrawn`, `pumped`, `effluent`, `overflowed`, `river_flow_at_intake` (time)
        [m3/d], and `unmet` (time, purpose) [m3/d] if the record holds what was asked for. Member
        last where the record has it. A town without an intake in a river has river flow nan.

    Examples
    --------
    >>> import hydroloop as hl
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> bool((delivered(record, "larkmill").delivered > 0).all())
    True
    """
    masks = {
        "delivered": flow_mask(record, kind="home_use", to_place=town),
        "withdrawn": flow_mask(record, kind="intake", to_place=town, from_role=_OPEN_WATER),
        "pumped": flow_mask(record, kind="intake", to_place=town, from_role="groundwater"),
        "effluent": flow_mask(record, kind="outfall", from_place=town),
        "overflowed": flow_mask(record, kind="overflow", from_place=town),
    }
    found = {name: flow_total(record, mask) for name, mask in masks.items()}
    found["river_flow_at_intake"] = _river_flow(record, masks["withdrawn"])
    for name, values in found.items():
        values.attrs = {"units": "m3 d-1", "long_name": _WORDS[name]}
    if "demand" in record and town in record["town"].values:
        found["unmet"] = _unmet(record, town)
    return xr.Dataset(found)


def _river_flow(record: xr.Dataset, intake: np.ndarray) -> xr.DataArray:
    """All that leaves the intake's river cell as water: to the intakes and down the river."""
    stores = np.unique(record["source"].values[intake])
    leaving = flow_mask(record, source=tuple(stores) or "no such store")
    leaving &= ~flow_mask(record, kind="evaporation")
    flow = flow_total(record, leaving)
    roles = record["role"].values[np.isin(record["store"].values, stores)]
    return flow if len(roles) and (roles == "reach").all() else flow * np.nan


def _unmet(record: xr.Dataset, town: str) -> xr.DataArray:
    """What was asked for and not delivered; reclaimed water for yards counts as delivered."""
    asked = record["demand"].sel(town=town, drop=True)
    parts = []
    for purpose, wanted in _SUPPLY.items():
        mask = flow_mask(record, to_place=town, **wanted)
        short = asked.sel(purpose=purpose) - flow_total(record, mask)
        # Below a billionth of what was asked for it is rounding.
        parts.append(short.where(short > 1e-9 * asked.sel(purpose=purpose), 0.0))
    attrs = {"units": "m3 d-1", "long_name": "water asked for and not delivered"}
    return xr.concat(parts, "purpose").transpose("time", "purpose", ...).assign_attrs(attrs)
