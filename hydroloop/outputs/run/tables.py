"""The tables of a run."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.gates import USES
from hydroloop.glossary import term
from hydroloop.outputs.document.table import Column, Table, adding_up, places_column
from hydroloop.outputs.run.because_tables import dates
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.scenario.inputs import inputs
from hydroloop.studies.separation import CAUGHT, separations

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


def _named(result: Result) -> Column:
    """The towns, as the file and as people call them."""
    return places_column("town", result.towns, result.names)


def towns(result: Result) -> Table:
    """Each town in one row: its water, how much was used before, and how often."""
    record, names = result.record, result.towns
    people = [float(result.scenario.town[town].people) for town in names]
    worst = [float(result.table["used_share"].sel(town=town).max()) for town in names]
    return Table("towns", f"The towns, {record.attrs.get('title', '')}", [
        _named(result),
        Column("people", people, "count"),
        Column("tap water to homes, mean", _mean(result, "delivered"), "flow", "delivered"),
        Column("water taken in, mean", _total(result, "withdrawn", "pumped"), "flow", "withdrawn"),
        Column("treated wastewater, mean", _mean(result, "effluent"), "flow", "effluent"),
        *map(result.column, ("season_used_share", "season_mean_uses", "season_return_ratio")),
        Column("used share, most-used day", worst, "share", "most_used_share"),
        Column("most-used day", [str(result.most_used_day(town))[:10] if used > 1e-9 else ""
                                 for town, used in zip(names, worst, strict=True)]),
        *map(result.column, ("season_toilet_share", "last_use_median", "season_unknown_share",
                             "parcel_passes")),
    ])


def summary(result: Result) -> Table:
    """Of the table of towns, what fits on a screen."""
    table = towns(result)
    keys = ("town", "people", "delivered", "most_used_share", "most_used_day",
            "season_toilet_share", "last_use_median", "parcel_passes")
    return Table(table.name, table.title, [c for c in table.columns if c.known_as in keys])


def _mean(result: Result, name: str) -> list[float]:
    return [float(result.table[name].sel(town=town).mean()) for town in result.towns]


def _total(result: Result, *names: str) -> list[float]:
    return [sum(parts) for parts in zip(*(_mean(result, name) for name in names), strict=True)]


def uses(result: Result) -> Table:
    """Share of the season's tap water by number of earlier uses."""
    share = result.table["season_use_share"]
    last = int(share["use"][-1])
    names = [f"{use} or more uses" if use == last else f"{use} uses".replace("1 uses", "1 use")
             for use in range(last + 1)]
    columns = [Column(name, share.sel(use=use).values.tolist(), "share")
               for use, name in enumerate(names)]
    return Table("uses", "Tap water by number of earlier uses, season", [
        _named(result), *columns,
        Column("unknown past", result.values("season_unknown_share"), "share")])


def days(result: Result) -> Table:
    """Every day of every town."""
    table, names = result.table, result.towns
    time = dates(table["time"].values)

    names_of = ("delivered", "withdrawn", "pumped", "effluent", "river_flow_at_intake",
                "used_share", "mean_uses", "used_share_at_intake", "mean_uses_at_intake",
                "return_ratio", "toilet_share", "unknown_share", "water_age", "overflowed",
                "bypassed")
    return Table("days", "Day by day", [
        Column("town", np.repeat(names, len(time)).tolist()),
        Column("date", np.tile(time, len(names)).tolist()),
        *(result.column(name, table[name].transpose("town", "time").values.ravel())
          for name in names_of if name in table)])


def last_use(result: Result) -> Table:
    """Share of each town's glass by days since its last use."""
    share = result.table["last_use_share"].transpose("town", "days_ago")
    ago, days_of = share["days_ago"].values, [str(result.glass_day(t))[:10] for t in result.towns]
    town, day = np.nonzero(share.values > 0.0)
    return Table("last_use", "Time since the last use of each town's glass", [
        Column("town", np.array(result.towns)[town].tolist()),
        Column("glass drawn on", np.array(days_of)[town].tolist()),
        Column("last use, time ago", ago[day].tolist(), "duration"),
        Column("share of the glass", share.values[town, day].tolist(), "share")])


def parcels(result: Result) -> Table:
    """What became of a parcel of water that was released at each intake on the first day."""
    table = result.table
    ends = [str(end) for end in table["end"].values]
    return Table("parcels", "A parcel released at each intake, by season's end", [
        _named(result),
        Column("released on", [str(table["parcel_date"].sel(town=town).values)[:10]
                               for town in result.towns]),
        Column("mean uses", result.values("parcel_passes"), "number"),
        *(Column(end, [result.value("parcel_end_share", town=town, end=end)
                       for town in result.towns], "share") for end in ends)])


def stores(result: Result) -> Table:
    """Every store: what it is, what it holds, and how long water stays."""
    record = result.record
    mean = record["volume"].mean("edge").values
    words = record["label"].values if "label" in record else record["store"].values
    return Table("stores", "Every store of the account", [
        Column("store", record["store"].values.tolist()),
        Column("in words", words.tolist()),
        Column("place", record["place"].values.tolist()),
        Column("part", record["role"].values.tolist()),
        Column("mean volume", mean.tolist(), "volume"),
        Column("turnover time", _turnover(result).tolist(), "duration")])


def times(result: Result) -> Table:
    """How long water stays: in each town's parts, from plant to tap, from intake to outfall."""
    columns = [_named(result)]
    for part, roles in _WORKS.items():
        stay = [_stay(result, town, roles) for town in result.towns]
        columns.append(Column(f"turnover of the {part}", stay, "duration",
                              f"turnover_of_{part.replace(' ', '_')}"))
    half, tenth, most = (result.values("intake_to_outfall_time", part=part)
                         for part in (0.5, 0.1, 0.9))
    return Table("times", "How long water stays", [
        *columns,
        *map(result.column, ("season_water_age", "season_water_age_oldest")),
        Column("intake to outfall, median", half, "duration", "intake_to_outfall_median"),
        Column("intake to outfall, a tenth within", tenth, "duration", "intake_to_outfall_tenth"),
        Column("intake to outfall, nine tenths within", most, "duration",
               "intake_to_outfall_nine_tenths"),
        *map(result.column, ("intake_to_outfall_ground", "intake_to_outfall_pending",
                             "rain_age_median", "rain_age_young"))])


def reuse(result: Result) -> Table:
    """The numbers that are all called percent: three at the intake, two of them at the tap too."""
    def column(place: str, name: str, row: str) -> Column:
        return replace(result.column(name), name=f"at the {place}: {term(row).with_symbol}")

    back = result.column("season_reclaimed_share")
    return Table("reuse", "Three numbers that are all called percent", [
        _named(result),
        column("intake", "season_used_share_at_intake", "used_share"),
        column("intake", "season_mean_uses_at_intake", "mean_uses"),
        column("intake", "season_return_ratio", "return_ratio"),
        replace(back, is_shown=any(share > 0.0 for share in back.values)),
        column("tap", "season_used_share", "used_share"),
        column("tap", "season_mean_uses", "mean_uses")])


def counted(result: Result) -> Table:
    """Used share of the tap water by each of the things that may count as a use."""
    return Table("counted", "What counts as a use", [
        _named(result),
        *(Column(use.through, result.values("season_share_as", count_as=name), "share",
                 name.replace("-", "_"))
          for name, use in USES.items())])


def untreated(result: Result) -> Table:
    """Overflow and bypass: how much sewage was not treated, or not in full."""
    return Table("untreated", "Sewage not treated, or not in full", [
        _named(result),
        *(replace(result.column(f"{name}_{part}"), is_shown=any(
            value > 0.0 for value in result.values(f"{name}_volume")))
          for name in ("overflowed", "bypassed") for part in ("volume", "days", "largest"))])


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
    share, ground = (result.table[f"outfall_to_tap_{name}"].transpose(*order).values
                     for name in ("share", "ground"))
    time = result.table["outfall_to_tap_time"].transpose("part", *order)
    at = np.nonzero(share > _LEAST_SHARE)
    begins, ends = ([str(result.table[dim].values[k]) for k in places]
                    for dim, places in zip(order, at, strict=True))
    back = [(town, part) for town, part in zip(
        result.towns, result.values("season_reclaimed_share"), strict=True) if part > _LEAST_SHARE]
    own, nothing = [town for town, _ in back], [math.nan] * len(back)
    return Table("between_towns", "From outfalls to taps", [
        replace(places_column("from the outfall of", begins + own, result.names), key="from"),
        replace(places_column("to the taps of", ends + own, result.names), key="to"),
        Column("by", ["outfall"] * len(begins) + ["reclaimed water"] * len(own)),
        *(Column(words, time.sel(part=part).values[at].tolist() + nothing, "duration")
          for words, part in (("median time", 0.5), ("a tenth within", 0.1),
                              ("nine tenths within", 0.9))),
        Column("share of that tap water", share[at].tolist() + [part for _, part in back], "share"),
        Column("of it through the ground", ground[at].tolist() + [0.0] * len(back), "share")])


def balance(result: Result) -> Table:
    """The account: in, out, change in store and gap, place by place."""
    table = result.table["balance"]
    places = [str(place) for place in table["place"].values]
    moved = [Column(words, table.sel(term=term).values.tolist(), "volume", term)
             for term, words in (("inflow", "in"), ("outflow", "out"),
                                 ("change", "change in store"))]
    largest = max((abs(value) for column in moved for value in column.values), default=0.0)
    moved = [replace(column, words=cells[1:], scale=largest) for column, cells in zip(
        moved, adding_up(moved, result.system), strict=True)]
    named = places_column("place", places, result.names)
    return Table("balance", "The account of the season", [
        replace(named, words=[*(named.words or ())[:-1], places[-1]]), *moved,
        Column("gap", table.sel(term="gap").values.tolist(), "volume")])


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
    names = (("town", ""), ("purpose", ""), ("asked for, mean", "flow"), ("short, mean", "flow"),
             ("share short", "share"), ("time with too little", "duration"))
    return Table("shortages", "Who ran short", [
        Column(name, values, dimension) if name != "town"
        else places_column(name, values, result.names)
        for (name, dimension), values in zip(names, columns, strict=True)])


def _short(unmet: xr.DataArray, asked: xr.DataArray) -> tuple[float, float, float, float]:
    step = float(np.diff(unmet["time"].values[:2])[0] / np.timedelta64(1, "D")) if (
        unmet.sizes["time"] > 1) else 1.0
    whole, short = float(asked.mean()), float(unmet.mean())
    return whole, short, short / whole if whole else 0.0, step * float((unmet > 0).sum())


def caught(result: Result) -> Table:
    """What each step of each town's plants catches, on the mean of the season."""
    names = list(result.scenario.town)
    found = separations(result.scenario, result.record, names) if names else {}
    rows = [(town, step, amounts) for town, of_town in found.items()
            for step, amounts in of_town.caught.items()]
    return Table("separation", "What each step takes out, mean of the season", [
        Column("town", [town for town, _, _ in rows]),
        Column("step", [step for _, step, _ in rows]),
        *(Column(f"{name} [kg/day]", [amounts[name] for _, _, amounts in rows], "number")
          for name in CAUGHT)])


def inputs_used(result: Result) -> Table:
    """Every input: its value, whether it was given, and where a default comes from."""
    found = inputs(result.scenario, result.system)
    return Table("inputs", "The inputs used", [
        Column("key", [one.key for one in found]),
        Column("value", [one.value for one in found]),
        Column("origin", [one.origin for one in found]),
        Column("meaning", [one.meaning for one in found]),
        Column("usual range", [one.usual for one in found]),
        Column("source", [one.source for one in found])])
