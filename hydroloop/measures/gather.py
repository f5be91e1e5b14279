"""All measures of a run in one table."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from hydroloop.errors import AskError
from hydroloop.gates import USES
from hydroloop.measures.balance import balance
from hydroloop.measures.delivered import delivered, reclaimed_share, unmet
from hydroloop.measures.land_balance import land_balance
from hydroloop.measures.last import molecules_in_a_glass, time_since_use
from hydroloop.measures.lifetime import cycling
from hydroloop.measures.parcel import parcel_fate
from hydroloop.measures.residence import turnover_time
from hydroloop.measures.return_ratio import return_ratio
from hydroloop.measures.season import season_mean
from hydroloop.measures.spills import spilled
from hydroloop.measures.supply import cut_share, days_in_stages, low_river, supply
from hydroloop.measures.towns import Town, find_towns, tell_stray_outfalls
from hydroloop.measures.transit import transit_times
from hydroloop.measures.uses import use_shares, used_because, used_in_rivers
from hydroloop.measures.water_age import rain_ages, water_ages
from hydroloop.record import flow_mask, flow_total, step_days
from hydroloop.tracing import Operator, as_counted, count_uses, find_gate, label_leaving, operator

_SEASON_AT_TAP = ("use_share", "unknown_share", "used_share", "mean_uses", "toilet_share",
                  "share_as", "used_share_by_way", "used_share_by_use")
_SEASON_AT_INTAKE = ("used_share_at_intake", "mean_uses_at_intake", "return_ratio",
                     "effluent_share_at_intake")
# Order of dims in the table; what is not named comes later, and member last.
_DIMS = ("time", "glass", "part", "town", "town_to", "purpose", "count_as", "use",
         "days_ago", "days_before", "days_between", "end", "store", "place", "term",
         "land", "land_term", "stage", "used_in", "way", "used_for")  # fmt: skip
_LEAST = 1e-6  # smaller shares are told no way of [-]
_AT_INTAKE = {
    "used_share_at_intake": "used share of the water at the intake",
    "mean_uses_at_intake": "mean earlier uses of the water at the intake",
    "return_ratio": "accumulated return ratio at the intake",
    "effluent_share_at_intake": "share of the water at the intake that was effluent",
}


class _Asked(NamedTuple):
    """A record with what is asked of it."""

    record: xr.Dataset
    op: Operator
    gate: Any
    most: int
    warm_up: str


def measures(record: xr.Dataset, scenario: Any = None, *, gate: Any = None, most: int = 5,
             glass_dates: Sequence[Any] = ()) -> xr.Dataset:
    """All measures of a run.

    One table with everything that the reports and pictures show. Each measure is defined once, in
    the documentation, *Measures*.

    Parameters
    ----------
    record : xarray.Dataset
        Water record.
    scenario : Scenario, optional
        The scenario it came from; its towns come in the order of the file.
    gate : str, sequence of str, or boolean mask
        What counts as a use: a ready gate, kinds or names of flows, or one truth value per flow;
        by default what the record's scenario says.
    most : int
        Highest use class; it holds `most` uses or more.
    glass_dates : sequence of datetime
        Dates for which every town's glass is taken apart, besides its most-used day.

    Returns
    -------
    xarray.Dataset
        Variables with the dims time, town, use, store, place and others; each has its unit and its
        meaning as attributes. Member last where the record has it.

    Raises
    ------
    AskError
        If the gate is unknown, `most` is out of bounds, or a town has no water on a date asked for.
    RecordError
        If the record breaks its own rules.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> table = hl.measures(hl.simulate(scenario), scenario)
    >>> bool(table.season_used_share.sel(town="penhollow") > 0)
    True
    """
    op = operator(record)
    find_gate(op, gate)
    asked = _Asked(record, op, gate, most, str(record.attrs.get("warm_up", "repeat")))
    towns = find_towns(record, scenario.town if scenario is not None else None)
    long_run = cycling(op, gate, [town.first for town in towns])
    whole = [balance(record), land_balance(record),
             turnover_time(op).rename("turnover_time").to_dataset(),
             long_run.drop_dims("start", errors="ignore")]
    if "stage_days" in record:
        whole.append(days_in_stages(record).rename("days_in_stage").to_dataset())
    if towns:
        tell_stray_outfalls(record, towns)
        daily = _daily(asked, towns)
        passes = long_run["lifetime_passes"].drop_vars("start").rename(start="town")
        whole += [daily, _season(record, daily), _glasses(asked, towns, daily, glass_dates),
                  _parcels(asked, towns), _travel(asked, towns), _rain(op, towns),
                  _each(towns, lambda town: reclaimed_share(record, town.reclaimed, town.takes)),
                  passes.to_dataset()]
    table = xr.merge(whole, compat="override", combine_attrs="override")
    table = table.transpose(*(dim for dim in _DIMS if dim in table.dims), ...)
    table["molecules_in_a_glass"] = xr.DataArray(
        molecules_in_a_glass(), attrs={"units": "1", "long_name": "molecules in 250 mL of water"})
    table.attrs |= {"warm_up_change": daily.attrs["warm_up_change"]} if towns else {}
    return table.assign_attrs(title=str(record.attrs.get("title", "")), gate=_said(op, gate),
                              most=most)


def _each(towns: list[Town], act: Callable[[Town], xr.Dataset]) -> xr.Dataset:
    """The same measure of every town, along the dim town."""
    names = xr.IndexVariable("town", [town.name for town in towns])
    return xr.concat([act(town) for town in towns], names, join="outer", combine_attrs="override")


def _each_with_water(asked: _Asked, stores: dict[Town, tuple[str, np.datetime64]],
                     act: Callable[[str, np.datetime64], xr.Dataset]) -> xr.Dataset:
    """The same measure of every town from a store and a day; NaN for a town with no such day."""
    op = asked.op
    found = {town: act(*at) for town, at in stores.items() if not np.isnat(at[1])}
    if not found:  # any water shows which variables there are
        step, place = np.unravel_index(int(op.throughput.argmax()), op.throughput.shape)[:2]
        pattern = act(op.stores[place], op.edge[step])
    else:
        pattern = next(iter(found.values()))
    nothing = xr.full_like(pattern, np.nan, dtype=float)
    return _each(list(stores), lambda town: found.get(town, nothing))


def _daily(asked: _Asked, towns: list[Town]) -> xr.Dataset:
    record, op, warm_up = asked.record, asked.op, asked.warm_up
    counted, mine = count_uses(op, asked.gate, asked.most, warm_up=warm_up), as_counted(
        op, asked.gate)
    outfalls = flow_mask(record, kind="outfall")
    others = {name: _counted_as(op, name, warm_up) for name in USES}
    label = return_ratio(op)
    ages = water_ages(op, [town.taps for town in towns])

    def one(town: Town) -> xr.Dataset:
        flows = {"delivered": town.taps, "withdrawn": town.intakes, "pumped": town.wells,
                 "effluent": town.outfalls, "overflowed": town.overflows,
                 "bypassed": town.bypasses, "reclaimed_to_supply": town.reclaimed}
        found = {**delivered(record, flows), **use_shares(mine, counted, town.taps)}
        if "demand" in record and town.name in record["town"].values:
            found["unmet"] = unmet(record, town.name)
            demand = record["demand"].sel(town=town.name, drop=True)
            found.update(supply(record, found["unmet"], demand))
            if "stage_days" in record:
                found["cut_share"] = cut_share(record, town.name)
        found.update(low_river(record, town.name, flows))
        if outfalls.any() and not town.outfalls.any():
            found["effluent"] = found["effluent"] * np.nan  # somebody's, and nobody says whose
        found |= _spills(op, found)
        found["share_as"] = _shares_as(op, others, town.taps)
        if others["toilet"] is not None:
            flushed = found["share_as"].sel(count_as="toilet", drop=True)
            found["toilet_share"] = flushed.assign_attrs(
                long_name="share of the water that has been in a toilet of the record before")
        found.update(ages.isel(town=towns.index(town)).data_vars)
        plant = others["wastewater-plant"]
        return xr.Dataset({**found, **_at_intake(op, town, ((mine, counted), plant), label)})

    parts = used_because(op, {one.name: one.taps for one in towns}, asked.gate, asked.most, warm_up)
    rivers = used_in_rivers(record, mine, counted)
    return _each(towns, one).merge(parts).merge(rivers).assign_attrs(counted.attrs)


def _counted_as(op: Operator, name: str, warm_up: str) -> tuple[Operator, xr.Dataset] | None:
    """Water by whether it was used, by a ready gate; None where the record has no such flow."""
    try:
        gate = find_gate(op, name)
    except AskError:
        return None
    op = as_counted(op, name)
    return op, count_uses(op, gate, 1, warm_up=warm_up)


def _shares_as(op: Operator, others: Mapping[str, tuple[Operator, xr.Dataset] | None],
               taps: np.ndarray) -> xr.DataArray:
    """Used share at some taps by every ready gate; NaN where the record has no such flow."""
    none = _nan(op, {"time": op.edge[:-1]})
    rows = [none if found is None else use_shares(*found, taps)["used_share"]
            for found in others.values()]
    named = xr.IndexVariable("count_as", list(others))
    return xr.concat(xr.broadcast(*rows), named).assign_attrs(
        units="1", long_name="used share by what counts as a use")


def _nan(op: Operator, coords: Mapping[str, Any]) -> xr.DataArray:
    """NaN along some coordinates, and along the members if there are any."""
    more = {} if op.members is None else {"member": op.members.values}
    whole = {**coords, **more}
    return xr.DataArray(np.nan, whole, tuple(whole))


def _spills(op: Operator, found: Mapping[Any, xr.DataArray]) -> dict[Any, xr.DataArray]:
    """Volume, days and largest flow of overflow and of bypass."""
    words = (("volume", "m3", "over the season"), ("days", "d", "for how long"),
             ("largest", "m3 d-1", "largest of a step"))
    return {f"{name}_{part}": found[name].isel(time=0, drop=True).copy(data=values).assign_attrs(
                units=units, long_name=f"{found[name].attrs['long_name']}, {said}")
            for name in ("overflowed", "bypassed")
            for (part, units, said), values in zip(
                words, spilled(found[name].values, op.water.days), strict=True)}


def _at_intake(op: Operator, town: Town,
               counts: tuple[tuple[Operator, xr.Dataset], tuple[Operator, xr.Dataset] | None],
               label: xr.DataArray) -> dict[str, xr.DataArray]:
    """Shares in the water that the intake draws; NaN for a town without one."""
    counted, plant = counts
    drawn = use_shares(*counted, town.drawn)
    nothing = drawn["used_share"] * np.nan
    found = {"used_share_at_intake": drawn["used_share"], "mean_uses_at_intake": drawn["mean_uses"],
             "return_ratio": label_leaving(op, label, town.intakes).where(
                 (drawn["used_share"] >= 0) & town.intakes.any()),
             "effluent_share_at_intake": nothing if plant is None else use_shares(
                 *plant, town.drawn)["used_share"]}
    return {name: values.assign_attrs(units="1", long_name=_AT_INTAKE[name])
            for name, values in found.items()}


def _season(record: xr.Dataset, daily: xr.Dataset) -> xr.Dataset:
    days = xr.DataArray(np.asarray(step_days(record)), {"time": record["time"]}, ("time",))
    # At an intake the water counts that is drawn there: out of the river, if the town has one.
    from_river = daily["withdrawn"].sum("time") > 0
    drawn = daily["withdrawn"].where(from_river, daily["pumped"]) * days
    at_tap = daily["delivered"] * days
    weights = {**dict.fromkeys(_SEASON_AT_TAP, at_tap), **dict.fromkeys(_SEASON_AT_INTAKE, drawn)}
    return xr.Dataset({f"season_{name}": season_mean(daily[name], weight)
                       for name, weight in weights.items() if name in daily})


def _glasses(asked: _Asked, towns: list[Town], daily: xr.Dataset,
             more_dates: Sequence[Any]) -> xr.Dataset:
    """Each town's most-used glass taken apart, and glasses of other dates."""
    days = _glass_days(asked, towns, daily)

    def one(store: str, day: np.datetime64) -> xr.Dataset:
        first = time_since_use(asked.op, store, [day, *more_dates], asked.gate)
        glass = first.isel(on=0, drop=True).rename(homes_last_month="molecules_in_homes_last_month")
        if len(more_dates):
            others = first.isel(on=slice(1, None)).rename(on="glass", days_ago="days_before")
            glass = glass.merge(others.rename({name: f"glass_{name}" for name in others.data_vars}))
        return glass

    made = _each_with_water(asked, {town: (town.mains, days[town.name]) for town in towns}, one)
    date = xr.DataArray([days[town.name] for town in towns], {"town": made["town"]}, ("town",),
                        attrs={"long_name": "day with the most used water"})
    # Towns have their days at different times: beyond a record's beginning nothing was used.
    filled = {name: made[name].fillna(0.0).where(date.notnull()).assign_attrs(made[name].attrs)
              for name in made.data_vars if str(name).endswith("last_use_share")}
    return made.assign(filled).assign(glass_date=date)


def _glass_days(asked: _Asked, towns: list[Town], daily: xr.Dataset) -> dict[str, np.datetime64]:
    """Day on which each town's tap water was used most, and the record knows when, if it can."""
    op = asked.op
    known = count_uses(op, asked.gate, 1, warm_up="none")
    days = {}
    for town in towns:
        shares = (daily["used_share"].sel(town=town.name),
                  use_shares(op, known, town.taps)["used_share"])  # fmt: skip
        used, dated = (_over_members(share).fillna(-1.0).values.round(9) for share in shares)
        # Water that only stands in the mains is nobody's glass.
        tapped = bool((daily["delivered"].sel(town=town.name) > 0.0).any())
        wet = _is_wet(op, town.mains) & tapped
        used, dated = (np.where(wet, part, -1.0) for part in (used, dated))
        is_known = dated >= 0.9 * used
        choice = np.where(is_known, used, -1.0) if (is_known & (used > 0)).any() else used
        best = int(np.argmax(choice))
        days[town.name] = op.edge[best] if choice[best] >= 0 else np.datetime64("NaT", "ns")
    return days


def _is_wet(op: Operator, store: str) -> np.ndarray:
    """Steps in which a store holds or receives water; none if there is no such store."""
    if store not in op.stores:
        return np.zeros(op.shape[0], dtype=bool)
    return np.asarray((op.throughput[:, op.stores.index(store)] > 0).any(axis=1))


def _over_members(share: xr.DataArray) -> xr.DataArray:
    return share.mean("member") if "member" in share.dims else share


def _parcels(asked: _Asked, towns: list[Town]) -> xr.Dataset:
    """Fate of a parcel that is released at each town's intake as soon as there is water."""
    record, op = asked.record, asked.op
    roles = dict(zip(record["store"].values.tolist(), record["role"].values.tolist(), strict=True))

    def fate(store: str, day: np.datetime64) -> xr.Dataset:
        return parcel_fate(op, roles, store, day, gate=asked.gate, most=asked.most)

    stores = {}
    for town in towns:
        wet = _is_wet(op, town.first)
        day = op.edge[int(np.argmax(wet))] if wet.any() else np.datetime64("NaT", "ns")
        stores[town] = (town.first, day)
    date = xr.DataArray([day for _, day in stores.values()], dims="town",
                        attrs={"long_name": "day of the release"})
    return _each_with_water(asked, stores, fate).assign(parcel_date=date)


def _travel(asked: _Asked, towns: list[Town]) -> xr.Dataset:
    """Transit time from each intake to the own outfall, and from each outfall to every tap."""
    op, names = asked.op, [town.name for town in towns]
    places = np.array([*op.places, ""])
    taps = [town.taps for town in towns]
    taken = [flow_total(asked.record, flows) for flows in taps]

    def one(town: Town) -> xr.Dataset:
        own = transit_times(op, town.drawn, [town.outfalls], places[op.source] == town.name)
        far = transit_times(op, town.outfalls, taps)
        far = far.rename(to="town_to").assign_coords(town_to=names)
        came, late = _came_from(asked, town, (towns, taken), float(far["days_between"][-1]))
        first, spread = _next_tap(far["time"].sel(part=0.5, drop=True), far["arrived"], town.name)
        found = {
            "intake_to_outfall_time": (
                own["time"].isel(to=0, drop=True), "transit time from intake to outfall"),
            "intake_to_outfall_share": (
                own["arrived"].isel(to=0, drop=True),
                "share of the water taken in that reached the outfall, by days"),
            "intake_to_outfall_ground": (
                own["ground"], "share of the water taken in that went into the ground"),
            "intake_to_outfall_pending": (
                own["pending"], "share of the water taken in that has not arrived"),
            "outfall_to_tap_time": (far["time"], "transit time from the outfall to a town's tap"),
            "outfall_to_tap_share": (came, "share of that tap water that came out of the outfall"),
            "outfall_to_tap_ground": (
                (1.0 - far["share"].fillna(0.0) / late.where(late > _LEAST)).clip(0.0, 1.0),
                "part of it that came through the ground, or took longer than it was followed"),
            "outfall_to_tap_pending": (
                far["pending"], "share of the effluent that has not arrived at any tap"),
            "outfall_to_tap_spread": (
                spread, "share of the effluent at the next town's tap, by days"),
        }
        table = xr.Dataset({name: values.assign_attrs(long_name=words)
                            for name, (values, words) in found.items()})
        return table.assign_coords(next_town=first)

    return _each(towns, one)


def _rain(op: Operator, towns: list[Town]) -> xr.Dataset:
    ages = rain_ages(op, [town.taps for town in towns])
    return ages.assign_coords(town=[town.name for town in towns])


def _came_from(asked: _Asked, town: Town, drawn: tuple[list[Town], list[xr.DataArray]],
               days: float) -> tuple[xr.DataArray, xr.DataArray]:
    """Part of every town's tap water that has come out of one town's outfall, whatever its way.

    Of the season, and of the time after its first days. `drawn` is the towns and what they take.
    """
    towns, taken = drawn
    op = replace(asked.op, used_before=np.ones((len(asked.op.flows), 1)))
    names = xr.IndexVariable("town_to", [other.name for other in towns])
    if not town.outfalls.any():
        # Without an outfall nothing came out of one: no share, rather than a share of zero.
        return _nan(op, {"town_to": names}), _nan(op, {"town_to": names})
    counted = count_uses(op, town.outfalls, 1, warm_up=asked.warm_up)
    step = xr.DataArray(op.water.days, {"time": op.edge[:-1]}, ("time",))
    late = step.where((op.edge[:-1] - op.edge[0]) / np.timedelta64(1, "D") > days, 0.0)
    shares = [use_shares(op, counted, other.taps)["used_share"] for other in towns]
    whole, rest = (xr.concat([season_mean(share, rate * weight)
                              for share, rate in zip(shares, taken, strict=True)], names)
                   for weight in (step, late))
    return whole.fillna(0.0), rest


def _next_tap(time: xr.DataArray, spread: xr.DataArray, own: str) -> tuple[str, xr.DataArray]:
    """The other town whose tap a town's effluent reaches first, if any, and how it gets there."""
    time = _over_members(time).where(time["town_to"] != own)
    if time.isnull().all():
        return "", spread.isel(town_to=0, drop=True) * 0.0
    first = int(time.argmin("town_to"))
    return str(time["town_to"].values[first]), spread.isel(town_to=first, drop=True)


def _said(op: Operator, gate: Any) -> str:
    return op.count_as if gate is None else gate if isinstance(gate, str) else "chosen flows"
