"""Follow a parcel of water to the end of the season."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.record import BOUNDARIES
from hydroloop.tracing.elimination import At
from hydroloop.tracing.last_use import check_drawn
from hydroloop.tracing.operator import Operator, operator, result
from hydroloop.tracing.passing import Parcel, carry, passing
from hydroloop.tracing.where_and_when import Gate, find_gate, find_most, find_step, find_store


def follow(
    record: xr.Dataset | Operator,
    *,
    at: str,
    on: Any,
    gate: Gate = None,
    most: int = 12,
    steps: bool = False,
) -> xr.Dataset:
    """Where a parcel is at the end of the season, by number of uses.

    Releases one unit of label in a store and says where it is in the end, over which boundary it
    has left, and how often it passed the gate since. It does not count what was used before.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record.
    at : str
        Store in which the parcel is released.
    on : str or datetime
        Date; it is released at the start of the step that contains it, or into that step's inflow
        if the store is empty then.
    gate : str, sequence of str, or boolean mask over flows, optional
        Ready gate, as "toilet", flow kind, names of flows, or one truth value per flow;
        by default what the scenario of the record says, else "home".
    most : int
        Highest use class; it holds `most` passes or more.
    steps : bool
        Also give the shares at the end of every step from the release on.

    Returns
    -------
    xarray.Dataset
        ``share`` (use, place): place is every store and every boundary [-]. They sum to one. With
        `steps` also ``share_by_step`` (use, edge, place). Member last where the record has it.

    Raises
    ------
    AskError
        There is no such store, date or gate, the store is empty and nothing enters it in that step,
        or `most` is out of bounds.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    The operator of `count_uses`, begun with the right side of one unit in one store. A flow over a
    boundary that is part of the gate counts as a pass.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> town = Network(["home"], ["upstream", "home"], ["home", "sky"], ["home_use", "evaporation"])
    >>> record = build_record(town, edges_of("2031-01-01", 1), [[1], [1]], [[1, 1]])
    >>> follow(record, at="home", on="2031-01-01").share.sum("use").sel(place="sky").item()
    0.5
    """
    op = operator(record)
    mask = find_gate(op, gate)
    store, step = find_store(op, at), find_step(op, on)
    most = find_most(most)
    check_drawn(op, store, [step])
    ends, series = _release(op, mask, (store, step), most, steps)
    return _labelled(op, ends, series, step)


def _release(
    op: Operator, mask: np.ndarray, release: tuple[int, int], most: int, with_steps: bool
) -> tuple[np.ndarray, np.ndarray | None]:
    store, step = release
    prepared = passing(op, mask, most)
    count, (total, stores, members) = most + 1, op.shape
    places = stores + len(BOUNDARIES)
    series = np.zeros((count, total - step if with_steps else 0, places, members))
    ends = np.zeros((count, places, members))
    exits = np.flatnonzero(op.target < 0)
    where = np.array([BOUNDARIES.index(op.outside[flow]) for flow in exits], dtype=np.int64)
    for first, lanes in op.blocks():
        start = np.zeros((count, stores, members))
        start[0, store] = 1.0
        state = op.packed(start, (first, lanes))
        gone = np.zeros((count, len(BOUNDARIES), lanes))
        parcel = Parcel(gone, exits, op.program.tail[exits], where, mask[exits].astype(np.int64))
        shown = series if with_steps else np.zeros((0, 0, 0, 0))
        carry(op, prepared, state, parcel, begin=At(step, first), series=shown)
        held = ends[:, :stores]
        op.unpack(state, (first, lanes), held)
        ends[:, stores:, first : first + lanes] = gone
    ends[:, :stores] *= op.water.volume[-1]
    return ends, series if with_steps else None


def _labelled(op: Operator, ends: np.ndarray, series: np.ndarray | None, step: int) -> xr.Dataset:
    words = "share of the parcel by number of uses and place"
    data: dict[str, tuple[Any, ...]] = {"share": (("use", "place"), ends, "1", words)}
    coords: dict[str, Any] = {
        "use": (np.arange(len(ends)), "1", "number of uses; the last or more"),
        "place": (np.array([*op.stores, *BOUNDARIES]), "1", "store, or boundary that it left over"),
    }
    if series is not None:
        data["share_by_step"] = (("use", "edge", "place"), series, "1", words)
        coords["edge"] = (op.edge[step + 1 :], "", "ends of the steps")
    answer = result(op, data, coords)
    answer.attrs = {"released": str(np.datetime_as_string(op.edge[step], "D"))}
    return answer
