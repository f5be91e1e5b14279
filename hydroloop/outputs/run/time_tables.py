"""The tables of a run that tell how long water stays, and where it goes between towns."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from hydroloop.outputs.document.table import Column, Table, places_column
from hydroloop.outputs.run.result import Result

# Parts of a town in the order of the water, with the roles of their stores.
_WORKS = {
    "water plant": ("rapid_mix", "flocculation", "sedimentation", "filters", "clearwell"),
    "storage tanks": ("tanks",),
    "mains": ("mains",),
    "sewers": ("sewers",),
    "wastewater plant": ("primary", "aeration", "final_settling", "contact", "effluent_pond"),
    "groundwater": ("groundwater",),
}

_LEAST_SHARE = 1e-4  # smaller shares of a tap's water get no row [-]


def stores(result: Result) -> Table:
    """Every store: what it is, what it holds, and how long water stays."""
    record = result.record
    mean = record["volume"].mean("edge").values
    words = record["label"].values if "label" in record else record["store"].values
    return Table(
        "stores",
        "Every store of the account",
        [
            Column("store", record["store"].values.tolist()),
            Column("in words", words.tolist()),
            Column("place", record["place"].values.tolist()),
            Column("part", record["role"].values.tolist()),
            Column("mean volume", mean.tolist(), "volume"),
            Column("turnover time", _turnover(result).tolist(), "duration"),
        ],
    )


def times(result: Result) -> Table:
    """How long water stays: in each town's parts, from plant to tap, from intake to outfall."""
    columns = [result.named]
    for part, roles in _WORKS.items():
        stay = [_stay(result, town, roles) for town in result.towns]
        columns.append(
            Column(
                f"turnover of the {part}", stay, "duration", f"turnover_of_{part.replace(' ', '_')}"
            )
        )
    half, tenth, most = (
        result.values("intake_to_outfall_time", part=part) for part in (0.5, 0.1, 0.9)
    )
    return Table(
        "times",
        "How long water stays",
        [
            *columns,
            *map(result.column, ("season_water_age", "season_water_age_oldest")),
            Column("intake to outfall, median", half, "duration", "intake_to_outfall_median"),
            Column(
                "intake to outfall, a tenth within", tenth, "duration", "intake_to_outfall_tenth"
            ),
            Column(
                "intake to outfall, nine tenths within",
                most,
                "duration",
                "intake_to_outfall_nine_tenths",
            ),
            *map(
                result.column,
                (
                    "intake_to_outfall_ground",
                    "intake_to_outfall_pending",
                    "rain_age_median",
                    "rain_age_young",
                ),
            ),
        ],
    )


def _stay(result: Result, town: str, roles: tuple[str, ...]) -> float:
    """Turnover times of stores one behind the other, added up; nan where there are none."""
    record = result.record
    own = (record["place"].values == town) & np.isin(record["role"].values, roles)
    return float(_turnover(result)[own].sum()) if own.any() else math.nan


def _turnover(result: Result) -> np.ndarray:
    """Turnover time of every store of the record, shape (store) [d]."""
    times_of: np.ndarray = result.table["turnover_time"].sel(store=result.record["store"]).values
    return times_of


def between_towns(result: Result) -> Table:
    """From each town's outfall to the taps of the towns below: how long, and how much of it; and
    what a town pumps back as reclaimed water, straight to its own plant."""
    order = ("town", "town_to")
    share, ground = (
        result.table[f"outfall_to_tap_{name}"].transpose(*order).values
        for name in ("share", "ground")
    )
    time = result.table["outfall_to_tap_time"].transpose("part", *order)
    at = np.nonzero(share > _LEAST_SHARE)
    begins, ends = (
        [str(result.table[dim].values[k]) for k in places]
        for dim, places in zip(order, at, strict=True)
    )
    back = [
        (town, part)
        for town, part in zip(result.towns, result.values("season_reclaimed_share"), strict=True)
        if part > _LEAST_SHARE
    ]
    own, nothing = [town for town, _ in back], [math.nan] * len(back)
    return Table(
        "between_towns",
        "From outfalls to taps",
        [
            replace(places_column("from the outfall of", begins + own, result.names), key="from"),
            replace(places_column("to the taps of", ends + own, result.names), key="to"),
            Column("by", ["outfall"] * len(begins) + ["reclaimed water"] * len(own)),
            *(
                Column(words, time.sel(part=part).values[at].tolist() + nothing, "duration")
                for words, part in (
                    ("median time", 0.5),
                    ("a tenth within", 0.1),
                    ("nine tenths within", 0.9),
                )
            ),
            Column(
                "share of that tap water", share[at].tolist() + [part for _, part in back], "share"
            ),
            Column("of it through the ground", ground[at].tolist() + [0.0] * len(back), "share"),
        ],
    )
