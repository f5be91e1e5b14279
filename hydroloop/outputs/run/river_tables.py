"""The table of a run that tells what kind of river each is."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from hydroloop.outputs.document.table import Column, Table, places_column
from hydroloop.outputs.run.result import Result
from hydroloop.record import flow_mask, flow_total
from hydroloop.weather import (
    baseflow_index,
    budyko_evaporation,
    flashiness,
    low_flow_ratio,
    turc_pike_evaporation,
)

_A_YEAR = 365


def rivers(result: Result) -> Table:
    """Each river at its head: how it answers to rain, where the season is a year or longer.

    The numbers of a few years depend on those years, and on what a first year inherits.
    """
    record = result.record
    names = [str(name) for name in result.scenario.river]
    daily = [_daily_flow(result, name) for name in names]
    long = record.sizes["time"] * _step(result) >= _A_YEAR
    told = [flow if long else np.zeros(0) for flow in daily]
    rain = _mean_mm(result, "rain_mm")
    potential = _mean_mm(result, "et0_mm")
    curves = [
        1.0 - curve(rain, potential) / rain if long and rain > 0.0 else np.nan
        for curve in (turc_pike_evaporation, budyko_evaporation)
    ]
    ratios = [_runoff(result, name, flow, rain) for name, flow in zip(names, told, strict=True)]
    return Table(
        "rivers",
        "The rivers at their heads",
        [
            places_column("river", names, result.names),
            Column("mean flow", [float(flow.mean()) for flow in daily], "river_flow"),
            Column("baseflow index", [_of(baseflow_index, flow) for flow in told], "share"),
            Column("flashiness", [_of(flashiness, flow) for flow in told], "number"),
            Column(
                "flow on 95 of 100 days, over the mean",
                [_of(low_flow_ratio, flow) for flow in told],
                "share",
            ),
            Column("runoff ratio", ratios, "share"),
            *(
                Column(
                    f"the same by the curve of {whose}",
                    [value if np.isfinite(ratio) else np.nan for ratio in ratios],
                    "share",
                )
                for whose, value in zip(("Turc and Pike", "Budyko"), curves, strict=True)
            ),
        ],
    )


def _of(signature: Callable[[np.ndarray], float], flow: np.ndarray) -> float:
    return signature(flow) if flow[1:].any() else np.nan


def _step(result: Result) -> float:
    return float(result.scenario.season.step)


def _daily_flow(result: Result, river: str) -> np.ndarray:
    """Flow that enters the head of a river, day by day [m3/d]."""
    record = result.record
    head = f"{river}/reach_1"
    flow = flow_total(record, flow_mask(record, target=(head,), kind=("river", "upstream")))
    if "member" in flow.dims:
        flow = flow.mean("member")
    per_day = max(1, round(1.0 / _step(result)))
    return np.asarray(flow.values).reshape(-1, per_day).mean(axis=1)


def _mean_mm(result: Result, name: str) -> float:
    """Mean depth a day [mm/d]."""
    return float(result.record[name].mean()) / _step(result)


def _runoff(result: Result, river: str, flow: np.ndarray, rain_mm: float) -> float:
    area = result.scenario.river[river].catchment
    if area is None or not len(flow) or rain_mm <= 0.0:
        return np.nan
    return float(flow.mean()) / (rain_mm / 1000.0 * area * 1e6)
