"""Use shares: how often water at a tap or an intake was used before, and where it was last."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.record import check_is_record, flow_mask, flow_total
from hydroloop.tracing import Operator, as_counted, operator, used_parts
from hydroloop.tracing.lanes import NOTHING
from hydroloop.tracing.operator import result
from hydroloop.tracing.returning import ABOVE

WORDS = {
    "use_share": "share of the water by number of earlier uses",
    "unknown_share": "share of the water whose past is unknown",
    "used_share": "share of the water used at least once before",
    "mean_uses": "mean number of earlier uses",
}
_PARTS = {
    "used_share_by_way": (
        ("town", "way"),
        "share of the water used before, by who used it last and how it came back"),
    "used_share_by_use": (
        ("town", "use"), "share of the water used before, by who used it last and what for"),
}


def use_shares(op: xr.Dataset | Operator, counted: xr.Dataset, flows: np.ndarray) -> xr.Dataset:
    """Share of water by number of earlier uses.

    How often the water that runs in some flows, such as those into a town's homes, has passed the
    gate before. Water of unknown past counts apart, so the used share is a lower bound while it is
    not zero.

    Parameters
    ----------
    op : xarray.Dataset or Operator
        Water record, or its operator.
    counted : xarray.Dataset
        What `hydroloop.count_uses` gives.
    flows : numpy.ndarray of bool
        The flows, shape (flow).

    Returns
    -------
    xarray.Dataset
        ``use_share`` (time, use), ``unknown_share``, ``used_share`` and ``mean_uses`` (time) [-];
        member last where the record has it. NaN in a step in which there is no such water.

    Raises
    ------
    RecordError
        The record breaks its own rules.

    Notes
    -----
    used share f = sum of the shares from one use on; mean uses m as `hydroloop.count_uses` has it.
    Where several stores are drawn from, they are mixed by rate; where nothing is drawn in a step,
    evenly among those that hold water. A flow over a boundary has the shares that the record gives.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> taps = flow_mask(record, kind="home_use", to_place="penhollow")
    >>> tap = use_shares(operator(record), hl.count_uses(record), taps)
    >>> bool((tap.used_share > 0).all())
    True
    """
    op = operator(op)
    names = {"use_share": "share", "unknown_share": "unknown", "mean_uses": "mean_uses"}
    labels = {name: counted[label].values for name, label in names.items()}
    if op.members is None:
        labels = {name: label[..., None] for name, label in labels.items()}
    given = _at_boundary(op, len(labels["use_share"]))
    has_water = counted["has_water"].values[1:].reshape(op.shape)
    weight = _weights(op, has_water, np.flatnonzero(flows))
    mixed = {name: _mixed(op, labels[name], given[name], (flows, weight)) for name in names}
    is_wet = mixed["use_share"].sum(axis=0) + mixed["unknown_share"] > 0.5
    mixed["used_share"] = mixed["use_share"][1:].sum(axis=0)
    mixed = {name: np.where(is_wet, values, np.nan) for name, values in mixed.items()}
    mixed["use_share"] = mixed["use_share"].swapaxes(0, 1)
    return _labelled(op, mixed)


def used_because(op: Operator, taps: Mapping[str, np.ndarray], gate: Any = None, most: int = 12,
                 warm_up: str = "repeat") -> xr.Dataset:
    """Used share of tap water in parts.

    Tells why a town's tap water was used before: in which town last, for what, and by which way it
    came back since. Water that two towns have used counts for the second.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    taps : mapping of str to numpy.ndarray of bool
        Flows into each town's homes, shape (flow).
    gate : str, sequence of str, or boolean mask
        What counts as a use, as in `hydroloop.count_uses`.
    most : int
        Highest use class of the shares that the parts belong to.
    warm_up : str
        As in `hydroloop.count_uses`.

    Returns
    -------
    xarray.Dataset
        ``used_share_by_way`` (town, time, used_in, way) and ``used_share_by_use`` (town, time,
        used_in, used_for) [-]: each sums to the used share. NaN in a step without such water;
        member last where the record has it.

    Raises
    ------
    AskError
        The gate is unknown.

    Notes
    -----
    See `hydroloop.because`. Flows are mixed as in `use_shares`.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> taps = flow_mask(record, kind="home_use", to_place="penhollow")
    >>> parts = used_because(operator(record), {"penhollow": taps}).used_share_by_way
    >>> str(parts.isel(town=0, time=9).stack(part=["used_in", "way"]).idxmax("part").item())
    "('larkmill', 'river')"
    """
    stores = np.unique(np.concatenate([op.source[flows] for flows in taps.values()]))
    stores = stores[stores >= 0]
    traced = used_parts(op, stores, gate, most=most, warm_up=warm_up)
    op = as_counted(op, gate)
    column = {int(store): k for k, store in enumerate(stores)}
    drawn = [(flows, _weights(op, op.throughput > NOTHING, np.flatnonzero(flows)))
             for flows in taps.values()]
    inside = traced.user.sum(axis=0)
    wet = [_mixed(op, inside, np.ones(len(op.flows)), of_town, column) > 0.5
           for of_town in drawn]
    above = op.used_before[:, 1:].sum(axis=1)
    data, coords = {}, {"town": list(taps), "time": op.edge[:-1]}
    for name, (by, words) in _PARTS.items():
        share, labels = traced.split(by)
        given = np.zeros((*share.shape[:2], len(op.flows)))
        given[tuple(names.index(ABOVE) for names in labels.values())] = above
        mixed = [np.where(there, _mixed(op, share, given, of_town, column), np.nan)
                 for of_town, there in zip(drawn, wet, strict=True)]
        data[name] = (("town", "time", *labels), np.moveaxis(np.stack(mixed), 3, 1), "1", words)
        coords |= {dim: np.array(names) for dim, names in labels.items()}
    return result(op, data, coords)


def _weights(op: Operator, has_water: np.ndarray, chosen: np.ndarray) -> np.ndarray:
    """Part that each flow has in the mix, (time, flow, member)."""
    rate = op.water.rate[:, chosen]
    total = rate.sum(axis=1, keepdims=True)
    wet = has_water[:, op.source[chosen]]
    wet &= (op.source[chosen] >= 0)[:, None]
    even = wet / np.maximum(wet.sum(axis=1, keepdims=True), 1)
    return np.divide(rate, total, out=even, where=total > 0)


def _mixed(
    op: Operator, label: np.ndarray, given: np.ndarray, drawn: tuple[np.ndarray, np.ndarray],
    column: Mapping[int, int] | None = None,
) -> np.ndarray:
    """Label (..., edge, store, member) of the water in some flows, (..., time, member).

    `column` says where each store stands in the label, where it has not all of them.
    """
    flows, weight = drawn
    chosen = np.flatnonzero(flows)
    mixed = np.zeros((*label.shape[:-3], op.shape[0], op.shape[2]))
    for store in np.unique(op.source[chosen]):
        part = weight[:, op.source[chosen] == store].sum(axis=1)
        if store >= 0:
            # What a store holds at the end of a step is what leaves it during the step.
            place = store if column is None else column[int(store)]
            mixed += label[..., 1:, place, :] * part
    for number in np.flatnonzero(op.source[chosen] < 0):
        mixed += given[..., chosen[number], None, None] * weight[:, number]
    return mixed


def _at_boundary(op: Operator, uses: int) -> dict[str, np.ndarray]:
    """Labels of each flow that enters over a boundary, (..., flow)."""
    earlier = np.arange(op.used_before.shape[1])
    classes = np.zeros((uses, len(op.flows)))
    np.add.at(classes, np.minimum(earlier, uses - 1), op.used_before.T)
    return {"use_share": classes, "unknown_share": np.zeros(len(op.flows)),
            "mean_uses": op.used_before @ earlier}  # fmt: skip


def _labelled(op: Operator, mixed: dict[str, np.ndarray]) -> xr.Dataset:
    has_members = op.members is not None
    found = {}
    for name, values in mixed.items():
        dims = ("time", "use") if name == "use_share" else ("time",)
        attrs = {"units": "1", "long_name": WORDS[name]}
        found[name] = ((*dims, "member") if has_members else dims,
                       values if has_members else values[..., 0], attrs)  # fmt: skip
    uses = np.arange(mixed["use_share"].shape[1])
    answer = xr.Dataset(found, {"time": op.edge[:-1], "use": uses})
    return answer.assign_coords(member=op.members) if has_members else answer


def used_in_rivers(record: xr.Dataset, op: Operator, counted: xr.Dataset) -> xr.Dataset:
    """Used share of the water that leaves each reach and reservoir, over the season.

    How much of a river has passed the gate before, place by place. Evaporation is not counted among
    what leaves.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    op : Operator
        Its operator.
    counted : xarray.Dataset
        What `hydroloop.count_uses` gives.

    Returns
    -------
    xarray.Dataset
        ``season_used_share_in_river`` (store), NaN for other stores [-]; member last where the
        record has it. Empty where there is no river.

    Notes
    -----
    sum(flow x share) / sum(flow), over the steps in which the share is known.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> found = used_in_rivers(record, operator(record), hl.count_uses(record))
    >>> bool(found.season_used_share_in_river.sel(store="wren/reach_7") > 0)
    True
    """
    check_is_record(record)
    found = []
    places = record["store"].values[np.isin(record["role"].values, ("reach", "reservoir"))]
    for store in places:
        out = flow_mask(record, source=str(store)) & ~flow_mask(record, kind="evaporation")
        share = use_shares(op, counted, out)["used_share"]
        flow = flow_total(record, out).where(share.notnull(), 0.0)
        whole = flow.sum("time")
        found.append((share.fillna(0.0) * flow).sum("time") / whole.where(whole > 0))
    if not found:
        return xr.Dataset()
    # A place that no flow leaves has no member of its own.
    share = xr.concat(xr.broadcast(*found), xr.IndexVariable("store", places))
    share = share.reindex(store=record["store"].values)
    return xr.Dataset({"season_used_share_in_river": share.assign_attrs(
        units="1", long_name="used share of the water that leaves a reach or reservoir, season")})
