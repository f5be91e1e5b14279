"""Because: the used share of tap water in parts, by who used it last and how it came back."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.measures.uses import mixed_in_flows, weights_of
from hydroloop.tracing import Operator, as_counted, used_parts
from hydroloop.tracing.lanes import NOTHING
from hydroloop.tracing.operator import result
from hydroloop.tracing.returning import ABOVE

WORDS = {
    "used_share_by_way": "share of the water used before, by who used it last and how it came back",
    "used_share_by_use": "share of the water used before, by who used it last and what for",
}
_BY = {"used_share_by_way": ("town", "way"), "used_share_by_use": ("town", "use")}


def used_because(op: Operator, taps: Sequence[np.ndarray], gate: Any = None, *, most: int = 12,
                 warm_up: str = "repeat") -> xr.Dataset:
    """Used share of tap water in parts.

    Tells why a town's tap water was used before: in which town last, for what, and by which way it
    came back since. Water that two towns have used counts for the second.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    taps : sequence of numpy.ndarray of bool
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
        member last where the record has it. Towns are numbered.

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
    >>> parts = used_because(operator(record), [taps]).used_share_by_way.isel(town=0, time=9)
    >>> str(parts.stack(part=["used_in", "way"]).idxmax("part").item())
    "('larkmill', 'river')"
    """
    stores = np.unique(np.concatenate([op.source[flows] for flows in taps]))
    stores = stores[stores >= 0]
    traced = used_parts(op, stores, gate, most=most, warm_up=warm_up)
    op = as_counted(op, gate)
    column = {int(store): k for k, store in enumerate(stores)}
    drawn = [(flows, weights_of(op, op.throughput > NOTHING, np.flatnonzero(flows)))
             for flows in taps]
    inside = traced.user.sum(axis=0)
    wet = [mixed_in_flows(op, inside, np.ones(len(op.flows)), of_town, column) > 0.5
           for of_town in drawn]
    above = op.used_before[:, 1:].sum(axis=1)
    data, coords = {}, {"time": op.edge[:-1]}
    for name, by in _BY.items():
        share, labels = traced.split(by)
        given = np.zeros((*share.shape[:2], len(op.flows)))
        given[tuple(names.index(ABOVE) for names in labels.values())] = above
        mixed = [np.where(there, mixed_in_flows(op, share, given, of_town, column), np.nan)
                 for of_town, there in zip(drawn, wet, strict=True)]
        data[name] = (("town", "time", *labels), np.moveaxis(np.stack(mixed), 3, 1), "1",
                      WORDS[name])
        coords |= {dim: np.array(names) for dim, names in labels.items()}
    return result(op, data, coords)
