"""One run as the page reads it: plain numbers, day by day, for every town."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from hydroloop.charts.river_map import laid_out
from hydroloop.charts.town_flows import store_groups
from hydroloop.errors import AskError
from hydroloop.gates import USES
from hydroloop.measures import (
    BALANCE_TERMS,
    PURPOSES,
    Mix,
    Run,
    balance,
    largest_gap,
    of_stores,
    run_of,
    supply,
    transit_times,
    turnover_time,
    unmet,
    use_shares,
    used_because,
)
from hydroloop.measures.towns import Town
from hydroloop.outputs.page.capacity_years import capacity_values
from hydroloop.outputs.page.frame import MOST_USES
from hydroloop.outputs.page.loop import loop_values
from hydroloop.outputs.page.numbers import shares, shortened, sized
from hydroloop.outputs.page.walks import maps_of, walks
from hydroloop.placenames import names_of, place_words
from hydroloop.scenario import Scenario
from hydroloop.tracing import Operator, as_counted, find_gate, has_water, used_parts, uses_at
from hydroloop.tracing.passing import Uses
from hydroloop.waterworks import season_record


class _Counted(NamedTuple):
    """Water by number of uses, by a ready gate."""

    op: Operator
    uses: Uses
    first: np.ndarray  # at the first edge, as `used_parts` takes it


def run_values(
    scenario: Scenario,
    *,
    gates: Sequence[str] = tuple(USES),
    every: int = 1,
    besides: Sequence[int] = (),
    record: xr.Dataset | None = None,
) -> dict[str, Any]:
    """Run a scenario and give what the page shows of it; `SCHEMA` says what each number is.

    Parameters
    ----------
    scenario : Scenario
        What is run.
    gates : sequence of str
        Ready gates by which uses are counted.
    every : int
        Show every so manieth step; the run itself has them all.
    besides : sequence of int
        Steps that are shown too, such as those that most is asked about.
    record : Dataset, optional
        Its water record, where it has been run.
    """
    record = season_record(scenario) if record is None else record
    run = run_of(record, scenario.town)
    op, mix = run.op, Mix(run.op, [town.taps for town in run.towns])
    shown = np.union1d(np.arange(0, record.sizes["time"], every), besides).astype(np.int64)
    rivers = laid_out(record, xr.Dataset()).stores
    counted = {name: found for name in gates if (found := _counted(op, name)) is not None}
    places, terms = balance(run)
    called = [place_words(place, names_of(record)) for place in places[:-1]] + ["Whole map"]
    supplied = _supplied(run, shown)
    stays = dict(zip(op.stores, turnover_time(op)[:, 0].tolist(), strict=True))
    charts = maps_of(record)
    return {
        "dates": [str(day)[:10] for day in record["time"].values[shown]],
        "glass": {name: _glasses(run, mix, found, shown) for name, found in counted.items()},
        "because": {
            name: _because(run, mix, name, found, shown) for name, found in counted.items()
        },
        "river": {
            "rate": _rates(op, rivers, shown),
            "stay": [sized(stays[store]) for store in rivers],
            "used": {
                name: _used_in(op, found.uses, rivers, shown) for name, found in counted.items()
            },
        },
        "towns": {
            town.name: {
                "people": round(scenario.town[town.name].people),
                **supplied[town.name],
                "loop": loop_values(op, store_groups(record, town), stays, shown),
                "capacity": capacity_values(scenario, record, run, town.name),
                "transit": _transit(run, town),
                "walks": walks(op, charts, town.first),
            }
            for town in run.towns
        },
        "account": {
            "gap": float(largest_gap(run)[0]),
            "rows": [
                [place, *map(sized, row)]
                for place, row in zip(called, terms[..., 0].tolist(), strict=True)
            ],
            "terms": list(BALANCE_TERMS),
        },
    }


def town_glasses(scenario: Scenario, record: xr.Dataset) -> dict[str, dict[str, Any]]:
    """The glasses of every town, day by day, by what the scenario counts as a use."""
    run = run_of(record, scenario.town)
    counted = _counted(run.op, scenario.season.count_as)
    if counted is None:
        return {}
    mix = Mix(run.op, [town.taps for town in run.towns])
    return _glasses(run, mix, counted, np.arange(record.sizes["time"]))


def _counted(op: Operator, name: str) -> _Counted | None:
    """Uses by a ready gate; None where the record has no such flow."""
    try:
        gate = find_gate(op, name)
    except AskError:
        return None
    mine = as_counted(op, name)
    uses, first = uses_at(mine, np.arange(len(op.stores)), gate, MOST_USES, warm_up="repeat")
    return _Counted(mine, uses, first.state)


def _glasses(run: Run, mix: Mix, counted: _Counted, shown: np.ndarray) -> dict[str, dict[str, Any]]:
    """Layers of every town's tap water on the days shown, and of the season."""
    found = use_shares(mix, of_stores(counted.uses, mix.stores), counted.op.used_before)
    layers = np.concatenate([found["use_share"], found["unknown_share"][:, :, None]], axis=2)
    taps = run.flow("taps") * run.days[:, None, None]
    return {
        town.name: _glass(
            layers[:, k, :, 0],
            found["mean_uses"][:, k, 0],
            found["used_share"][:, k, 0],
            taps[:, k, 0],
            shown,
        )
        for k, town in enumerate(run.towns)
    }


def _glass(
    layers: np.ndarray, uses: np.ndarray, used: np.ndarray, weight: np.ndarray, shown: np.ndarray
) -> dict[str, Any]:
    """Layers of one town's, its mean uses, and the day on which it was used most."""
    is_told = ~np.isnan(layers[:, 0]) & (weight > 0)
    total = weight[is_told].sum()
    mean = (
        (weight[is_told] @ layers[is_told]) / total if total else np.full(layers.shape[1], np.nan)
    )
    often, share = (
        [float(weight[is_told] @ one[is_told] / total) for one in (uses, used)]
        if total
        else [math.nan, math.nan]
    )
    best = int(np.argmax(np.nan_to_num(used, nan=-1.0).round(9)[shown]))
    # More digits than are shown: of two roundings the last would not always be that of the share.
    return {
        "layers": shares(layers[shown]),
        "season": shares(mean),
        "season_used": round(share, 6) if total else None,
        "mean_uses": sized(often),
        "most_used": best,
    }


def _because(run: Run, mix: Mix, gate: str, counted: _Counted, shown: np.ndarray) -> dict[str, Any]:
    """Used share of each town's tap water by who used it last, for what, and how it came back."""
    traced = used_parts(run.op, mix.stores, gate, warm_up="repeat", first=counted.first)
    found, names = used_because(mix, traced, 1.0 - counted.op.used_before[:, 0])
    ways, uses = (found[f"used_share_by_{part}"][shown, ..., 0] for part in ("way", "use"))
    parts = {"used_in": ways.sum(axis=3), "way": ways.sum(axis=2), "used_for": uses.sum(axis=2)}
    return {
        "names": {dim: names[dim] for dim in parts},
        "towns": {
            town.name: {dim: shares(part[:, k]) for dim, part in parts.items()}
            for k, town in enumerate(run.towns)
        },
    }


def _transit(run: Run, town: Town) -> dict[str, Any]:
    """Days within which a tenth, half and nine tenths of the water come from a town's intake to its
    outfall, and from there to every town's taps; by the surface."""
    own = transit_times(run.op, town.drawn, [town.outfalls])
    far = transit_times(run.op, town.outfalls, [one.taps for one in run.towns])
    return {
        "own": shortened(own.time[:, 0, 0], 2),
        "taps": {one.name: shortened(far.time[:, k, 0], 2) for k, one in enumerate(run.towns)},
    }


def _rates(op: Operator, rivers: Sequence[str], shown: np.ndarray) -> list[list[Any]]:
    """What leaves each store of the rivers, but into the air [m3/d]."""
    is_air = np.array(op.kinds) == "evaporation"
    rate = op.water.rate[shown, :, 0]
    rows = [
        rate[:, (op.source == op.stores.index(store)) & ~is_air].sum(axis=1) for store in rivers
    ]
    return shortened(np.array(rows))


def _used_in(op: Operator, uses: Uses, rivers: Sequence[str], shown: np.ndarray) -> list[Any]:
    """Used share of what leaves each store of the rivers; None where it is dry."""
    stores = np.array([op.stores.index(store) for store in rivers], dtype=np.int64)
    used = uses.share[1:, 1:, stores].sum(axis=0)
    return shares(np.where(has_water(op, stores), used, np.nan)[shown, :, 0].T)


def _supplied(run: Run, shown: np.ndarray) -> dict[str, dict[str, Any]]:
    """What every town asked for, what it got and what was missing."""
    assert run.demand is not None
    missing = unmet(run)
    found = supply(missing, run.demand, run.days)

    def days(rate: np.ndarray) -> list[Any]:
        return shortened(rate[shown])

    return {
        town.name: {
            "delivered": days(run.flow("taps")[:, k, 0]),
            "asked": days(run.demand[:, k, :, 0].sum(axis=1)),
            "short": days(missing[:, k, :, 0].sum(axis=1)),
            "reliability": sized(float(found["reliability"][k, 0])),
            "longest_failure": sized(float(found["longest_failure"][k, 0])),
            "unmet": dict(
                zip(PURPOSES, map(sized, found["unmet_total"][k, :, 0].tolist()), strict=True)
            ),
        }
        for k, town in enumerate(run.towns)
    }
