"""Choose flows of a record by where they come from, where they go and what they are."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import xarray as xr

from hydroloop.record.check import check_is_record

Words = str | Iterable[str]


def flow_mask(
    record: xr.Dataset,
    *,
    kind: Words = (),
    source: Words = (),
    target: Words = (),
    from_place: Words = (),
    to_place: Words = (),
    from_role: Words = (),
    to_role: Words = (),
) -> np.ndarray:
    """Flows that fit every condition given.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    kind, source, target : str or iterable of str
        What the flow is, and the store or boundary that it leaves and enters.
    from_place, to_place, from_role, to_role : str or iterable of str
        Place and role of the stores that it leaves and enters; a boundary has neither.

    Returns
    -------
    numpy.ndarray of bool
        Shape (flow).

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> pond = Network(["a/pond"], ["rain", "a/pond"], ["a/pond", "sky"], ["rain", "evaporation"])
    >>> record = build_record(pond, edges_of("2031-01-01", 1), [[1], [2]], [[2, 1]])
    >>> flow_mask(record, kind="rain", to_place="a").tolist()
    [True, False]
    """
    check_is_record(record)
    chosen = np.ones(record.sizes["flow"], dtype=bool)
    for name, words in (("kind", kind), ("source", source), ("target", target)):
        if words:
            chosen &= _fits(record.variables[name].values.tolist(), words)
    for end, places, roles in (("source", from_place, from_role), ("target", to_place, to_role)):
        for name, words in (("place", places), ("role", roles)):
            if words:
                chosen &= _fits(_of_store(record, end, name), words)
    return chosen


def flow_total(record: xr.Dataset, mask: np.ndarray) -> xr.DataArray:
    """Rate of several flows together.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    mask : numpy.ndarray of bool
        Flows, shape (flow).

    Returns
    -------
    xarray.DataArray
        Rate, shape (time), and member last where the record has it [m3/d].

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> pond = Network(["a/pond"], ["rain", "a/pond"], ["a/pond", "sky"], ["rain", "evaporation"])
    >>> record = build_record(pond, edges_of("2031-01-01", 1), [[1], [2]], [[2, 1]])
    >>> flow_total(record, flow_mask(record, kind="rain")).values.tolist()
    [2.0]
    """
    check_is_record(record)
    total = record["rate"].values[:, mask].sum(axis=1)
    dims = ("time", *record["rate"].dims[2:])
    coords = {name: record[name] for name in dims}
    return xr.DataArray(total, coords, dims, attrs={"units": "m3 d-1"})


def _fits(values: list[str], words: Words) -> np.ndarray:
    wanted = {words} if isinstance(words, str) else set(words)
    return np.fromiter(map(wanted.__contains__, values), bool, len(values))


def _of_store(record: xr.Dataset, end: str, name: str) -> list[str]:
    """Place or role of the store at one end of each flow; empty at a boundary."""
    own = dict(
        zip(record["store"].values.tolist(), record.variables[name].values.tolist(), strict=True)
    )
    return [own.get(store, "") for store in record.variables[end].values.tolist()]
