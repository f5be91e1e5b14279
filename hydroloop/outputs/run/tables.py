"""The tables of a run."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from hydroloop.gates import USES
from hydroloop.glossary import term
from hydroloop.outputs.document.table import Column, Table, adding_up, places_column
from hydroloop.outputs.run.because_tables import dates
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.scenario.inputs import inputs
from hydroloop.studies.separation import CAUGHT, separations


def towns(result: Result) -> Table:
    """Each town in one row: its water, how much was used before, and how often."""
    record, names = result.record, result.towns
    people = [float(result.scenario.town[town].people) for town in names]
    worst = [float(result.table["used_share"].sel(town=town).max()) for town in names]
    return Table(
        "towns",
        f"The towns, {record.attrs.get('title', '')}",
        [
            result.named,
            Column("people", people, "count"),
            Column("tap water to homes, mean", _mean(result, "delivered"), "flow", "delivered"),
            Column(
                "water taken in, mean", _total(result, "withdrawn", "pumped"), "flow", "withdrawn"
            ),
            Column("treated wastewater, mean", _mean(result, "effluent"), "flow", "effluent"),
            *map(result.column, ("season_used_share", "season_mean_uses", "season_return_ratio")),
            Column("used share, most-used day", worst, "share", "most_used_share"),
            Column(
                "most-used day",
                [
                    str(result.most_used_day(town))[:10] if used > 1e-9 else ""
                    for town, used in zip(names, worst, strict=True)
                ],
            ),
            *map(
                result.column,
                ("season_toilet_share", "last_use_median", "season_unknown_share", "parcel_passes"),
            ),
        ],
    )


def summary(result: Result) -> Table:
    """Of the table of towns, what fits on a screen."""
    table = towns(result)
    keys = (
        "town",
        "people",
        "delivered",
        "most_used_share",
        "most_used_day",
        "season_toilet_share",
        "last_use_median",
        "parcel_passes",
    )
    return Table(table.name, table.title, [c for c in table.columns if c.known_as in keys])


def _mean(result: Result, name: str) -> list[float]:
    return [float(result.table[name].sel(town=town).mean()) for town in result.towns]


def _total(result: Result, *names: str) -> list[float]:
    return [sum(parts) for parts in zip(*(_mean(result, name) for name in names), strict=True)]


def uses(result: Result) -> Table:
    """Share of the season's tap water by number of earlier uses."""
    share = result.table["season_use_share"]
    last = int(share["use"][-1])
    names = [
        f"{use} or more uses" if use == last else f"{use} uses".replace("1 uses", "1 use")
        for use in range(last + 1)
    ]
    columns = [
        Column(name, share.sel(use=use).values.tolist(), "share") for use, name in enumerate(names)
    ]
    return Table(
        "uses",
        "Tap water by number of earlier uses, season",
        [
            result.named,
            *columns,
            Column("unknown past", result.values("season_unknown_share"), "share"),
        ],
    )


def days(result: Result) -> Table:
    """Every day of every town."""
    table, names = result.table, result.towns
    time = dates(table["time"].values)

    names_of = (
        "delivered",
        "withdrawn",
        "pumped",
        "effluent",
        "river_flow_at_intake",
        "used_share",
        "mean_uses",
        "used_share_at_intake",
        "mean_uses_at_intake",
        "return_ratio",
        "toilet_share",
        "unknown_share",
        "water_age",
        "overflowed",
        "bypassed",
    )
    return Table(
        "days",
        "Day by day",
        [
            Column("town", np.repeat(np.array(names, dtype=object), len(time))),
            Column("date", np.tile(np.array(time, dtype=object), len(names))),
            *(
                result.column(name, table[name].transpose("town", "time").values.ravel())
                for name in names_of
                if name in table
            ),
        ],
    )


def last_use(result: Result) -> Table:
    """Share of each town's glass by days since its last use."""
    share = result.table["last_use_share"].transpose("town", "days_ago")
    ago, days_of = share["days_ago"].values, [str(result.glass_day(t))[:10] for t in result.towns]
    town, day = np.nonzero(share.values > 0.0)
    return Table(
        "last_use",
        "Time since the last use of each town's glass",
        [
            Column("town", np.array(result.towns)[town].tolist()),
            Column("glass drawn on", np.array(days_of)[town].tolist()),
            Column("last use, time ago", ago[day].tolist(), "duration"),
            Column("share of the glass", share.values[town, day].tolist(), "share"),
        ],
    )


def parcels(result: Result) -> Table:
    """What became of a parcel of water that was released at each intake on the first day."""
    table = result.table
    ends = [str(end) for end in table["end"].values]
    return Table(
        "parcels",
        "A parcel released at each intake, by season's end",
        [
            result.named,
            Column(
                "released on",
                [str(table["parcel_date"].sel(town=town).values)[:10] for town in result.towns],
            ),
            Column("mean uses", result.values("parcel_passes"), "number"),
            *(
                Column(
                    end,
                    [result.value("parcel_end_share", town=town, end=end) for town in result.towns],
                    "share",
                )
                for end in ends
            ),
        ],
    )


def reuse(result: Result) -> Table:
    """The numbers that are all called percent: three at the intake, two of them at the tap too."""

    def column(place: str, name: str, row: str) -> Column:
        return replace(result.column(name), name=f"at the {place}: {term(row).with_symbol}")

    back = result.column("season_reclaimed_share")
    return Table(
        "reuse",
        "Three numbers that are all called percent",
        [
            result.named,
            column("intake", "season_used_share_at_intake", "used_share"),
            column("intake", "season_mean_uses_at_intake", "mean_uses"),
            column("intake", "season_return_ratio", "return_ratio"),
            replace(back, is_shown=any(share > 0.0 for share in back.values)),
            column("tap", "season_used_share", "used_share"),
            column("tap", "season_mean_uses", "mean_uses"),
        ],
    )


def counted(result: Result) -> Table:
    """Used share of the tap water by each of the things that may count as a use."""
    return Table(
        "counted",
        "What counts as a use",
        [
            result.named,
            *(
                Column(
                    use.through,
                    result.values("season_share_as", count_as=name),
                    "share",
                    name.replace("-", "_"),
                )
                for name, use in USES.items()
            ),
        ],
    )


def untreated(result: Result) -> Table:
    """Overflow and bypass: how much sewage was not treated, or not in full."""
    return Table(
        "untreated",
        "Sewage not treated, or not in full",
        [
            result.named,
            *(
                replace(
                    result.column(f"{name}_{part}"),
                    is_shown=any(value > 0.0 for value in result.values(f"{name}_volume")),
                )
                for name in ("overflowed", "bypassed")
                for part in ("volume", "days", "largest")
            ),
        ],
    )


def balance(result: Result) -> Table:
    """The account: in, out, change in store and gap, place by place."""
    table = result.table["balance"]
    places = [str(place) for place in table["place"].values]
    moved = [
        Column(words, table.sel(term=term).values.tolist(), "volume", term)
        for term, words in (("inflow", "in"), ("outflow", "out"), ("change", "change in store"))
    ]
    largest = max((abs(value) for column in moved for value in column.values), default=0.0)
    came, went, change = moved
    moved = [
        replace(column, words=cells[1:], scale=largest)
        for column, cells in zip(moved, adding_up(came, went, change, result.system), strict=True)
    ]
    return Table(
        "balance",
        "The account of the season",
        [
            places_column("place", places, result.names),
            *moved,
            Column("gap", table.sel(term="gap").values.tolist(), "volume"),
        ],
    )


def caught(result: Result) -> Table:
    """What each step of each town's plants catches, on average over the season."""
    names = list(result.scenario.town)
    found = separations(result.scenario, result.record, names) if names else {}
    rows = [
        (town, step, amounts)
        for town, of_town in found.items()
        for step, amounts in of_town.caught.items()
    ]
    return Table(
        "separation",
        "What each step takes out, mean of the season",
        [
            Column("town", [town for town, _, _ in rows]),
            Column("step", [step for _, step, _ in rows]),
            *(
                Column(f"{name} [kg/day]", [amounts[name] for _, _, amounts in rows], "number")
                for name in CAUGHT
            ),
        ],
    )


def inputs_used(result: Result) -> Table:
    """Every input: its value, whether it was given, and where a default comes from."""
    found = inputs(result.scenario, result.system)
    return Table(
        "inputs",
        "The inputs used",
        [
            Column("key", [one.key for one in found]),
            Column("value", [one.value for one in found]),
            Column("origin", [one.origin for one in found]),
            Column("meaning", [one.meaning for one in found]),
            Column("usual range", [one.usual for one in found]),
            Column("source", [one.source for one in found]),
        ],
    )
