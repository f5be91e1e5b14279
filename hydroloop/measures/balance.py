"""Balance: what came into each place, what left it, what it stores, and the gap."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.record import step_days

WHOLE = "whole map"
TERMS = ("inflow", "outflow", "change", "gap")


def balance(record: xr.Dataset) -> xr.Dataset:
    """Water balance of every place and of the whole map.

    In, out, change of storage and gap over the season. A gap above rounding would mean that water
    was made or lost.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.

    Returns
    -------
    xarray.Dataset
        `balance` (place, term) [m3] and `gap_relative` () [-]: the largest gap of a store over the
        season, over what flowed through it. Member last where the record has it.

    Notes
    -----
    gap = change - inflow + outflow, summed over the stores of a place; flows within it cancel.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> pond = Network(["a/pond"], ["rain"], ["a/pond"], ["rain"])
    >>> record = build_record(pond, edges_of("2031-01-01", 1), [[1], [3]], [[2]])
    >>> balance(record).balance.sel(place="a").values.tolist()
    [2.0, 0.0, 2.0, 0.0]
    """
    moved = _moved(record)
    ends = [_places(record, end) for end in ("source", "target")]
    change = record["volume"].values[-1] - record["volume"].values[0]
    store_place = record["place"].values
    names = [*dict.fromkeys(store_place.tolist())]
    rows = [_terms(moved, [end == name for end in ends], change[store_place == name].sum(axis=0))
            for name in names]
    inside = [end != "" for end in ends]
    rows.append(_terms(moved, inside, change.sum(axis=0)))
    dims = ("place", "term", *record["volume"].dims[2:])
    coords: dict[Any, Any] = {"place": [*names, WHOLE], "term": list(TERMS)}
    coords |= {name: record[name] for name in dims[2:]}
    table = xr.DataArray(np.stack(rows), coords, dims,
                         attrs={"units": "m3", "long_name": "water balance over the season"})
    return xr.Dataset({"balance": table, "gap_relative": _largest_gap(record, moved, change)})


def _moved(record: xr.Dataset) -> np.ndarray:
    """Water that each flow moved over the season, (flow[, member]) [m3]."""
    return np.tensordot(step_days(record), record["rate"].values, axes=(0, 0))


def _places(record: xr.Dataset, end: str) -> np.ndarray:
    known = dict(zip(record["store"].values.tolist(), record["place"].values.tolist(), strict=True))
    return np.array([known.get(store, "") for store in record[end].values.tolist()], dtype=str)


def _terms(moved: np.ndarray, ends: list[np.ndarray], change: np.ndarray) -> np.ndarray:
    """Inflow, outflow, change and gap of a group of stores."""
    leaves, enters = ends
    inflow = moved[enters & ~leaves].sum(axis=0)
    outflow = moved[leaves & ~enters].sum(axis=0)
    return np.stack([inflow, outflow, change, change - inflow + outflow])


def _largest_gap(record: xr.Dataset, moved: np.ndarray, change: np.ndarray) -> xr.DataArray:
    number = {name: i for i, name in enumerate(record["store"].values.tolist())}
    into, out = np.zeros_like(change), np.zeros_like(change)
    for flow, (source, target) in enumerate(
            zip(record["source"].values.tolist(), record["target"].values.tolist(), strict=True)):
        if source in number:
            out[number[source]] += moved[flow]
        if target in number:
            into[number[target]] += moved[flow]
    through = np.maximum(into, out) + record["volume"].values[0]
    gap = np.divide(np.abs(change - into + out), through, out=np.zeros_like(change),
                    where=through > 0).max(axis=0)
    dims = record["volume"].dims[2:]
    attrs = {"units": "1", "long_name": "largest gap of a store over what it held and took in"}
    return xr.DataArray(gap, {name: record[name] for name in dims}, dims, attrs=attrs)
