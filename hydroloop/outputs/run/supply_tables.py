"""The tables of a run that tell how well the towns were supplied, and what a drought asked."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.measures import reservoir_yield
from hydroloop.outputs.document.table import Column, Table, places_column
from hydroloop.outputs.run.result import Result
from hydroloop.placenames import stage_words
from hydroloop.record import flow_mask, flow_total

_NO_STAGES = ((), (), ())
_NO_RESERVOIRS = ((), (), (), (), (), ())
_NEAR = 0.01  # of the capacity: what rain or a day's inflow leaves above the dead storage [-]
_YIELD = "yield: what it could give every day, to towns and to the river below"


ASKED = "asked for: what is left to ask for after the cuts of drought stages."
"""What a shortage is measured against, where stages cut."""
YIELD = "yield: minimum flow and release are in it, so a town cannot have all of it."
EMPTY = "at its lowest no water but the dead storage was left, which no intake reaches."


def ran_dry(made: Table) -> bool:
    """Whether a reservoir of the table of them fell to its dead storage, but for rain."""
    held = {column.known_as: column.values for column in made.columns}
    pairs = zip(held["lowest"], held["dead_storage"], strict=True)
    return any(low <= dead + _NEAR for low, dead in pairs)


def supply(result: Result) -> Table:
    """How well each town was supplied, what it left in the river, and what the stages cut.
    What stages cut was not asked for, and so is no shortage. A lawn that gets less asks for more
    later: the season's use falls by less than is cut."""
    return Table(
        "supply",
        "Is there enough?",
        [
            result.named,
            *map(
                result.column,
                (
                    "reliability",
                    "volume_reliability",
                    "resilience",
                    "vulnerability",
                    "largest_shortage",
                    "longest_failure",
                ),
            ),
            result.column("cut_share", cut_shares(result)),
            Column(
                "minimum flow at the intake, mean", _minimum(result), "river_flow", "minimum_flow"
            ),
            *map(result.column, ("days_under_minimum_flow", "lowest_dilution")),
        ],
    )


def cut_shares(result: Result) -> list[float]:
    """Share of use that the stages cut, by town; zero where there are none [-]."""
    if "cut_share" not in result.table:
        return [0.0] * len(result.towns)
    return result.values("cut_share")


def _minimum(result: Result) -> list[float]:
    """What the intake must leave in the river, however it is set, by town [m3/d]."""
    record, found = result.record, []
    for town, days in zip(result.towns, result.values("days_under_minimum_flow"), strict=True):
        known = "minimum_flow" in record and np.isfinite(days)
        found.append(float(record["minimum_flow"].sel(town=town).mean()) if known else np.nan)
    return found


def stages(result: Result) -> Table:
    """The drought stages: for how long each was in force, and since when; no rows without
    stages."""
    rows = []
    for stage in result.table["stage"].values if "days_in_stage" in result.table else ():
        on = np.flatnonzero(result.record["stage_days"].sel(stage=stage).values > 0.0)
        first = str(result.record["time"].values[on[0]])[:10] if len(on) else ""
        rows.append((str(stage), result.value("days_in_stage", stage=stage), first))
    names, days, began = list(zip(*rows, strict=True)) or _NO_STAGES
    return Table(
        "stages",
        "Drought stages",
        [
            Column("stage", names, words=list(map(stage_words, names))),
            Column("time in force", days, "duration"),
            Column("first day in force", began),
        ],
    )


def reservoirs(result: Result) -> Table:
    """Reservoirs: how far they fell, and what they could give in every step of the season: the
    yield of the sequent peak for one that begins full, minimum flow and release in it, dead storage
    left out."""
    record, rows = result.record, []
    for name, lake in result.scenario.reservoir.items():
        store = f"{name}/reservoir"
        given = flow_total(record, flow_mask(record, source=store)) - flow_total(
            record, flow_mask(record, source=store, kind="evaporation")
        )
        usable = (1.0 - lake.dead_storage) * lake.capacity
        lowest = float(record["volume"].sel(store=store).min())
        rows.append(
            (
                name,
                lake.capacity,
                lowest / lake.capacity,
                lake.dead_storage,
                float(given.mean()),
                float(reservoir_yield(record, store, usable)),
            )
        )
    names, size, low, dead, out, draft = list(zip(*rows, strict=True)) or _NO_RESERVOIRS
    return Table(
        "reservoirs",
        "Reservoirs",
        [
            places_column("reservoir", names, result.names),
            Column("capacity", size, "stored_volume"),
            Column("lowest, share of capacity", low, "share", "lowest"),
            Column("dead storage, share of capacity", dead, "share", "dead_storage"),
            Column("drawn, let out and spilled, mean", out, "flow", "given"),
            Column(_YIELD, draft, "flow", "yield"),
        ],
    )


def shortages(result: Result) -> Table:
    """What was asked for and not delivered, by town and purpose."""
    rows: list[tuple[Any, ...]] = []
    for town in result.towns if "unmet" in result.table else ():
        for purpose in (str(name) for name in result.table["purpose"].values):
            unmet = result.table["unmet"].sel(town=town, purpose=purpose)
            asked = result.record["demand"].sel(town=town, purpose=purpose)
            if float(unmet.max()) > 0.0:
                rows.append((town, purpose, *_short(unmet, asked)))
    columns = list(zip(*rows, strict=True)) or [()] * 6
    names = (
        ("town", ""),
        ("purpose", ""),
        ("asked for, mean", "flow"),
        ("short, mean", "flow"),
        ("share short", "share"),
        ("time with too little", "duration"),
    )
    return Table(
        "shortages",
        "Who ran short",
        [
            Column(name, values, dimension)
            if name != "town"
            else places_column(name, values, result.names)
            for (name, dimension), values in zip(names, columns, strict=True)
        ],
    )


def _short(unmet: xr.DataArray, asked: xr.DataArray) -> tuple[float, float, float, float]:
    step = (
        float(np.diff(unmet["time"].values[:2])[0] / np.timedelta64(1, "D"))
        if (unmet.sizes["time"] > 1)
        else 1.0
    )
    whole, short = float(asked.mean()), float(unmet.mean())
    return whole, short, short / whole, step * float((unmet > 0).sum())
