"""All measures of a run in one table."""

from __future__ import annotations

import warnings
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from hydroloop.errors import HydroloopWarning
from hydroloop.measures.balance import balance
from hydroloop.measures.delivered import delivered, unmet
from hydroloop.measures.land_balance import land_balance
from hydroloop.measures.last import molecules_in_a_glass, time_since_use
from hydroloop.measures.lifetime import cycling
from hydroloop.measures.parcel import parcel_fate
from hydroloop.measures.residence import age_at, turnover_time
from hydroloop.measures.return_ratio import return_ratio
from hydroloop.measures.season import season_mean
from hydroloop.measures.supply import cut_share, days_in_stages, low_river, supply
from hydroloop.measures.towns import Town, find_towns
from hydroloop.measures.transit import transit_times
from hydroloop.measures.uses import use_shares
from hydroloop.record import flow_mask, step_days
from hydroloop.tracing import (
    USUAL_GATE,
    Operator,
    ages,
    count_uses,
    find_gate,
    label_leaving,
    operator,
)

_SEASON_AT_TAP = ("use_share", "unknown_share", "used_share", "mean_uses", "toilet_share")
_SEASON_AT_INTAKE = ("return_ratio", "effluent_share_at_intake")
# Order of dims in the table; what is not named comes later, and member last.
_DIMS = ("time", "glass", "town", "town_to", "purpose", "use", "days_ago", "days_before",
         "days_between", "end", "store", "place", "term", "land",
         "land_term", "stage")  # fmt: skip
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
    gate : str, sequence of str, or boolean mask, optional
        What counts as a use; flows into homes if left out.
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
        _tell_stray_outfalls(record, towns)
        daily = _daily(asked, towns)
        passes = long_run["lifetime_passes"].drop_vars("start").rename(start="town")
        whole += [daily, _season(record, daily), _glasses(asked, towns, daily, glass_dates),
                  _parcels(asked, towns), _travel(asked, towns), passes.to_dataset()]
    table = xr.merge(whole, compat="override", combine_attrs="override")
    table = table.transpose(*(dim for dim in _DIMS if dim in table.dims), ...)
    table["molecules_in_a_glass"] = xr.DataArray(
        molecules_in_a_glass(), attrs={"units": "1", "long_name": "molecules in 250 mL of water"})
    table.attrs |= {"warm_up_change": daily.attrs["warm_up_change"]} if towns else {}
    return table.assign_attrs(title=str(record.attrs.get("title", "")), gate=_said(gate), most=most)


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


def _tell_stray_outfalls(record: xr.Dataset, towns: list[Town]) -> None:
    """Warn of effluent that is counted at intakes, but to no town: its store lies in no town."""
    outfalls = flow_mask(record, kind="outfall")
    stray = outfalls & ~np.any([town.outfalls for town in towns], axis=0)
    if stray.any():
        names = ", ".join(f'"{name}"' for name in dict.fromkeys(record["source"].values[stray]))
        warnings.warn(
            f"The effluent of {names} belongs to no town: measures of a town's effluent leave it "
            "out, and are NaN for a town without an outfall. Name a store by its town: "
            f'"{towns[0].name}/{record["source"].values[stray][0]}".',
            HydroloopWarning, stacklevel=3)


def _daily(asked: _Asked, towns: list[Town]) -> xr.Dataset:
    record, op, warm_up = asked.record, asked.op, asked.warm_up
    counted = count_uses(op, asked.gate, asked.most, warm_up=warm_up)
    toilets = flow_mask(record, kind="home_use", to_role="toilets")
    # Of water that was used above the record nobody knows whether it passed a toilet.
    here = replace(op, used_before=np.ones((len(op.flows), 1)))
    flushed = count_uses(here, toilets, 1, warm_up=warm_up) if toilets.any() else None
    outfalls = flow_mask(record, kind="outfall")
    effluent = count_uses(op, outfalls, 1, warm_up=warm_up)
    label, mean_age = return_ratio(op), ages(op, warm_up=warm_up)["mean_age"]

    def one(town: Town) -> xr.Dataset:
        flows = {"delivered": town.taps, "withdrawn": town.intakes, "pumped": town.wells,
                 "effluent": town.outfalls, "overflowed": town.overflows}
        found = {**delivered(record, flows), **use_shares(op, counted, town.taps)}
        if "demand" in record and town.name in record["town"].values:
            found["unmet"] = unmet(record, town.name)
            demand = record["demand"].sel(town=town.name, drop=True)
            found.update(supply(record, found["unmet"], demand))
            if "stage_days" in record:
                found["cut_share"] = cut_share(record, town.name)
        found.update(low_river(record, town.name, flows))
        if outfalls.any() and not town.outfalls.any():
            found["effluent"] = found["effluent"] * np.nan  # somebody's, and nobody says whose
        if flushed is not None:
            found["toilet_share"] = use_shares(here, flushed, town.taps)["used_share"].assign_attrs(
                long_name="share of the water that has been in a toilet of the record before")
        found["age_at_tap"] = age_at(op, mean_age, town.taps)
        return xr.Dataset({**found, **_at_intake(op, town, (counted, effluent), label)})

    return _each(towns, one).assign_attrs(warm_up_change=counted.attrs["warm_up_change"])


def _at_intake(op: Operator, town: Town, counts: tuple[xr.Dataset, xr.Dataset],
               label: xr.DataArray) -> dict[str, xr.DataArray]:
    """Shares in the water that the intake draws; NaN for a town without one."""
    drawn, effluent = (use_shares(op, counted, town.drawn) for counted in counts)
    found = {"used_share_at_intake": drawn["used_share"], "mean_uses_at_intake": drawn["mean_uses"],
             "return_ratio": label_leaving(op, label, town.drawn).where(drawn["used_share"] >= 0),
             "effluent_share_at_intake": effluent["used_share"]}
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
        wet = _is_wet(op, town.mains)
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

    def one(town: Town) -> xr.Dataset:
        ends = op.source[town.outfalls & (op.source >= 0)]
        outlet = op.stores[int(ends[0])] if len(ends) else town.mains
        own = transit_times(op, town.drawn, [outlet]).isel(to=0, drop=True)
        taps = transit_times(op, town.outfalls, [other.mains for other in towns])
        taps = taps.drop_vars("to").rename(to="town_to").assign_coords(town_to=names)
        first, spread = _next_tap(taps, town.name)
        # Without an outfall nothing came out of one: no share, rather than a share of zero.
        taps["share"] = taps["share"].where(town.outfalls.any())
        found = {
            "intake_to_outfall_time": (own["time"], "mean transit time from intake to outfall"),
            "intake_to_outfall_share": (
                own["spread"], "share of the effluent by days since the intake"),
            "outfall_to_tap_time": (taps["time"], "mean time from the outfall to a town's tap"),
            "outfall_to_tap_share": (
                taps["share"], "share of that tap water that came out of the outfall"),
            "outfall_to_tap_spread": (
                spread, "share of the next town's tap water by days since the outfall"),
        }
        table = xr.Dataset({name: values.assign_attrs(long_name=words)
                            for name, (values, words) in found.items()})
        return table.assign_coords(next_town=first)

    return _each(towns, one)


def _next_tap(taps: xr.Dataset, own: str) -> tuple[str, xr.DataArray]:
    """The other town whose tap a town's effluent reaches first, if any, and how it gets there."""
    time = _over_members(taps["time"]).where(taps["town_to"] != own)
    spread = taps["spread"]
    if time.isnull().all():
        return "", spread.isel(town_to=0, drop=True) * 0.0
    first = int(time.argmin("town_to"))
    return str(taps["town_to"].values[first]), spread.isel(town_to=first, drop=True)


def _said(gate: Any) -> str:
    return USUAL_GATE if gate is None else gate if isinstance(gate, str) else "chosen flows"
