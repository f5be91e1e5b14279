"""All measures of a run in one table."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.measures.balance import balance
from hydroloop.measures.delivered import delivered
from hydroloop.measures.last import molecules_in_a_glass, time_since_use
from hydroloop.measures.parcel import parcel_fate
from hydroloop.measures.residence import age_at, turnover_time
from hydroloop.measures.returns import return_ratio
from hydroloop.measures.season import season_mean
from hydroloop.measures.transit import transit_time
from hydroloop.measures.uses import use_shares
from hydroloop.record import flow_mask
from hydroloop.tracing import Operator, count_uses, label_leaving, long_run, operator

_SEASON_AT_TAP = ("use_share", "unknown_share", "used_share", "mean_uses", "toilet_share")
_SEASON_AT_INTAKE = ("return_ratio", "effluent_share_at_intake")
_MOST_IN_TRACE = 12


def measures(record: xr.Dataset, scenario: Any = None, *, gate: Any = "home_use", most: int = 5,
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
        What counts as a use.
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
        If the gate is unknown or `most` is less than 1.
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
    warm_up = str(record.attrs.get("warm_up", "repeat"))
    towns = _towns(record, scenario)
    views = [_Town(record, op, town) for town in towns]
    whole = [balance(record), turnover_time(op).rename("turnover_time").to_dataset(),
             _long_run(op, gate)]
    if towns:
        daily = _daily(views, (gate, most, warm_up))
        glasses = _glasses(views, daily, (gate, most), glass_dates)
        whole += [daily, *_season(daily), glasses, _travel(views)]
    table = xr.merge(whole, compat="override", combine_attrs="drop")
    table["molecules_in_a_glass"] = xr.DataArray(
        molecules_in_a_glass(), attrs={"units": "1", "long_name": "molecules in 250 mL of water"})
    table = table.transpose("on", "time", "town", "place", "term", "use", "days_ago", ...,
                            missing_dims="ignore")
    return table.assign_attrs(title=str(record.attrs.get("title", "")), gate=_said(gate), most=most)


class _Town:
    """Flows of a record as one town sees them."""

    def __init__(self, record: xr.Dataset, op: Operator, name: str):
        self.record, self.op, self.name = record, op, name
        self.taps = flow_mask(record, kind="home_use", to_place=name)
        rivers = flow_mask(record, kind="intake", to_place=name, from_role=("reach", "reservoir"))
        wells = flow_mask(record, kind="intake", to_place=name)
        self.intake = rivers if rivers.any() else wells
        self.main = op.stores[int(op.source[np.argmax(self.taps)])]

    @property
    def first_store(self) -> str:
        """Where its raw water arrives; the mains where it has no intake."""
        if not self.intake.any():
            return self.main
        return self.op.stores[int(self.op.target[np.argmax(self.intake)])]


def _towns(record: xr.Dataset, scenario: Any) -> list[str]:
    """Places whose homes are supplied, in the order of the scenario or of the record."""
    homes = record["target"].values[flow_mask(record, kind="home_use")]
    stores = record["store"].values.tolist()
    places = dict(zip(stores, record["place"].values.tolist(), strict=True))
    found = [*dict.fromkeys(places[home] for home in homes.tolist() if home in places)]
    order = list(scenario.town) if scenario is not None else found
    return [town for town in order if town in found]


def _each(views: list[_Town], act: Callable[[_Town], xr.Dataset]) -> xr.Dataset:
    """The same measure of every town, along the dim town."""
    names = [view.name for view in views]
    made = [act(view) for view in views]
    return xr.concat(made, xr.IndexVariable("town", names), join="outer", combine_attrs="override")


def _daily(views: list[_Town], asked: tuple[Any, int, str]) -> xr.Dataset:
    gate, most, warm_up = asked
    op, record = views[0].op, views[0].record
    counted = _count(op, gate, most, warm_up)
    gates = {"toilet_share": flow_mask(record, kind="home_use", to_role="toilets"),
             "effluent_share_at_intake": flow_mask(record, kind="outfall")}
    others = {name: _count(op, mask, 1, warm_up) if mask.any() else None
              for name, mask in gates.items()}
    returns = return_ratio(op)

    def one(view: _Town) -> xr.Dataset:
        tap = use_shares(op, counted, view.taps)
        found: dict[Any, xr.DataArray] = {**delivered(record, view.name), **tap}
        if others["toilet_share"] is not None:
            found["toilet_share"] = use_shares(op, others["toilet_share"], view.taps)["used_share"]
        found["age_at_tap"] = age_at(op, view.taps, warm_up)
        found |= _at_intake(view, counted, others["effluent_share_at_intake"], returns)
        return xr.Dataset(found)

    return _each(views, one)


def _count(op: Operator, gate: Any, most: int, warm_up: str) -> xr.Dataset:
    """Shares by uses; more classes are traced than are shown, so that the mean stays exact."""
    counted = count_uses(op, gate, max(most, _MOST_IN_TRACE) if most > 1 else 1, warm_up=warm_up)
    if counted.sizes["use"] <= most + 1:
        return counted
    share = counted["share"]
    last = share.isel(use=slice(most, None)).sum("use").expand_dims(use=[most])
    return counted.drop_dims("use").assign(
        share=xr.concat([share.isel(use=slice(0, most)), last], "use"))


def _at_intake(view: _Town, counted: xr.Dataset, effluent: xr.Dataset | None,
               returns: xr.DataArray) -> dict[str, xr.DataArray]:
    """Shares in the water that the intake draws; nan for a town without one."""
    op = view.op
    drawn = use_shares(op, counted, view.intake if view.intake.any() else view.taps)
    found = {"used_share_at_intake": drawn["used_share"], "mean_uses_at_intake": drawn["mean_uses"],
             "return_ratio": label_leaving(op, returns, view.intake | view.taps)}
    if view.intake.any():
        found["return_ratio"] = label_leaving(op, returns, view.intake)
    if effluent is not None:
        found["effluent_share_at_intake"] = use_shares(op, effluent, view.intake | (
            view.taps & ~view.intake.any()))["used_share"]
    words = {"used_share_at_intake": "used share of the water at the intake",
             "mean_uses_at_intake": "mean earlier uses of the water at the intake",
             "return_ratio": "accumulated return ratio at the intake",
             "effluent_share_at_intake": "share of the water at the intake that was effluent"}
    if not view.intake.any():
        found = {name: values * np.nan for name, values in found.items()}
    return {name: values.assign_attrs(units="1", long_name=words[name])
            for name, values in found.items()}


def _season(daily: xr.Dataset) -> list[xr.Dataset]:
    drawn = daily["withdrawn"] + daily["pumped"]
    tap = {f"season_{name}": season_mean(daily[name], daily["delivered"])
           for name in _SEASON_AT_TAP if name in daily}
    intake = {f"season_{name}": season_mean(daily[name], drawn)
              for name in _SEASON_AT_INTAKE if name in daily}
    return [xr.Dataset(tap), xr.Dataset(intake)]


def _glasses(views: list[_Town], daily: xr.Dataset, asked: tuple[Any, int],
             more_dates: Sequence[Any]) -> xr.Dataset:
    """Each town's most-used glass taken apart, glasses of other dates, and a parcel's fate."""
    gate, most = asked
    record, op = views[0].record, views[0].op
    roles = dict(zip(record["store"].values.tolist(), record["role"].values.tolist(), strict=True))
    used = daily["used_share"]
    worst = (used.mean("member") if "member" in used.dims else used).fillna(-1.0)

    def one(view: _Town) -> xr.Dataset:
        day = op.edge[int(worst.sel(town=view.name).values.argmax())]
        first = time_since_use(op, view.main, [day, *more_dates], gate)
        glass = first.isel(on=0, drop=True).rename(homes_last_month="molecules_in_homes_last_month")
        glass["glass_date"] = xr.DataArray(day, attrs={"long_name": "day with the most used water"})
        if len(more_dates):
            others = first.isel(on=slice(1, None)).rename(on="glass", days_ago="days_before")
            glass = glass.merge(others.rename({name: f"glass_{name}" for name in others.data_vars}))
        fate = parcel_fate(op, roles, view.first_store, op.edge[0], gate=gate, most=most)
        glass["parcel_date"] = xr.DataArray(op.edge[0], attrs={"long_name": "day of the release"})
        return glass.merge(fate)

    made = _each(views, one)
    filled = {name: made[name].fillna(0.0) for name in made.data_vars
              if str(name).endswith("last_use_share")}
    return made.assign(filled)


def _travel(views: list[_Town]) -> xr.Dataset:
    """Transit time from each intake to the own outfall, and from each outfall to every tap."""
    record, op = views[0].record, views[0].op

    def one(view: _Town) -> xr.Dataset:
        outfall = flow_mask(record, kind="outfall", from_place=view.name)
        outlet = op.stores[int(op.source[np.argmax(outfall)])] if outfall.any() else view.main
        own = transit_time(op, view.intake, outlet)
        others = [transit_time(op, outfall, other.main) for other in views]
        next_taps = xr.concat(others, xr.IndexVariable("town_to", [v.name for v in views]),
                              combine_attrs="override")
        return xr.Dataset({
            "intake_to_outfall_time": own["time"].assign_attrs(
                units="d", long_name="mean transit time from intake to outfall"),
            "outfall_to_tap_time": next_taps["time"].assign_attrs(
                units="d", long_name="mean time from the outfall to another town's tap"),
            "outfall_to_tap_share": next_taps["share"].assign_attrs(
                units="1", long_name="share of that tap water that came out of the outfall"),
        })

    return _each(views, one)


def _long_run(op: Operator, gate: Any) -> xr.Dataset:
    return long_run(op, gate)[["cycling_index", "path_length"]]


def _said(gate: Any) -> str:
    return gate if isinstance(gate, str) else "chosen flows"
