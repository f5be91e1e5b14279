"""Put a water record together from arrays."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import RecordError
from hydroloop.record.check import check_record
from hydroloop.record.network import Network

_TEXT = {
    "source": "store or boundary that the flow leaves",
    "target": "store or boundary that the flow enters",
    "kind": "what the flow is",
    "place": "town or river that the store belongs to",
    "role": "which part of the place the store is",
    "label": "the store in words",
}
_COORDS = {
    "time": "start of the step",
    "edge": "instants between steps",
    "store": "store of water",
    "flow": "flow of water",
    "member": "member of the ensemble",
    "earlier_use": "passes through a gate above the record",
}


def build_record(
    network: Network,
    edges: Any,
    volume: Any,
    rate: Any,
    *,
    used_before: Mapping[str, Sequence[float]] | None = None,
    members: Sequence[Any] | None = None,
    title: str = "",
    attrs: Mapping[str, Any] | None = None,
) -> xr.Dataset:
    """Build a water record from arrays.

    This is the fast way for programs; `water_record` is the one for tables. Nothing is repaired:
    a record that does not close is refused.

    Parameters
    ----------
    network : Network
        Stores and flows.
    edges : array_like of datetime
        Instants between steps, shape (edge).
    volume : array_like of float
        Volume of each store at each edge, shape (edge, store) or (edge, store, member) [m3].
    rate : array_like of float
        Rate of each flow in each step, shape (time, flow) or (time, flow, member) [m3/d].
    used_before : mapping of str to sequence of float, optional
        For a flow that enters over a boundary: the shares of it that have already passed once,
        twice, ... through a gate above the record [-].
    members : sequence, optional
        Names or numbers of the members.
    title : str
        Title of the record.
    attrs : mapping, optional
        More attributes, for example the scenario as text.

    Returns
    -------
    xarray.Dataset
        The water record, checked.

    Raises
    ------
    RecordError
        Shapes do not fit, a value is negative or not finite, or the account does not close.

    Examples
    --------
    >>> lake = Network(["lake"], ["rain", "lake"], ["lake", "sky"], ["rain", "evaporation"])
    >>> record = build_record(lake, ["2031-01-01", "2031-01-02"], [[1.0], [3.0]], [[5.0, 3.0]])
    >>> float(record.volume.sel(store="lake")[-1])
    3.0
    """
    edge = np.asarray(edges, dtype="datetime64[ns]")
    volume, rate = (np.ascontiguousarray(a, dtype=float) for a in (volume, rate))
    _fit("volume", volume, (len(edge), len(network.stores)))
    _fit("rate", rate, (len(edge) - 1, len(network.source)))
    last = ("member",) if volume.ndim == 3 else ()
    data: dict[str, Any] = {name: _text(network, name) for name in _TEXT}
    data["volume"] = _number(("edge", "store", *last), volume, "m3", "volume of water in the store")
    data["rate"] = _number(("time", "flow", *last), rate, "m3 d-1", "rate of flow in the step")
    coords = {
        "time": edge[:-1],
        "edge": edge,
        "store": _array(network.stores),
        "flow": _array(network.flow),
    }
    if last:
        coords["member"] = np.arange(volume.shape[2]) if members is None else np.asarray(members)
    if used_before:
        data["used_before"] = _earlier(network, used_before)
        coords["earlier_use"] = np.arange(1, data["used_before"].shape[1] + 1)
    named = {key: (key, values, _about(key)) for key, values in coords.items()}
    record = xr.Dataset(data, named, {**(attrs or {}), "title": title})
    check_record(record)
    return record


def _fit(name: str, values: np.ndarray, wanted: tuple[int, int]) -> None:
    if values.ndim not in (2, 3) or values.shape[:2] != wanted:
        raise RecordError(f'"{name}" has shape {values.shape}, but {wanted} is wanted.')


def _array(words: Sequence[str]) -> np.ndarray:
    return np.array(list(words), dtype=str) if len(words) else np.empty(0, dtype="<U1")


def _text(network: Network, name: str) -> xr.Variable:
    dim = "flow" if name in ("source", "target", "kind") else "store"
    attrs = {"units": "1", "long_name": _TEXT[name]}
    return xr.Variable((dim,), _array(getattr(network, name)), attrs)


def _number(dims: tuple[str, ...], values: np.ndarray, units: str, name: str) -> xr.Variable:
    return xr.Variable(dims, values, {"units": units, "long_name": name})


def _about(name: str) -> dict[str, str]:
    # Instants carry no units here: the file format writes its own for them.
    units = {} if name in ("time", "edge") else {"units": "1"}
    return {**units, "long_name": _COORDS[name]}


def _earlier(network: Network, given: Mapping[str, Sequence[float]]) -> xr.Variable:
    """Table of shares used before, with every rule about them checked."""
    width = max(len(shares) for shares in given.values())
    table = np.zeros((len(network.flow), width))
    for name, shares in given.items():
        if name not in network.flow:
            raise RecordError(f'used_before: there is no flow "{name}".')
        row = network.flow.index(name)
        if network.source[row] in network.stores:
            raise RecordError(f'used_before: "{name}" does not enter over a boundary.')
        table[row, : len(shares)] = shares
    if not np.isfinite(table).all() or (table < 0).any() or (table.sum(axis=1) > 1 + 1e-12).any():
        raise RecordError("used_before: shares must be zero or more, and at most 1 together.")
    words = "share of the inflow that passed a gate above the record"
    return _number(("flow", "earlier_use"), table, "1", words)
