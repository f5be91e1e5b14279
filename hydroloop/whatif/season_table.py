"""The season of many members in few numbers, in which what-if questions are answered."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.measures import longest_failure, reliability, resilience, vulnerability
from hydroloop.record import Network
from hydroloop.scenario import Scenario
from hydroloop.tracing import Operator, uses_at
from hydroloop.tracing.elimination import Water
from hydroloop.tracing.ordering import plan
from hydroloop.waterworks.members import Members, SharedForcing, run_members
from hydroloop.whatif.town_flows import Flows, flows_of

MEASURES = {
    "season_used_share": ("1", "share of the water used at least once before, season"),
    "season_mean_uses": ("1", "mean number of earlier uses, season"),
    "season_use_share": ("1", "share of the water by number of earlier uses, season"),
    "season_unknown_share": ("1", "share of the water whose past is unknown, season"),
    "reliability": ("1", "share of steps in which all demand is met"),
    "volume_reliability": ("1", "share of the water asked for that is delivered"),
    "resilience": ("1", "share of failing steps after which supply recovers"),
    "vulnerability": ("m3 d-1", "worst shortage of a failure, mean over failures"),
    "longest_failure": ("d", "longest failure in a row"),
    "unmet_total": ("m3", "water asked for and not delivered in the season"),
    "cut_share": ("1", "share of use that drought stages cut in the season"),
    "lowest_dilution": ("1", "lowest river flow over effluent and overflow of the season"),
    "days_under_minimum_flow": ("d", "days on which less than the minimum passes the intake"),
    "mean_delivered": ("m3 d-1", "water delivered to homes, mean of the season"),
    "mean_withdrawn": ("m3 d-1", "water withdrawn from rivers and reservoirs, mean of the season"),
    "mean_pumped": ("m3 d-1", "water pumped from wells, mean of the season"),
    "mean_effluent": ("m3 d-1", "treated wastewater returned, mean of the season"),
    "mean_overflowed": ("m3 d-1", "sewage and rain that overflowed untreated, mean of the season"),
}
"""Unit and meaning of each measure; names are those of `hydroloop.measures` where it has them.

`cut_share`, and `days_in_stage` beside these, are there where a scenario has drought stages.
"""

PURPOSES = ("homes", "workplaces", "yards")
_SUPPLIES = ("delivered", "to_work", "to_yards")
_MEANS = ("delivered", "withdrawn", "pumped", "effluent", "overflowed")
_ROUNDING = 1e-9


def season_table(
    scenarios: Sequence[Scenario],
    *,
    seeds: Sequence[int] | None = None,
    most: int = 5,
    forcing: SharedForcing | None = None,
) -> xr.Dataset:
    """Season measures of several scenarios.

    Runs them side by side, and keeps only what the season comes to: use shares at the taps, how
    well each town is supplied, mean flows. The days themselves are in a single run.

    Parameters
    ----------
    scenarios : sequence of Scenario
        One for each member; all with the same towns.
    seeds : sequence of int, optional
        Seed of each member's weather generator.
    most : int
        Highest use class; it holds `most` uses or more.
    forcing : SharedForcing, optional
        Where weather and inflow are kept between calls.

    Returns
    -------
    xarray.Dataset
        Names of `MEASURES`, dims town, use, purpose, and member last.

    Raises
    ------
    TableError
        If a CSV file of weather or river flow is wrong or does not reach over the season.
    InputError
        If the files hold too few years for a dry season or a minimum flow.
    RecordError
        If an account does not close, which would be a fault of hydroloop.
    AskError
        If `most` is out of bounds.

    Examples
    --------
    >>> import hydroloop as hl
    >>> dry = hl.read_scenario("first_town")
    >>> table = season_table([dry, dry.changed({"town.larkmill.people": 30000})])
    >>> bool(table.season_used_share.sel(town="penhollow").diff("member") > 0)
    True
    """
    parts, numbers = [], []
    for members in run_members(scenarios, seeds=seeds, forcing=forcing):
        parts.append(_table(members, most))
        numbers.append(members.numbers)
    whole = side_by_side(parts).isel(member=np.argsort(np.concatenate(numbers)))
    return whole.assign_coords(member=np.arange(len(scenarios)))


def side_by_side(parts: Sequence[xr.Dataset]) -> xr.Dataset:
    """Members of several tables, one after the other, with the towns and stages of all.

    Parameters
    ----------
    parts : sequence of xarray.Dataset
        Tables with a member dim.

    Returns
    -------
    xarray.Dataset
        One table, its towns in the order in which they first come; for what a member lacks see
        `at_places`.
    """
    if len(parts) == 1:
        return parts[0]
    places = [tuple(tuple(map(str, part[name].values)) if name in part.coords else ()
                    for name in ("town", "stage")) for part in parts]
    if len(set(places)) > 1:
        towns, stages = (list(dict.fromkeys(chain(*names))) for names in zip(*places, strict=True))
        parts = [at_places(part, towns, stages) for part in parts]
    return xr.concat(parts, "member", combine_attrs="override", data_vars="minimal",
                     coords="minimal", compat="override", join="exact")


def at_places(table: xr.Dataset, towns: Sequence[str], stages: Sequence[str]) -> xr.Dataset:
    """Measures with towns and drought stages that other runs have too, in a given order.

    Parameters
    ----------
    table : xarray.Dataset
        Season measures.
    towns, stages : sequence of str
        All that there are.

    Returns
    -------
    xarray.Dataset
        A town that it lacks is NaN; a stage that it lacks is never in force and cuts nothing.

    Examples
    --------
    >>> import hydroloop as hl
    >>> table = season_table([hl.read_scenario("first_town")])
    >>> at_places(table, list(table.town.values), ["watch"]).days_in_stage.values.tolist()
    [[0.0]]
    """
    table = table.reindex(town=list(towns))
    if not stages:
        return table
    supplied = table["reliability"].notnull()
    none = (0.0 * supplied.sum("town")).expand_dims(stage=list(stages))
    days = table["days_in_stage"].reindex(stage=list(stages)) if "days_in_stage" in table else none
    cut = table.get("cut_share", 0.0 * table["reliability"])
    return table.drop_dims("stage", errors="ignore").assign(
        days_in_stage=days.fillna(0.0), cut_share=cut.where(cut.notnull() | ~supplied, 0.0))


def operator_of(members: Members) -> Operator:
    """Operator of members whose account has been checked already."""
    network, ledger = members.network, members.first.works.ledger
    stores = set(network.stores)
    source, target = (np.array(ends, dtype=np.int64) for ends in (ledger.sources, ledger.targets))
    outside = tuple("" if a in stores and b in stores else b if a in stores else a
                    for a, b in zip(network.source, network.target, strict=True))
    water = Water(members.volume, members.rate, np.full(len(members.rate), members.step))
    return Operator(
        tuple(network.stores), tuple(network.flow), tuple(network.kind), source, target, outside,
        water, _used_before(network, members.used_before),
        plan(len(network.stores), source, target), members.edges,
        xr.DataArray(members.numbers, dims="member"), tuple(network.place), tuple(network.role),
        members.first.scenario.season.count_as,
    )  # fmt: skip


def _used_before(network: Network, given: dict[str, list[float]]) -> np.ndarray:
    width = max((len(shares) for shares in given.values()), default=0)
    table = np.zeros((len(network.flow), width + 1))
    names = list(network.flow)
    for name, shares in given.items():
        table[names.index(name), 1 : len(shares) + 1] = shares
    table[:, 0] = 1.0 - table[:, 1:].sum(axis=1)
    return table


def _table(members: Members, most: int) -> xr.Dataset:
    op, scenario = operator_of(members), members.first.scenario
    towns = list(scenario.town)
    flows = flows_of(members.network, towns)
    found = _at_taps(op, flows, most, scenario.season.warm_up)
    each = [_of_town(members, k, own) for k, own in enumerate(flows)]
    found |= {name: np.stack([one[name] for one in each]) for name in each[0]}
    data: dict[str, Any] = {}
    for name, values in found.items():
        units, long_name = MEASURES[name]
        inner = {"season_use_share": ("use",), "unmet_total": ("purpose",)}.get(name, ())
        data[name] = (("town", *inner, "member"), values,
                      {"units": units, "long_name": long_name})  # fmt: skip
    if scenario.stage:
        data["cut_share"] = (("town", "member"), _cut_share(members), dict(
            zip(("units", "long_name"), MEASURES["cut_share"], strict=True)))
        days = (members.stage_days > 0.0).sum(axis=0) * members.step
        data["days_in_stage"] = (("stage", "member"), days, {
            "units": "d", "long_name": "days for which the drought stage was in force"})
    coords = {"town": towns, "use": np.arange(most + 1), "purpose": list(PURPOSES)}
    return xr.Dataset(data, coords | ({"stage": list(scenario.stage)} if scenario.stage else {}))


def _at_taps(op: Operator, flows: list[Flows], most: int, warm_up: str) -> dict[str, np.ndarray]:
    """Use shares of what homes get, weighted by volume; town first, member last."""
    stores = np.unique(np.concatenate([op.source[own.delivered] for own in flows]))
    uses, _ = uses_at(op, stores, None, most, warm_up=warm_up)
    shares, unknown, mean = [], [], []
    for own in flows:
        at = np.searchsorted(stores, op.source[own.delivered])
        rate = op.water.rate[:, own.delivered]
        total = rate.sum(axis=(0, 1))
        with np.errstate(invalid="ignore", divide="ignore"):
            shares.append(np.stack([(part[1:, at] * rate).sum(axis=(0, 1)) / total
                                    for part in uses.share]))
            unknown.append((uses.unknown[1:, at] * rate).sum(axis=(0, 1)) / total)
            mean.append((uses.mean[1:, at] * rate).sum(axis=(0, 1)) / total)
    by_use = np.stack(shares)
    return {"season_use_share": by_use, "season_used_share": by_use[:, 1:].sum(axis=1),
            "season_unknown_share": np.stack(unknown), "season_mean_uses": np.stack(mean)}


def _of_town(members: Members, town: int, own: Flows) -> dict[str, np.ndarray]:
    rate, step = members.rate, members.step
    totals = {name: rate[:, getattr(own, name)].sum(axis=1) for name in (*_MEANS, *_SUPPLIES)}
    demand = members.demand[:, town]
    unmet = np.stack([demand[:, k] - totals[name] for k, name in enumerate(_SUPPLIES)], axis=1)
    unmet = np.where(unmet > _ROUNDING * demand, unmet, 0.0)
    short = unmet.sum(axis=1)
    asked, missing = demand.sum(axis=(0, 1)) * step, unmet.sum(axis=0) * step
    met = 1.0 - missing.sum(axis=0) / np.where(asked > 0.0, asked, 1.0)
    return {
        "reliability": reliability(short),
        "volume_reliability": met,
        "resilience": resilience(short),
        "vulnerability": vulnerability(short),
        "longest_failure": longest_failure(short) * step,
        "unmet_total": missing,
        "lowest_dilution": _lowest_dilution(rate, own),
        "days_under_minimum_flow": _days_under(members, town, own),
        **{f"mean_{name}": totals[name].mean(axis=0) for name in _MEANS},
    }


def _cut_share(members: Members) -> np.ndarray:
    cut, asked = (part.sum(axis=(0, 2)) for part in (members.cut, members.demand))
    return np.asarray(cut / np.where(cut > 0.0, cut + asked, 1.0))


def _lowest_dilution(rate: np.ndarray, own: Flows) -> np.ndarray:
    returned, river = rate[:, own.returned].sum(axis=1), rate[:, own.river_at_outfall].sum(axis=1)
    ratio = np.divide(river, returned, out=np.full_like(river, np.inf), where=returned > 0.0)
    lowest = ratio.min(axis=0)
    return np.where(np.isfinite(lowest), lowest, np.nan)


def _days_under(members: Members, town: int, own: Flows) -> np.ndarray:
    if not own.river_after_intake.any():
        return np.full(members.rate.shape[2], np.nan)
    left = members.rate[:, own.river_after_intake].sum(axis=1)
    mark = members.minimum_flow[:, town]
    return np.asarray((left < mark * (1.0 - _ROUNDING)).sum(axis=0) * members.step)
