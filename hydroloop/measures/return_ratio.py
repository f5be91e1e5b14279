"""Accumulated return ratio: what national studies print as de facto reuse."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import xarray as xr

from hydroloop.record import ALONG
from hydroloop.tracing import Operator, operator
from hydroloop.tracing.along_the_flow import plan, spread
from hydroloop.tracing.elimination import Water
from hydroloop.tracing.labels import Rules, follow_label
from hydroloop.tracing.returning import open_waters

# What flows along a river, what is taken out of one, and what comes back as used water.
_TAKES = ("intake", "supply", "home_use", "work_use", "yard_use")
_FROM_SEWERS = ("sewage", "treatment", "bypass", "overflow", "outfall", "reclaimed")


def return_ratio(op: xr.Dataset | Operator) -> np.ndarray:
    """Accumulated return ratio.

    Tells how much used water was returned above a place, for each unit of water that flows there.
    It is no share: water that is withdrawn and returned again is counted again, so that it can
    pass 100 %.

    Parameters
    ----------
    op : xarray.Dataset or Operator
        Water record, or its operator.

    Returns
    -------
    numpy.ndarray
        Ratio S, shape (edge, store, member) [-]. Zero in a store without water; NaN where return
        flow piles up because no water flows on, or never settles.

    Raises
    ------
    RecordError
        The record breaks its own rules.

    Notes
    -----
    ``S = G / Q``: G is a label, 1 for each m3 of return flow, and Q the water. Return flow is what
    leaves by an outfall, an overflow into a river, a reclaimed-water main, or an on-site system. A
    withdrawal takes none of the label: that of the water it takes goes on with the river, if any
    does, and with the water where none does. Evaporation from rivers and reservoirs takes none
    either. Water that was used before it entered the record brings its mean number of uses. In
    steady flow m <= S, and m = S where nothing is consumed; on single days of a changing season a
    late return can make m the larger one.

    References
    ----------
    Rice & Westerhoff 2015, Environmental Science & Technology 49:982 (sum of discharges upstream
    over streamflow; abstract). National Research Council 2012: Water Reuse (de facto reuse).

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> from hydroloop.tracing import operator
    >>> river = Network(["wren/reach", "town/home"],
    ...                 ["upstream", "import", "town/home", "wren/reach"],
    ...                 ["wren/reach", "town/home", "wren/reach", "downstream"],
    ...                 ["upstream", "home_use", "outfall", "downstream"])
    >>> record = build_record(river, edges_of("2031-01-01", 1), [[0, 0]] * 2, [[9, 1, 1, 10]])
    >>> return_ratio(operator(record))[:, 0, 0].tolist()
    [0.0, 0.1]
    """
    op = operator(op)
    marked, injection = _gross(op)
    inflow = marked.used_before @ np.arange(marked.used_before.shape[1])
    added = injection + np.where(marked.source < 0, inflow, 0.0)
    piling = _piling(marked, added)
    marked = _joined(marked, np.where(piling[marked.target], -1, marked.target))
    rules = Rules(marked.split(None, np.ones(len(marked.flows))), added)
    trail, settled = follow_label(marked, rules, np.zeros((1, *op.shape[1:])), "repeat")
    label = settled.told(trail.label)
    label[:, piling] = np.nan
    return np.asarray(label)


def _returns(op: Operator, kinds: np.ndarray, is_open: np.ndarray) -> np.ndarray:
    """Flows that return used water."""

    def leaves(*names: str) -> np.ndarray:
        """For each flow, whether its target is left by a flow of such a kind."""
        stores = np.zeros(len(op.stores) + 1, dtype=bool)
        stores[op.source[np.isin(kinds, names)]] = True
        return np.where(op.target >= 0, stores[op.target], False)

    into_open = np.where(op.target >= 0, is_open[op.target], False)
    spilled = np.isin(kinds, ("overflow", "bypass")) & into_open
    reclaimed = (kinds == "reclaimed") & ~leaves("reclaimed")
    on_site = (kinds == "sewage") & (op.target >= 0) & ~leaves(*_FROM_SEWERS)
    return (kinds == "outfall") | spilled | reclaimed | on_site


def _gross(op: Operator) -> tuple[Operator, np.ndarray]:
    """Operator of the label, in which withdrawals leave it to the river, and what flows add."""
    kinds = np.array(op.kinds)
    is_open = open_waters(op)
    from_open = np.where(op.source >= 0, is_open[op.source], False)
    added = _returns(op, kinds, is_open).astype(float)
    into_open = np.where(op.target >= 0, is_open[op.target], False)
    takes = from_open & ~into_open & np.isin(kinds, _TAKES)
    onward = from_open & np.isin(kinds, ALONG)
    kept = np.flatnonzero(~takes & ~(from_open & (kinds == "evaporation")))
    flows, rates = [kept], [op.water.rate[:, kept]]
    source, injection = [op.source[kept]], [added[kept]]
    for flow in np.flatnonzero(takes).tolist():
        exits = np.flatnonzero(onward & (op.source == op.source[flow]))
        ways = np.append(exits, flow)
        flows.append(ways)
        rates.append(_left_to_river(op.water.rate, exits, flow))
        source.append(np.full(len(ways), op.source[flow]))
        injection.append(np.append(np.zeros(len(exits)), added[flow]))
    chosen = np.concatenate(flows)
    marked = replace(
        op,
        flows=tuple(op.flows[k] for k in chosen),
        kinds=tuple(op.kinds[k] for k in chosen),
        source=np.concatenate(source),
        outside=tuple(op.outside[k] for k in chosen),
        water=Water(op.water.volume, np.concatenate(rates, axis=1), op.water.days),
        used_before=op.used_before[chosen],
    )
    return _joined(marked, op.target[chosen]), np.concatenate(injection)


def _left_to_river(rate: np.ndarray, exits: np.ndarray, flow: int) -> np.ndarray:
    """The withdrawn rate split among the flows that go on, or as it is where none does."""
    going = rate[:, exits]
    total = going.sum(axis=1, keepdims=True)
    taken = rate[:, flow : flow + 1]
    split = np.divide(going, total, out=np.zeros_like(going), where=total > 0) * taken
    return np.concatenate([split, np.where(total > 0, 0.0, taken)], axis=1)


def _joined(op: Operator, target: np.ndarray) -> Operator:
    """The operator with other targets of its flows."""
    return replace(op, target=target, program=plan(len(op.stores), op.source, target))


def _piling(op: Operator, added: np.ndarray) -> np.ndarray:
    """Stores that label reaches and can never leave over a boundary."""
    runs = op.runs
    inner = runs & (op.source >= 0) & (op.target >= 0)
    tail, head = op.source[inner], op.target[inner]
    brought = op.target[runs & (op.target >= 0) & (added > 0)]
    drained = op.source[runs & (op.source >= 0) & (op.target < 0)]
    filled, emptied = (np.zeros(len(op.stores), dtype=bool) for _ in range(2))
    filled[brought] = emptied[drained] = True
    spread(filled, tail, head)
    spread(emptied, head, tail)
    return filled & ~emptied
