"""Age of water: time since it entered over a boundary."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.tracing.backward import look_back
from hydroloop.tracing.labels import Rules, follow_label
from hydroloop.tracing.last_use import check_drawn, days_back
from hydroloop.tracing.mean_flows import fed, mean_of, mean_rates, steady_solver
from hydroloop.tracing.operator import Operator, operator, result
from hydroloop.tracing.warm_up import Settled, check_warm_up, first_year
from hydroloop.tracing.where_and_when import find_step, find_store


def ages(record: xr.Dataset | Operator, *, warm_up: str = "repeat") -> xr.Dataset:
    """Mean age of the water in every store.

    Tells how many days ago the water entered the record over a boundary, in the mean. A mean hides
    how unequal the parts are: see `age_distribution`.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record.
    warm_up : str
        Age at the first edge: "repeat" repeats the first year until the ages settle, "steady" takes
        the steady state of its mean flows, "none" counts from the first edge.

    Returns
    -------
    xarray.Dataset
        ``mean_age`` (edge, store), zero where there is no water, NaN where no repeats settle it
        [d]. Member last where the record
        has it. Attributes ``warm_up_change`` (relative to the largest age [-]) and
        ``warm_up_repeats``.

    Raises
    ------
    AskError
        There is no such way to warm up.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    ``M a = V (a_old + dt)``: each edge between steps that water stands through adds the length dt
    of the step that follows it [d]. In steady flow the mean age in one mixed store is V/q. A store
    that nothing enters in the whole first year counts from the first edge.

    References
    ----------
    Delhez et al. 1999: age as age concentration over concentration.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> tank = Network(["tank"], ["import", "tank"], ["tank", "sky"], ["import", "evaporation"])
    >>> record = build_record(tank, edges_of("2031-01-01", 2), [[10]] * 3, [[2, 2]] * 2)
    >>> round(float(ages(record).mean_age[0, 0]), 9)
    5.0
    """
    op = operator(record)
    check_warm_up(warm_up)
    none = np.zeros((1, *op.shape[1:]))
    guess = none if warm_up == "none" else _steady_ages(op)
    rules = Rules(op.split(), np.zeros(len(op.flows)), 1.0)
    way = "repeat" if warm_up == "repeat" else "none"
    trail, settled = follow_label(op, rules, guess, way)
    return _labelled(op, settled.told(trail.label), settled)


def _steady_ages(op: Operator) -> np.ndarray:
    steps = first_year(op)
    rates = mean_rates(op, steps)
    held = mean_of(op, op.water.volume[:steps])
    every = np.ones(len(op.flows), dtype=bool)
    age = np.zeros((1, *op.shape[1:]))
    for member in range(op.shape[2]):
        rate = rates[:, member]
        given = np.where(fed(op, rate), held[:, member], 0.0)
        age[0, :, member] = steady_solver(op, rate, every)(given)
    return np.maximum(age, 0.0)


def _labelled(op: Operator, age: np.ndarray, settled: Settled) -> xr.Dataset:
    words = "mean time since the water entered over a boundary"
    data: dict[str, tuple[Any, ...]] = {"mean_age": (("edge", "store"), age, "d", words)}
    coords = {
        "edge": (op.edge, "", "instants between steps"),
        "store": (np.array(op.stores), "1", "store of water"),
    }
    answer = result(op, data, coords)
    answer.attrs = {"warm_up_change": settled.change, "warm_up_repeats": settled.repeats}
    return answer


def age_distribution(record: xr.Dataset | Operator, *, at: str, on: Any) -> xr.Dataset:
    """Share of a glass by days since it entered.

    Tells when and by which inflow the water of a glass came into the record. What was there at
    the first edge has no date.

    Parameters
    ----------
    record : xarray.Dataset or Operator
        Water record.
    at : str
        Store that the glass is drawn from.
    on : str or datetime
        Date; the glass is drawn in the step that contains it.

    Returns
    -------
    xarray.Dataset
        ``share`` (days_ago), ``unknown``: stood in the record's first volumes; they sum to one.
        ``by_flow`` (flow): share that entered by each flow; ``by_first_store`` (store): share that
        stood in each store at the first edge [-]. Member last where the record has it.

    Raises
    ------
    AskError
        There is no such store or date, or the store is empty in that step.
    RecordError
        The record breaks its own rules.

    Notes
    -----
    See `look_back`, with no gate.

    Examples
    --------
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> tank = Network(["tank"], ["import", "tank"], ["tank", "sky"], ["import", "evaporation"])
    >>> record = build_record(tank, edges_of("2031-01-01", 2), [[1]] * 3, [[1, 1]] * 2)
    >>> age_distribution(record, at="tank", on="2031-01-02").share.values.tolist()
    [0.5, 0.25]
    """
    op = operator(record)
    store, step = find_store(op, at), find_step(op, on)
    check_drawn(op, store, [step])
    met = look_back(op, np.zeros(len(op.flows), dtype=bool), [store], [step])
    words = "share of the glass by days since it entered"
    data: dict[str, tuple[Any, ...]] = {
        "share": (("days_ago",), met.entered[0], "1", words),
        "unknown": ((), met.standing[0].sum(axis=0), "1", "share that was there at the first edge"),
        "by_flow": (("flow",), met.by_flow[0], "1", "share that entered by each flow"),
        "by_first_store": (("store",), met.standing[0], "1", "share by store at the first edge"),
    }
    coords = {
        "days_ago": (days_back(op, step), "d", "days since the water entered"),
        "flow": (np.array(op.flows), "1", "flow of water"),
        "store": (np.array(op.stores), "1", "store of water"),
    }
    return result(op, data, coords)
