"""The operator of a water record: its pattern and its numbers, ready for tracing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.gates import USUAL
from hydroloop.record import check_record, step_days
from hydroloop.tracing.along_the_flow import Program, plan
from hydroloop.tracing.elimination import Split, Water, split_of
from hydroloop.tracing.lanes import LEAST_WATER, aligned

LANES = (16, 8, 1)
"""Members that may be traced side by side; as many as there are at once."""


@dataclass(frozen=True, eq=False)
class Operator:
    """A water record made ready for tracing.

    Every function that traces takes one in place of a record, so that the order of elimination
    and the arrays need not be prepared again.
    """

    # names of stores and flows, and the kind of each flow
    stores: tuple[str, ...]
    flows: tuple[str, ...]
    kinds: tuple[str, ...]
    # store that each flow leaves and enters, -1 for a boundary, shape (flow)
    source: np.ndarray
    target: np.ndarray
    # boundary that each flow leaves or enters, empty for flows between stores, shape (flow)
    outside: tuple[str, ...]
    water: Water  # volumes [m3], rates [m3/d] and lengths of the steps [d]
    # shares of each boundary inflow by earlier passes 0, 1, 2, ...; shape (flow, earlier) [-]
    used_before: np.ndarray
    program: Program  # plan of the elimination
    edge: np.ndarray  # instants between steps, shape (edge)
    members: xr.DataArray | None  # coordinate of the members, None where the record has none
    # place that each store belongs to, and which part of it the store is, shape (store)
    places: tuple[str, ...]
    roles: tuple[str, ...]
    count_as: str = USUAL  # ready gate that counts as a use where none is asked for

    def __post_init__(self) -> None:
        # All of one type, however the record holds them: the loops are compiled once for it.
        parts = [np.ascontiguousarray(part).view() for part in self.water]
        for part in parts:
            part.flags.writeable = False
        object.__setattr__(self, "water", Water(*parts))

    @property
    def shape(self) -> tuple[int, int, int]:
        """Numbers of steps, stores and members."""
        return len(self.water.days), len(self.stores), self.water.rate.shape[2]

    def member(self, place: int) -> Operator:
        """One member alone, without a member dim."""
        volume, rate = (values[..., [place]] for values in (self.water.volume, self.water.rate))
        return replace(self, members=None, water=Water(volume, rate, self.water.days))

    @cached_property
    def runs(self) -> np.ndarray:
        """Flows that ever carry water, shape (flow)."""
        return np.asarray((self.water.rate > 0).any(axis=(0, 2)))

    @property
    def throughput(self) -> np.ndarray:
        """Water that each store holds or receives in each step, (time, store, member) [m3]."""
        total = self.water.volume[:-1].copy()
        moved = self.water.rate * self.water.days[:, None, None]
        for flow in np.flatnonzero(self.target >= 0).tolist():
            total[:, self.target[flow]] += moved[:, flow]
        return total

    def split(self, gate: np.ndarray | None = None, carries: np.ndarray | None = None) -> Split:
        """Share of each flow's label that goes on inside, or away over a boundary or a gate
        (flows); `carries` is the share of its water's label that a flow carries [-]."""
        carried = np.ones(len(self.flows)) if carries is None else carries
        away = (self.target < 0) if gate is None else (self.target < 0) | gate
        carried = np.where(self.source >= 0, carried, 0.0)  # others leave no store
        return split_of(np.where(away, 0.0, carried), np.where(away, carried, 0.0))

    def blocks(self) -> Iterator[tuple[int, int]]:
        """First member and number of lanes of each block of members."""
        first, members = 0, self.shape[2]
        for lanes in LANES:
            for _ in range((members - first) // lanes):
                yield first, lanes
                first += lanes

    def packed(self, labels: np.ndarray, block: tuple[int, int]) -> np.ndarray:
        """Labels, shape (row, store, member), of a block (first member, lanes) in the plan's order,
        lanes innermost: shape (row, store times lanes)."""
        first, lanes = block
        packed = aligned(len(labels), len(self.stores) * lanes)
        lying = packed.reshape(len(labels), len(self.stores), lanes)
        lying[:] = labels[:, self.program.order, first : first + lanes]
        return packed

    def unpack(self, packed: np.ndarray, block: tuple[int, int], labels: np.ndarray) -> None:
        """Put a block of members, as `packed` gives it, back into labels of shape (row, store,
        member)."""
        first, lanes = block
        shape = (len(labels), len(self.stores), lanes)
        labels[:, self.program.order, first : first + lanes] = packed.reshape(shape)


def has_water(op: Operator, stores: np.ndarray) -> np.ndarray:
    """Steps in which some stores hold or receive water, shape (time, store, member)."""
    total = op.water.volume[:-1, stores].copy()
    into = np.flatnonzero(np.isin(op.target, stores))
    place = {store: number for number, store in enumerate(stores.tolist())}
    for flow in into.tolist():
        total[:, place[int(op.target[flow])]] += op.water.rate[:, flow] * op.water.days[:, None]
    return np.asarray(total > LEAST_WATER)


def operator(record: xr.Dataset | Operator) -> Operator:
    """Make a water record ready for tracing.

    Hand the result to `count_uses`, `last_use` and the others in place of the record if you ask
    several questions. It does not follow later changes of the record.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record.

    Returns
    -------
    Operator
        The operator; an operator comes back as it is.

    Raises
    ------
    RecordError
        The record breaks its own rules.

    Notes
    -----
    In a step of length dt [d], with volumes V [m3], rates q [m3/d] and the share c of a store's
    water that carries a label [-]:
    ``(V_i[t+1] + dt sum_out q) c_i[t+1] - dt sum_in q_ji c_j[t+1] = V_i[t] c_i[t]
    + dt sum_boundary q_bi c_b``. It conserves the label, keeps it between 0 and 1, and holds at any
    step. In steady flow the mean transit is exact; the variance is larger by tau dt per store.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record
    >>> lake = Network(["lake"], ["rain"], ["lake"], ["rain"])
    >>> record = build_record(lake, ["2031-01-01", "2031-01-02"], [[0.0], [5.0]], [[5.0]])
    >>> operator(record).shape
    (1, 1, 1)
    """
    if isinstance(record, Operator):
        return record
    check_record(record)
    stores, sources, targets = (record[k].values.tolist() for k in ("store", "source", "target"))
    where = {name: k for k, name in enumerate(stores)}
    source, target = (
        np.array([where.get(name, -1) for name in ends], dtype=np.int64)
        for ends in (sources, targets)
    )
    outside = tuple(
        (a if i < 0 else b if j < 0 else "")
        for a, b, i, j in zip(sources, targets, source.tolist(), target.tolist(), strict=True)
    )
    kinds, places, roles = (
        tuple(record.variables[name].values.tolist()) for name in ("kind", "place", "role")
    )
    return Operator(
        tuple(stores),
        tuple(record["flow"].values.tolist()),
        kinds,
        source,
        target,
        outside,
        _water(record),
        _used_before(record),
        plan(len(stores), source, target),
        record["edge"].values,
        record["member"] if "member" in record.variables["rate"].dims else None,
        places,
        roles,
        str(record.attrs.get("count_as", USUAL)),
    )


def _water(record: xr.Dataset) -> Water:
    volume, rate = (
        np.ascontiguousarray(a if a.ndim == 3 else a[..., None], dtype=float)
        for a in (record.variables["volume"].values, record.variables["rate"].values)
    )
    return Water(volume, rate, step_days(record))


def _used_before(record: xr.Dataset) -> np.ndarray:
    flows = record.sizes["flow"]
    if "used_before" not in record:
        return np.ones((flows, 1))
    given = record["used_before"]
    table = np.zeros((flows, int(given["earlier_use"].max()) + 1))
    table[:, given["earlier_use"].values] = given.values
    table[:, 0] = 1.0 - table[:, 1:].sum(axis=1)
    return table


def result(op: Operator, data: dict[str, tuple[Any, ...]], coords: dict[str, Any]) -> xr.Dataset:
    """Put results together: name to (dims without member, array with members at its end, unit, long
    name). The member axis falls away without members; coordinates may be (values, unit, long
    name)."""
    variables = {}
    for name, (dims, values, unit, words) in data.items():
        attrs = {"units": unit, "long_name": words}
        has_members = op.members is not None
        variables[name] = xr.Variable(
            (*dims, "member") if has_members else dims,
            values if has_members else values[..., 0],
            attrs,
            fastpath=True,
        )
    axes: dict[str, Any] = {}
    for name, given in coords.items():
        values, unit, words = given if isinstance(given, tuple) else (given, "", "")
        attrs = {key: text for key, text in (("units", unit), ("long_name", words)) if text}
        axes[name] = (name, values, attrs)
    if op.members is not None:
        axes["member"] = op.members
    return xr.Dataset(variables, axes)
