"""How much water towns take, use and give back, and whether it is enough."""

from __future__ import annotations

from hydroloop.measures.flows import FLOWS, reclaimed_share, river_flow, spilled, town_flow
from hydroloop.measures.gather.dataset import Found
from hydroloop.measures.run_arrays import PURPOSES, Run
from hydroloop.measures.supply import (
    cut_share,
    days_under_minimum,
    dilution,
    lowest,
    supply,
    unmet,
)


def how_much(run: Run) -> Found:
    """Flows of every town, what is short, and what the river is left with."""
    found = Found({name: town_flow(run, name) for name in FLOWS}, {"time": run.op.edge[:-1]})
    values = found.values
    values["river_flow_at_intake"] = river_flow(run)
    for name in ("overflowed", "bypassed"):
        for part, told in zip(
            ("volume", "days", "largest"), spilled(values[name], run.days), strict=True
        ):
            values[f"{name}_{part}"] = told
    values["season_reclaimed_share"] = reclaimed_share(run)
    if run.demand is not None:
        found.coords["purpose"] = list(PURPOSES)
        values["unmet"] = unmet(run)
        values |= supply(values["unmet"], run.demand, run.days)
        if run.stage_days is not None and run.cut is not None:
            values["cut_share"] = cut_share(run.cut, run.demand, run.days)
    values["dilution"] = dilution(run)
    values["lowest_dilution"] = lowest(values["dilution"])
    values["days_under_minimum_flow"] = days_under_minimum(run)
    return found
