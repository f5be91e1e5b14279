"""One run as the page reads it: plain numbers, day by day, for every town."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.charts.river_map import laid_out
from hydroloop.errors import AskError
from hydroloop.gates import USES
from hydroloop.measures import Town, balance, find_towns, supply, turnover_time, unmet, use_shares
from hydroloop.measures.uses import used_because
from hydroloop.outputs.page.capacity import capacity_values
from hydroloop.outputs.page.frame import MOST_USES
from hydroloop.outputs.page.loop import loop_values
from hydroloop.outputs.page.walks import walks
from hydroloop.record import step_days
from hydroloop.scenario import Scenario
from hydroloop.tracing import Operator, as_counted, count_uses, find_gate, operator
from hydroloop.waterworks import simulate

SHARES = 10_000
"""Shares are whole numbers: parts of so many."""


def run_values(scenario: Scenario, *, gates: Sequence[str] = tuple(USES), every: int = 1,
               record: xr.Dataset | None = None) -> dict[str, Any]:
    """Run a scenario and give what the page shows of it; `SCHEMA` says what each number is.

    Parameters
    ----------
    scenario : Scenario
        What is run.
    gates : sequence of str
        Ready gates by which uses are counted.
    every : int
        Show every so manieth step; the run itself has them all.
    record : Dataset, optional
        Its water record, where it has been run.
    """
    record = simulate(scenario) if record is None else record
    op, towns = operator(record), find_towns(record, scenario.town)
    shown = np.arange(0, record.sizes["time"], every)
    rivers = laid_out(record, xr.Dataset()).stores
    counted = {name: found for name in gates if (found := _counted(op, name)) is not None}
    own = next((name for name in (scenario.season.count_as, *counted) if name in counted), "")
    account = balance(record)
    stays = xr.Dataset({"turnover_time": turnover_time(op)})
    return {
        "dates": [str(day)[:10] for day in record["time"].values[shown]],
        "glass": {name: {town.name: _glass(record, found, town, shown) for town in towns}
                  for name, found in counted.items()},
        "because": {"gate": own, **_because(op, towns, own, shown)},
        "river": {"rate": _rates(record, rivers, shown),
                  "stay": [sized(float(stays["turnover_time"].sel(store=store)))
                           for store in rivers],
                  "used": {name: _used_in(found[1], rivers, shown)
                           for name, found in counted.items()}},
        "towns": {town.name: {
            **_supplied(record, town, shown),
            "loop": loop_values(record, stays, town.name, shown),
            "capacity": capacity_values(scenario, record, town.name),
            "walks": walks(op, record, town.first)} for town in towns},
        "account": {
            "gap": float(account["gap_relative"]),
            "rows": [[str(place), *(sized(float(value)) for value in
                                    account["balance"].sel(place=place).values)]
                     for place in account["place"].values],
            "terms": [str(term) for term in account["term"].values]},
    }


def sized(value: float) -> float | int | None:
    """A number in as many digits as the page can show; None where it is not known."""
    if not math.isfinite(value):
        return None
    short = float(f"{value:.4g}")
    return int(short) if short == int(short) else short


def shares(values: np.ndarray) -> list[Any]:
    """Shares as whole numbers; None where they are not known."""
    if values.ndim > 1:
        return [shares(row) for row in values]
    return [None if math.isnan(one) else round(SHARES * one) for one in values.tolist()]


def _counted(op: Operator, name: str) -> tuple[Operator, xr.Dataset] | None:
    """Water by number of uses, by a ready gate; None where the record has no such flow."""
    try:
        gate = find_gate(op, name)
    except AskError:
        return None
    mine = as_counted(op, name)
    return mine, count_uses(mine, gate, MOST_USES)


def _glass(record: xr.Dataset, counted: tuple[Operator, xr.Dataset], town: Town,
           shown: np.ndarray) -> dict[str, Any]:
    """Layers of a town's tap water on the days shown, and of the season."""
    found = use_shares(*counted, town.taps)
    layers = np.column_stack([found["use_share"].values, found["unknown_share"].values])
    weight = record["rate"].values[:, town.taps].sum(axis=1) * step_days(record)
    is_told = ~np.isnan(layers[:, 0]) & (weight > 0)
    total = weight[is_told].sum()
    mean = (weight[is_told] @ layers[is_told]) / total if total else np.full(layers.shape[1],
                                                                            np.nan)
    uses = found["mean_uses"].values
    often = float(weight[is_told] @ uses[is_told] / total) if total else math.nan
    used = np.nan_to_num(found["used_share"].values, nan=-1.0)
    best = int(np.argmax(used.round(9)[shown]))
    return {"layers": shares(layers[shown]), "season": shares(mean), "mean_uses": sized(often),
            "most_used": best}


def _because(op: Operator, towns: Sequence[Town], gate: str, shown: np.ndarray) -> dict[str, Any]:
    """Used share of each town's tap water by who used it last, for what, and how it came back."""
    if not gate:
        return {"names": {}, "towns": {}}
    found = used_because(op, {town.name: town.taps for town in towns}, gate, MOST_USES)
    ways, uses = found["used_share_by_way"], found["used_share_by_use"]
    parts = {"used_in": ways.sum("way", skipna=False), "way": ways.sum("used_in", skipna=False),
             "used_for": uses.sum("used_in", skipna=False)}
    return {"names": {dim: part[dim].values.astype(str).tolist() for dim, part in parts.items()},
            "towns": {town.name: {dim: shares(part.sel(town=town.name).transpose("time", dim)
                                              .values[shown]) for dim, part in parts.items()}
                      for town in towns}}


def _rates(record: xr.Dataset, rivers: Sequence[str], shown: np.ndarray) -> list[list[Any]]:
    """What leaves each store of the rivers, but into the air [m3/d]."""
    source = np.where(record["kind"].values == "evaporation", "", record["source"].values)
    rate = record["rate"].values[shown]
    rows = [rate[:, source == store].sum(axis=1) for store in rivers]
    return [[sized(one) for one in row.tolist()] for row in rows]


def _used_in(counted: xr.Dataset, rivers: Sequence[str], shown: np.ndarray) -> list[Any]:
    """Used share of what leaves each store of the rivers; None where it is dry."""
    used = counted["share"].sel(store=list(rivers)).transpose("store", "edge", "use").values
    wet = counted["has_water"].sel(store=list(rivers)).transpose("store", "edge").values
    found = np.where(wet, used[:, :, 1:].sum(axis=2), np.nan)[:, 1:]
    return shares(found[:, shown])


def _supplied(record: xr.Dataset, town: Town, shown: np.ndarray) -> dict[str, Any]:
    """What the town asked for, what it got and what was missing."""
    missing = unmet(record, town.name)
    asked = record["demand"].sel(town=town.name, drop=True)
    found = supply(record, missing, asked)
    short, demand = (one.sum("purpose").values for one in (missing, asked))
    return {
        "delivered": [sized(one) for one in
                      record["rate"].values[:, town.taps].sum(axis=1)[shown].tolist()],
        "asked": [sized(one) for one in demand[shown].tolist()],
        "short": [sized(one) for one in short[shown].tolist()],
        "reliability": sized(float(found["reliability"])),
        "longest_failure": sized(float(found["longest_failure"])),
        "unmet": {str(name): sized(float(found["unmet_total"].sel(purpose=name)))
                  for name in found["purpose"].values},
    }
