"""The season of many members in few numbers, in which what-if questions are answered."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import chain

import numpy as np
import xarray as xr

from hydroloop.measures import Run, find_towns
from hydroloop.measures.gather.dataset import dataset_of
from hydroloop.measures.gather.totals import season_of
from hydroloop.record import Network
from hydroloop.scenario import Scenario
from hydroloop.tracing import Operator
from hydroloop.tracing.along_the_flow import plan
from hydroloop.tracing.elimination import Water
from hydroloop.waterworks.members import Members, SharedForcing, run_members


def season_table(
    scenarios: Sequence[Scenario],
    *,
    seeds: Sequence[int] | None = None,
    most: int = 5,
    forcing: SharedForcing | None = None,
) -> xr.Dataset:
    """Season measures of several scenarios with the same towns, run side by side: what the season
    comes to (use shares at taps, supply, mean flows), by the names of `hydroloop.measures.SEASON`,
    member last. `forcing` keeps weather and inflow between calls."""
    return seasons(scenarios, seeds=seeds, most=most, forcing=forcing)[0]


def seasons(
    scenarios: Sequence[Scenario],
    *,
    seeds: Sequence[int] | None = None,
    most: int = 5,
    forcing: SharedForcing | None = None,
    keep: Collection[int] = (),
) -> tuple[xr.Dataset, dict[int, Run]]:
    """Season measures as `season_table` has them, and the arrays of the members to keep."""
    parts, numbers, kept = [], [], dict[int, Run]()
    for members in run_members(scenarios, seeds=seeds, forcing=forcing):
        run = run_of_members(members)
        parts.append(dataset_of(season_of(run, most), run.op.members, {}))
        numbers.append(members.numbers)
        kept |= {
            number: run.member(place)
            for place, number in enumerate(np.asarray(members.numbers).tolist())
            if number in keep
        }
    whole = side_by_side(parts).isel(member=np.argsort(np.concatenate(numbers)))
    return whole.assign_coords(member=np.arange(len(scenarios))), kept


def side_by_side(parts: Sequence[xr.Dataset]) -> xr.Dataset:
    """Members of several tables, one after the other, with the towns and stages of all, in the
    order in which they first come; for what a member lacks see `at_places`."""
    if len(parts) == 1:
        return parts[0]
    places = [
        tuple(
            tuple(map(str, part[name].values)) if name in part.coords else ()
            for name in ("town", "stage")
        )
        for part in parts
    ]
    if len(set(places)) > 1:
        towns, stages = (list(dict.fromkeys(chain(*names))) for names in zip(*places, strict=True))
        parts = [at_places(part, towns, stages) for part in parts]
    return xr.concat(
        parts,
        "member",
        combine_attrs="override",
        data_vars="minimal",
        coords="minimal",
        compat="override",
        join="exact",
    )


def at_places(table: xr.Dataset, towns: Sequence[str], stages: Sequence[str]) -> xr.Dataset:
    """Measures with towns and drought stages that other runs have too, in a given order. A town
    that it lacks is NaN; a stage that it lacks is never in force and cuts nothing."""
    table = table.reindex(town=list(towns))
    if not stages:
        return table
    supplied = table["reliability"].notnull()
    none = (0.0 * supplied.sum("town")).expand_dims(stage=list(stages))
    days = table["days_in_stage"].reindex(stage=list(stages)) if "days_in_stage" in table else none
    cut = table.get("cut_share", 0.0 * table["reliability"])
    return table.drop_dims("stage", errors="ignore").assign(
        days_in_stage=days.fillna(0.0), cut_share=cut.where(cut.notnull() | ~supplied, 0.0)
    )


def operator_of(members: Members) -> Operator:
    """Operator of members whose account has been checked already."""
    network, ledger = members.network, members.first.works.ledger
    stores = set(network.stores)
    source, target = (np.array(ends, dtype=np.int64) for ends in (ledger.sources, ledger.targets))
    outside = tuple(
        "" if a in stores and b in stores else b if a in stores else a
        for a, b in zip(network.source, network.target, strict=True)
    )
    water = Water(members.volume, members.rate, np.full(len(members.rate), members.step))
    return Operator(
        tuple(network.stores),
        tuple(network.flow),
        tuple(network.kind),
        source,
        target,
        outside,
        water,
        _used_before(network, members.used_before),
        plan(len(network.stores), source, target),
        members.edges,
        xr.DataArray(members.numbers, dims="member"),
        tuple(network.place),
        tuple(network.role),
        members.first.scenario.season.count_as,
    )


def _used_before(network: Network, given: dict[str, list[float]]) -> np.ndarray:
    width = max((len(shares) for shares in given.values()), default=0)
    table = np.zeros((len(network.flow), width + 1))
    names = list(network.flow)
    for name, shares in given.items():
        table[names.index(name), 1 : len(shares) + 1] = shares
    table[:, 0] = 1.0 - table[:, 1:].sum(axis=1)
    return table


def run_of_members(members: Members) -> Run:
    """Arrays of members for measures, without a record in between."""
    op, scenario = operator_of(members), members.first.scenario
    has_stages = bool(scenario.stage)
    return Run(
        op,
        tuple(find_towns(op, scenario.town)),
        members.demand,
        members.cut if has_stages else None,
        members.minimum_flow,
        members.stage_days if has_stages else None,
        tuple(scenario.stage),
        warm_up=scenario.season.warm_up,
    )
