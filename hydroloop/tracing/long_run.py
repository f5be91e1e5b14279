"""Long-run cycling of the mean flows, in closed form."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.record import BOUNDARIES
from hydroloop.tracing.cycling import check_ends, cycled, gate_share, mean_flows, visits
from hydroloop.tracing.mean_flows import mean_rates
from hydroloop.tracing.operator import Operator, operator, result
from hydroloop.tracing.where_and_when import Gate, find_gate

EXITS = (*BOUNDARIES, "storage")
"""Where water ends in the long run: a boundary, or storage that was gained over the record."""

NO_FLOW = 1e-100
"""Flow [m3/d] that never brings a molecule: a store would keep its water for ever."""


def long_run(record: xr.Dataset | Operator, gate: Gate = None) -> xr.Dataset:
    """Cycling of water in the long run.

    Tells how often water comes by every store, and how often it is used, if the mean flows of the
    record went on for ever. It says nothing about when, and a season is shorter than the long run.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record.
    gate : str, sequence of str, or boolean mask over flows, optional
        Ready gate, as "toilet", flow kind, names of flows, or one truth value per flow;
        by default what the scenario of the record says, else "home".

    Returns
    -------
    xarray.Dataset
        ``visits`` (store, visited): fundamental matrix, expected visits of a drop that is in
        `store` now, this one included; ``return_probability`` (store) [-]; ``passes`` (store): uses
        that a drop has ahead of it; ``mean_uses`` (store): uses it has behind it; ``used_share``
        (store): share with at least one [-]; ``ends`` (store, exit): share by boundary, or kept in
        storage that was gained [-]; ``throughflow`` (store) [m3/d]; ``cycled`` (store) [m3/d];
        ``cycling_index``: cycled over total throughflow; ``path_length``: total throughflow over
        inputs [-]; ``time_to_leave`` (store), ``mean_age`` (store) of the water inside,
        ``transit_time`` from coming in to leaving and ``system_age`` of all water inside [d], each
        with its standard deviation: ``time_to_leave_sd``, ``age_sd``, ``transit_time_sd``,
        ``system_age_sd``. Member last where the record has it. A store that lets nothing through
        has zeros. Without a gate, in a record that has no flow into homes,
        `passes`, `mean_uses` and `used_share` are NaN.

    Raises
    ------
    AskError
        There is no such gate, or water goes round without end in some stores.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    With q mean rates and T_i the throughflow of store i, which is what leaves it and what its
    storage gains [m3/d]: P_ij = q_ij / T_i, N = (I - P)^-1, return probability 1 - 1/N_ii, passes
    = N g with g_i the gate outflow over T_i, cycled_i = T_i (N_ii - 1) / N_ii, cycling index = sum
    cycled / sum T. With tau_i = V_i / T_i the time until leaving has the mean m = N tau and the
    mean square 2 N (tau m), element by element; ages the same, against the flow; transit times are
    weighted by inputs, the age of all water by volumes: stores are mixed at every moment, so that
    there is no step in it, while a trace in steps has tau dt more of variance in each store. In a
    record that gains or loses storage they are those of the mean flows. Storage that is lost
    counts as an input that was never used.

    References
    ----------
    Kemeny & Snell: Finite Markov Chains (fundamental matrix). Finn 1980: Flow analysis of models of
    the Hubbard Brook ecosystem (cycling index; title from memory). Metzler & Sierra 2018,
    Mathematical Geosciences 50 (ages and transit times of compartments; from memory).

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> loop = Network(["tank", "home"], ["import", "tank", "home", "home"],
    ...                ["tank", "home", "tank", "sky"],
    ...                ["import", "home_use", "reclaimed", "evaporation"])
    >>> record = build_record(loop, edges_of("2031-01-01", 1), [[9, 0]] * 2, [[2, 4, 2, 2]])
    >>> long_run(record).passes.values.tolist()
    [2.0, 1.0]
    """
    op = operator(record)
    mask = find_gate(op, gate)
    rates = mean_rates(op, op.shape[0])
    parts = [_member(op, rates[:, k], mask, k) for k in range(op.shape[2])]
    joined = {name: np.stack([part[name] for part in parts], axis=-1) for name in parts[0]}
    if gate is None and not mask.any():
        joined.update({name: np.full_like(joined[name], np.nan) for name in _OF_A_GATE})
    return _labelled(op, joined)


def _member(op: Operator, rate: np.ndarray, gate: np.ndarray, member: int) -> dict[str, Any]:
    stores = len(op.stores)
    flows = mean_flows(op, rate, member)
    through, gained, inputs = flows.through, flows.gained, flows.inputs
    check_ends(op, flows)
    flow = np.zeros((stores, stores))
    np.add.at(flow, (flows.tail, flows.head), flows.inner)
    table = _visits(flow, through)
    once, passes = visits(flows, gate_share(op, flows, gate))
    comes_again = cycled(flows, once)
    held = np.average(op.water.volume[:-1, :, member], axis=0, weights=op.water.days)
    runs = through > 0
    total = through.sum()
    stay = _over(held, through)
    ahead, behind = _time_ahead(table, stay), _time_behind(flow, through, stay)
    return {
        "visits": np.where(runs[:, None] & runs[None, :], table, 0.0),
        "return_probability": 1.0 - 1.0 / once,
        "passes": passes,
        **_behind(op, rate, gate, (through, np.maximum(-gained, 0.0))),
        "ends": table @ _exits(op, rate, np.maximum(gained, 0.0), through),
        "throughflow": through,
        "cycled": comes_again,
        "cycling_index": comes_again.sum() / total if total else 0.0,
        "path_length": total / inputs.sum() if inputs.sum() else 0.0,
        "time_to_leave": ahead[0],
        "time_to_leave_sd": _deviation(*ahead),
        "mean_age": behind[0],
        "age_sd": _deviation(*behind),
        **_of_all("transit_time", ahead, inputs),
        **_of_all("system_age", behind, held),
    }


Moments = tuple[np.ndarray, np.ndarray]
"""Mean of a time, and mean of its square."""


def _time_ahead(visits: np.ndarray, stay: np.ndarray) -> Moments:
    """Moments of the time until a drop leaves each store for good."""
    mean = visits @ stay
    return mean, 2.0 * visits @ (stay * mean)


def _time_behind(flow: np.ndarray, through: np.ndarray, stay: np.ndarray) -> Moments:
    """Moments of the time since the water of each store came in."""
    share = _over(flow, np.broadcast_to(through, flow.shape))
    backward = np.eye(len(stay)) - share.T
    mean = np.linalg.solve(backward, stay)
    return mean, 2.0 * np.linalg.solve(backward, stay * mean)


def _deviation(mean: Any, square: Any) -> Any:
    return np.sqrt(np.maximum(square - mean**2, 0.0))


def _of_all(name: str, moments: Moments, weight: np.ndarray) -> dict[str, Any]:
    """Mean and standard deviation over all stores, each weighted."""
    total = weight.sum()
    mean, square = (part @ weight / total if total else np.nan for part in moments)
    return {name: mean, f"{name}_sd": _deviation(mean, square)}


def _over(amount: np.ndarray, through: np.ndarray) -> np.ndarray:
    # A count of no flows at all is made of whole numbers.
    return np.divide(amount, through, out=np.zeros(amount.shape), where=through > NO_FLOW)


def _table(op: Operator, rate: np.ndarray, chosen: np.ndarray) -> np.ndarray:
    """Mean rates from store (row) to store (column)."""
    table = np.zeros((len(op.stores),) * 2)
    np.add.at(table, (op.source[chosen], op.target[chosen]), rate[chosen])
    return table


def _visits(flow: np.ndarray, through: np.ndarray) -> np.ndarray:
    share = np.divide(flow, through[:, None], out=np.zeros_like(flow), where=through[:, None] > 0)
    return np.maximum(np.linalg.inv(np.eye(len(flow)) - share), 0.0)


def _behind(
    op: Operator, rate: np.ndarray, gate: np.ndarray, water: tuple[np.ndarray, np.ndarray]
) -> dict[str, np.ndarray]:
    """Uses behind the water of each store: mean, and share with at least one."""
    through, lost = water
    stores = len(op.stores)
    enters, leaves = op.target >= 0, op.source >= 0
    earlier = op.used_before @ np.arange(op.used_before.shape[1])
    counted = rate * (np.where(leaves, 0.0, earlier) + gate)
    fresh = rate * np.where(leaves | gate, 0.0, op.used_before[:, 0])
    share = _over(_table(op, rate, enters & leaves), np.broadcast_to(through, (stores, stores)))
    shut = _over(_table(op, rate, enters & leaves & ~gate), np.broadcast_to(through, (stores,) * 2))
    given = _over(np.bincount(op.target[enters], counted[enters], stores), through)
    # Storage that is lost enters as water never used.
    unused = np.bincount(op.target[enters], fresh[enters], stores) + lost
    never = np.linalg.solve(np.eye(stores) - shut.T, _over(unused, through))
    mean = np.linalg.solve(np.eye(stores) - share.T, given)
    return {
        "mean_uses": np.maximum(mean, 0.0),
        "used_share": np.where(through > 0, np.clip(1.0 - never, 0.0, 1.0), 0.0),
    }


def _exits(op: Operator, rate: np.ndarray, gained: np.ndarray, through: np.ndarray) -> np.ndarray:
    ends = np.zeros((len(op.stores), len(EXITS)))
    for flow in np.flatnonzero(op.target < 0).tolist():
        ends[op.source[flow], EXITS.index(op.outside[flow])] += rate[flow]
    ends[:, -1] = gained
    return np.divide(ends, through[:, None], out=np.zeros_like(ends), where=through[:, None] > 0)


_OF_A_GATE = ("passes", "mean_uses", "used_share")
_WORDS: dict[str, tuple[tuple[str, ...], str, str]] = {
    "visits": (("store", "visited"), "1", "expected visits of a drop"),
    "return_probability": (("store",), "1", "probability that a drop comes back"),
    "passes": (("store",), "1", "uses that a drop has ahead of it"),
    "mean_uses": (("store",), "1", "uses that a drop has behind it"),
    "used_share": (("store",), "1", "share used at least once"),
    "ends": (("store", "exit"), "1", "share by boundary that it leaves over in the end"),
    "throughflow": (("store",), "m3 d-1", "water let through, and storage gained"),
    "cycled": (("store",), "m3 d-1", "throughflow that comes by again"),
    "cycling_index": ((), "1", "share of the total throughflow that is cycled"),
    "path_length": ((), "1", "stores that water passes from entry to exit"),
    "time_to_leave": (("store",), "d", "mean time until a drop leaves"),
    "time_to_leave_sd": (("store",), "d", "standard deviation of the time until a drop leaves"),
    "mean_age": (("store",), "d", "mean time since the water in the store came in"),
    "age_sd": (("store",), "d", "standard deviation of that time"),
    "transit_time": ((), "d", "mean time from coming in to leaving"),
    "transit_time_sd": ((), "d", "standard deviation of that time"),
    "system_age": ((), "d", "mean time since all water that is inside came in"),
    "system_age_sd": ((), "d", "standard deviation of that time"),
}


def _labelled(op: Operator, joined: dict[str, np.ndarray]) -> xr.Dataset:
    data: dict[str, tuple[Any, ...]] = {
        name: (dims, joined[name], unit, words) for name, (dims, unit, words) in _WORDS.items()
    }
    stores = np.array(op.stores)
    coords = {
        "store": (stores, "1", "store of water"),
        "visited": (stores, "1", "store that is visited"),
        "exit": (np.array(EXITS), "1", "boundary, or storage that was gained"),
    }
    return result(op, data, coords)
