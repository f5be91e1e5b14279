"""What a town takes, delivers and gives back."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.record import check_is_record, flow_mask, flow_total, step_days

WORDS = {
    "delivered": "water delivered to homes",
    "withdrawn": "water withdrawn from rivers and reservoirs",
    "pumped": "water pumped from wells",
    "effluent": "treated wastewater returned",
    "overflowed": "sewage and rain that overflowed untreated",
    "bypassed": "sewage and rain that went round the biological step of the plant",
    "reclaimed_to_supply": "reclaimed water that went straight to the water plant",
    "river_flow_at_intake": "river flow that arrives at the intake",
}
_SUPPLY: dict[str, dict[str, Any]] = {
    "homes": {"kind": "home_use"}, "workplaces": {"kind": "work_use"},
    "yards": {"kind": ("yard_use", "reclaimed"), "to_role": "yards"},
}  # fmt: skip


def delivered(record: xr.Dataset, flows: Mapping[str, np.ndarray]) -> xr.Dataset:
    """Water that a town takes, delivers and gives back.

    The plain flows behind all shares. River flow at the intake is what is there before the town
    takes its part.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    flows : mapping of str to numpy.ndarray of bool
        Flows of the town that are `delivered`, `withdrawn`, `pumped`, `effluent`, `overflowed`;
        each of shape (flow).

    Returns
    -------
    xarray.Dataset
        The same names and `river_flow_at_intake`, shape (time) [m3/d]. Member last where the record
        has it. A town without an intake in a river has river flow NaN.

    Raises
    ------
    RecordError
        It is no water record.

    Notes
    -----
    River flow at the intake is all that leaves the river cell of the intake as water: down the
    river and to every intake there.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> intake = flow_mask(record, kind="intake", to_place="larkmill")
    >>> found = delivered(record, {"withdrawn": intake})
    >>> bool((found.river_flow_at_intake > found.withdrawn).all())
    True
    """
    check_is_record(record)
    found = {name: flow_total(record, mask) for name, mask in flows.items()}
    found["river_flow_at_intake"] = river_flow(record, flows["withdrawn"])
    for name, values in found.items():
        values.attrs = {"units": "m3 d-1", "long_name": WORDS[name]}
    return xr.Dataset(found)


def unmet(record: xr.Dataset, town: str) -> xr.DataArray:
    """Water asked for and not delivered.

    Zero on a day when everybody got what they asked for. Reclaimed water counts as delivered.

    Parameters
    ----------
    record : xarray.Dataset
        Water record with `demand`.
    town : str
        Name of the town.

    Returns
    -------
    xarray.DataArray
        Shape (time, purpose), member last where the record has it [m3/d].

    Raises
    ------
    RecordError
        It is no water record, or has no such part.

    Notes
    -----
    demand - delivered, and zero where that is below a billionth of the demand.

    Examples
    --------
    >>> import hydroloop as hl
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> float(unmet(record, "larkmill").sel(purpose="homes").sum())
    0.0
    """
    check_is_record(record, "demand")
    asked = record["demand"].sel(town=town, drop=True)
    parts = []
    for purpose, wanted in _SUPPLY.items():
        mask = flow_mask(record, to_place=town, **wanted)
        short = asked.sel(purpose=purpose) - flow_total(record, mask)
        parts.append(short.where(short > 1e-9 * asked.sel(purpose=purpose), 0.0))
    attrs = {"units": "m3 d-1", "long_name": "water asked for and not delivered"}
    return xr.concat(parts, "purpose").transpose("time", "purpose", ...).assign_attrs(attrs)


def river_flow(record: xr.Dataset, intake: np.ndarray) -> xr.DataArray:
    """River flow that arrives at an intake.

    All that leaves the river cell of the intake as water: down the river and to every intake there.
    A reservoir is no river, so it has none.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    intake : numpy.ndarray of bool
        Flows of the intake, shape (flow).

    Returns
    -------
    xarray.DataArray
        Shape (time), member last where the record has it; NaN without a river [m3/d].

    Raises
    ------
    RecordError
        It is no water record.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> bool((river_flow(record, flow_mask(record, kind="intake", to_place="larkmill")) > 0).all())
    True
    """
    check_is_record(record)
    stores = np.unique(record["source"].values[intake])
    leaving = flow_mask(record, source=tuple(stores) or "no such store")
    leaving &= ~flow_mask(record, kind="evaporation")
    flow = flow_total(record, leaving)
    roles = record["role"].values[np.isin(record["store"].values, stores)]
    return flow if len(roles) and not np.isin(roles, ("reservoir",)).any() else flow * np.nan


def reclaimed_share(record: xr.Dataset, straight: np.ndarray, takes: np.ndarray) -> xr.Dataset:
    """Part of what a town takes in that is reclaimed water, straight from its tank.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    straight, takes : numpy.ndarray of bool
        Flows of reclaimed water into its supply, and all flows into it, shape (flow).

    Returns
    -------
    xarray.Dataset
        ``season_reclaimed_share`` () [-], NaN where nothing is taken in; member last where the
        record has it.
    """
    days = xr.DataArray(step_days(record), {"time": record["time"]}, ("time",))
    part, whole = ((flow_total(record, flows) * days).sum("time") for flows in (straight, takes))
    share = part / whole.where(whole > 0)
    return xr.Dataset({"season_reclaimed_share": share.assign_attrs(
        units="1", long_name="share of the water taken in that is reclaimed, straight")})
