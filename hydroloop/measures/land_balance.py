"""Balance of the land in depth: where the rain went, and what soil and ground hold."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.record import check_is_record, step_days

_GROUND = "groundwater"
_LAND = ("snow", "pavement", "storm_drains", "soil", "yards", "subsoil")
LAND_TERMS = (
    "rain",
    "watering",
    "evaporation",
    "runoff",
    "recharge",
    "change of soil and snow",
    "leaks and reuse",
    "baseflow",
    "sewers and wells",
    "change of groundwater",
)
# Of the rain, what storage may change by although no other weather explains it: soils differ.
_ROOM = 0.05
_A_YEAR = 360.0


def land_balance(record: xr.Dataset) -> xr.Dataset:
    """Balance of the land in depth.

    Where the rain on each piece of land went in the season, as depth over its area, and how much
    soil, snow and groundwater hold more or less at its end. It says nothing of rivers.

    Parameters
    ----------
    record : xarray.Dataset
        Water record with the weather in it, as `simulate` makes it.

    Returns
    -------
    xarray.Dataset
        `land_balance` (land, land_term) and `unexplained_storage` (land), both in mm: by how much
        storage changes more than the weather explains. Without weather, or rain, there is nothing.
        Member last where the record has it.

    Raises
    ------
    RecordError
        If it is no water record.

    Notes
    -----
    rain + watering = evaporation + runoff + recharge + change of soil and snow; recharge + leaks
    and reuse = baseflow + sewers and wells + change of groundwater. Runoff is with interflow. A
    shared aquifer stands for all the land over it, that of its towns included; for a town alone,
    what seeps into it is recharge. The area is the volume of rain over its depth. Weather explains
    a change of storage up to the difference of the season's rain from that of as many days of the
    years before; in a season of less than a year up to the difference of rain and reference
    evaporation, for storage falls every summer; and 5 % of the rain besides.

    Examples
    --------
    >>> import hydroloop as hl
    >>> depth = land_balance(hl.simulate(hl.read_scenario("first_town"))).land_balance
    >>> rain, watering, *out = depth.sel(land="larkmill").values[:6]
    >>> bool(abs(rain + watering - sum(out)) < 1e-9)
    True
    """
    check_is_record(record)
    if "rain_mm" not in record:
        return xr.Dataset()
    moved = np.tensordot(step_days(record), record["rate"].values, axes=(0, 0))
    change = record["volume"].values[-1] - record["volume"].values[0]
    rows: dict[str, np.ndarray] = {}
    rain_mm = record["rain_mm"].values.sum(axis=0)
    for place in dict.fromkeys(record["place"].values.tolist()):
        terms = _terms(record, place, (moved, change))
        if np.all(terms[0] > 0.0):
            rows[place] = terms * (rain_mm / terms[0])
    if not rows:
        return xr.Dataset()
    dims = ("land", "land_term", *record["volume"].dims[2:])
    coords: dict[str, Any] = {"land": list(rows), "land_term": list(LAND_TERMS)}
    coords |= {str(name): record[name] for name in dims[2:]}
    said = {"units": "mm", "long_name": "balance of the land in depth over the season"}
    table = xr.DataArray(np.stack(list(rows.values())), coords, dims, attrs=said)
    return xr.Dataset({"land_balance": table, "unexplained_storage": _unexplained(record, table)})


def _terms(record: xr.Dataset, place: str, of_season: tuple[np.ndarray, np.ndarray]) -> np.ndarray:
    """Terms of one piece of land [m3], in their order."""
    moved, change = of_season
    here, role = record["place"].values == place, record["role"].values
    over = np.isin(record["place"].values, [place, *_places_over(record, here)])
    land, ground = over & np.isin(role, _LAND), here & (role == _GROUND)
    leaves, enters = (
        [np.isin(record[end].values, record["store"].values[some]) for some in (land, ground)]
        for end in ("source", "target")
    )
    rain, sky = record["source"].values == "rain", record["target"].values == "sky"
    below = (role == _GROUND) | ((role == "subsoil") & ~over)
    to_ground = np.isin(record["target"].values, record["store"].values[below])
    is_river = np.isin(role, ("reach", "streams"))
    to_river = np.isin(record["target"].values, record["store"].values[is_river])
    enters_land, leaves_land = enters[0] & ~leaves[0], leaves[0] & ~enters[0]
    from_land = np.isin(record["source"].values, record["store"].values[np.isin(role, _LAND)])
    masks = (
        enters_land & rain,
        enters_land & ~rain,
        leaves_land & sky,
        leaves_land & ~sky & ~to_ground,
        leaves_land & to_ground,
        enters[1] & ~from_land,
        leaves[1] & to_river,
        leaves[1] & ~to_river,
    )
    flows = [moved[mask].sum(axis=0) for mask in masks]
    held = [change[some].sum(axis=0) for some in (land, ground)]
    return np.stack([*flows[:5], held[0], *flows[5:], held[1]])


def _places_over(record: xr.Dataset, here: np.ndarray) -> set[str]:
    """Places whose land seeps into the subsoil of another."""
    stores = record["store"].values
    subsoil = stores[here & (record["role"].values == "subsoil")]
    land = dict(zip(stores, record["place"].values, strict=True))
    seeps = np.isin(record["target"].values, subsoil) & (record["kind"].values == "percolation")
    return {land[source] for source in record["source"].values[seeps]}


def _unexplained(record: xr.Dataset, table: xr.DataArray) -> xr.DataArray:
    change = table.sel(land_term=["change of soil and snow", "change of groundwater"])
    change, rain = change.sum("land_term"), table.sel(land_term="rain", drop=True)
    days = float(step_days(record).sum())
    usual = record.attrs.get("usual_rain_mm")
    if days >= _A_YEAR and usual is not None:
        explained = np.abs(rain - days * float(usual))
    else:
        explained = np.abs(rain - record["et0_mm"].sum("time"))
    beyond = np.maximum(0.0, np.abs(change) - explained - _ROOM * rain)
    said = {"units": "mm", "long_name": "change of storage that the weather does not explain"}
    return xr.DataArray(np.sign(change) * beyond).assign_attrs(said)
