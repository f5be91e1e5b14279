"""Does the account close? Every store, every step, every member."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import RecordError
from hydroloop.units import one_line, parse

ALLOWED_GAP = 1e-9
"""Largest gap that a record may have, relative to the throughput of the store [-]."""

# A store that has run down to its last drop is judged by this part of its usual throughput: the
# rounding of a large volume is otherwise a large part of the drop that is left.
_LAST_DROP = 1e-5
_NO_WATER = 1e-200  # m3 of which no label is traced; smaller numbers have few digits

# Units in which rates may have been written instead of m3/d.
_OTHER_UNITS = ("L/s", "m3/s", "m3/h", "L/d", "ML/d", "ft3/s", "gal/min", "gal/d", "Mgal/d")
_ROUNDED = 0.01  # gap of a table that was printed with some figures, in the change of volumes

_DIMS = {
    "source": ("flow",),
    "target": ("flow",),
    "kind": ("flow",),
    "place": ("store",),
    "role": ("store",),
    "volume": ("edge", "store"),
    "rate": ("time", "flow"),
}


def step_days(record: xr.Dataset) -> np.ndarray:
    """Length of every step.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.

    Returns
    -------
    numpy.ndarray
        Lengths, shape (time) [d].

    Examples
    --------
    >>> from hydroloop.record import Network, build_record
    >>> lake = Network(["lake"], ["rain"], ["lake"], ["rain"])
    >>> record = build_record(lake, ["2031-01-01", "2031-01-03"], [[0.0], [10.0]], [[5.0]])
    >>> step_days(record).tolist()
    [2.0]
    """
    check_is_record(record)
    return np.diff(record["edge"].values) / np.timedelta64(1, "D")


def closure_gap(record: xr.Dataset) -> xr.DataArray:
    """Gap of the account, relative to the throughput.

    Storage change minus inflow plus outflow, over the water that the store held or received in
    the step. Do not trust a record whose gap is more than rounding.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.

    Returns
    -------
    xarray.DataArray
        Gap, shape (time, store) and member last where the record has it [-].

    Notes
    -----
    gap = (V[t+1] - V[t] - dt (in - out)) / max(V[t] + dt in, V[t+1] + dt out), with volumes V [m3],
    step dt [d], in and out [m3/d]. The divisor is at least 1e-5 of its largest value in the store.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record
    >>> lake = Network(["lake"], ["rain"], ["lake"], ["rain"])
    >>> record = build_record(lake, ["2031-01-01", "2031-01-02"], [[0.0], [5.0]], [[5.0]])
    >>> float(closure_gap(record).max())
    0.0
    """
    check_is_record(record)
    dims = ("time", "store", *record.variables["volume"].dims[2:])
    attrs = {"units": "1", "long_name": "gap of the account, relative to the throughput"}
    return xr.DataArray(_gap(record), {name: record[name] for name in dims}, dims, attrs=attrs)


def _gap(record: xr.Dataset) -> np.ndarray:
    """Gap of every store and step, relative to its throughput [-]."""
    gap, scale = _gap_and_throughput(record)
    return np.divide(gap, scale, out=np.zeros_like(scale), where=scale > _NO_WATER)


def _positions(record: xr.Dataset, end: str) -> np.ndarray:
    where = {name: i for i, name in enumerate(record["store"].values.tolist())}
    return np.array(
        [where.get(name, -1) for name in record.variables[end].values.tolist()], dtype=np.int64
    )


def _gap_and_throughput(record: xr.Dataset) -> tuple[np.ndarray, np.ndarray]:
    """Gap and throughput of every store and step [m3]."""
    volume, rate = record.variables["volume"].values, record.variables["rate"].values
    source, target = (_positions(record, name) for name in ("source", "target"))
    days = step_days(record)
    into, out = _in_and_out(rate, days, (source, target), volume.shape[1])
    scale = np.maximum(volume[:-1] + into, volume[1:] + out)
    scale = np.maximum(scale, _LAST_DROP * scale.max(axis=0, keepdims=True))
    return (volume[1:] - volume[:-1]) - (into - out), scale


def _in_and_out(
    rate: np.ndarray, days: np.ndarray, ends: tuple[np.ndarray, np.ndarray], stores: int
) -> tuple[np.ndarray, np.ndarray]:
    """What comes into every store and leaves it in every step, (time, store[, member]) [m3]."""
    # Flows and stores first, so that each is one run of memory.
    moved = np.array(rate.swapaxes(0, 1), dtype=float, order="C")
    moved *= days.reshape(-1, *[1] * (rate.ndim - 2))
    into, out = (np.zeros((stores, *moved.shape[1:])) for _ in range(2))
    for flow, (a, b) in enumerate(zip(*(end.tolist() for end in ends), strict=True)):
        if a >= 0:
            out[a] += moved[flow]
        if b >= 0:
            into[b] += moved[flow]
    return into.swapaxes(0, 1), out.swapaxes(0, 1)


def check_is_record(record: Any, *needs: str) -> None:
    """Refuse what is no water record at all, or lacks variables that only simulated ones have."""
    if not isinstance(record, xr.Dataset):
        raise RecordError(
            f"{type(record).__name__} is not a water record. "
            "Give what simulate, water_record or read_record returns."
        )
    for name in needs:
        if name not in record:
            raise RecordError(
                f'the record has no "{name}": only one that was simulated with it can tell.'
            )


def check_record(record: xr.Dataset) -> None:
    """Check that a water record keeps its own rules.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.

    Raises
    ------
    RecordError
        A variable is missing or has other dimensions, a volume or rate is negative or not finite,
        or the account of a store does not close. Names the worst place: store and date.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record
    >>> lake = Network(["lake"], ["rain"], ["lake"], ["rain"])
    >>> check_record(build_record(lake, ["2031-01-01", "2031-01-02"], [[0.0], [5.0]], [[5.0]]))
    """
    check_is_record(record)
    _check_shape(record)
    _check_sign(record, "volume", "store")
    _check_sign(record, "rate", "flow")
    gap = _gap(record)
    size = np.abs(gap)
    if size.max(initial=0.0) <= ALLOWED_GAP:
        return
    worst = np.unravel_index(int(size.argmax()), size.shape)
    store = str(record["store"].values[worst[1]])
    date = _day(record["time"].values[worst[0]])
    water, share = abs(_gap_and_throughput(record)[0][worst]), size[worst]
    more = _and_more(int((size > ALLOWED_GAP).sum()) - 1)
    cure = _other_unit(record) or "Check what flows into and out of that store."
    raise RecordError(
        f"{one_line(store, 200)}, {date}{_member(record, worst)}: the account does not close: "
        f"the gap is {water:.3g} m3, {share:.3g} of the throughput, of which {ALLOWED_GAP:g} is "
        f"allowed.{more} {cure}",
        store=store,
        date=date,
        gap=float(gap[worst]),
    )


def _check_shape(record: xr.Dataset) -> None:
    for name, dims in _DIMS.items():
        if name not in record:
            raise RecordError(f'the record has no "{name}". Build it with hydroloop.water_record.')
        found = record.variables[name].dims
        if found[: len(dims)] != dims or found[len(dims) :] not in ((), ("member",)):
            raise RecordError(f'"{name}" has dimensions {found}, but {dims} are wanted.')
    if record.variables["volume"].dims[2:] != record.variables["rate"].dims[2:]:
        raise RecordError('"volume" and "rate" must both have members, or neither.')
    edge, time = record["edge"].values, record["time"].values
    if len(edge) != len(time) + 1 or not len(time) or (edge[:-1] != time).any():
        raise RecordError('"edge" must hold every time and the end of the last step.')
    if (np.diff(edge) <= np.timedelta64(0, "ns")).any():
        raise RecordError("the edges do not run forward in time. Sort them.")


def _check_sign(record: xr.Dataset, name: str, axis: str) -> None:
    values = record.variables[name].values
    if np.isfinite(values).all() and values.min(initial=0.0) >= 0:
        return
    bad = ~(np.isfinite(values) & (values >= 0))
    first = np.unravel_index(int(bad.argmax()), bad.shape)
    whose = str(record[axis].values[first[1]])
    date = _day(record[record[name].dims[0]].values[first[0]])
    raise RecordError(
        f"{one_line(whose, 200)}, {date}{_member(record, first)}: the {name} is "
        f"{values[first]:g}, but it must be a number of zero or more."
        f"{_and_more(int(bad.sum()) - 1)}",
        store=whose if axis == "store" else "",
        date=date,
    )


def _and_more(places: int) -> str:
    return f" So it is in {places:,} more place{'' if places == 1 else 's'}." if places else ""


def _other_unit(record: xr.Dataset) -> str:
    """In which unit the rates would close the account; nothing where none does, to rounding."""
    change = np.abs(np.diff(record.variables["volume"].values, axis=0)).sum()
    for unit in _OTHER_UNITS:
        factor = parse(f"1 {unit}", "flow").value
        taken = record.assign(rate=record["rate"] * factor)
        if np.abs(_gap_and_throughput(taken)[0]).sum() < _ROUNDED * change:
            return f"It closes if the rates are in {unit}: give m3/d, {factor:g} times as much."
    return ""


def _member(record: xr.Dataset, place: tuple[np.intp, ...]) -> str:
    return f", member {record['member'].values[place[2]]}" if len(place) > 2 else ""


def _day(instant: np.datetime64) -> str:
    text = str(np.datetime_as_string(instant, unit="m"))
    return text[:10] if text.endswith("T00:00") else text
