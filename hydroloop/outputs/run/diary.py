"""Diaries of single drops: a walk through the record, told as a journey."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import groupby, pairwise
from typing import NamedTuple

import numpy as np
import pandas as pd
import xarray as xr

from hydroloop.charts.words import date_words, percent, place_words, use_words
from hydroloop.errors import AskError, Problem
from hydroloop.gates import USUAL, Use, words_of
from hydroloop.outputs.document import (
    Block,
    Document,
    Entries,
    Fact,
    Paragraph,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.cautions import SAME_WATER
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import big, dates_in_words, sentence
from hydroloop.outputs.run.journey import Map, Move, chapter, told
from hydroloop.outputs.whatif.changed import Changed
from hydroloop.placenames import names_of
from hydroloop.tracing import Operator, count_uses, find_step, follow
from hydroloop.units.printing import System

_LONG_STAY = 2  # days in one place before the diary mentions it


class Line(NamedTuple):
    """One line of a diary."""

    # days on which it happens
    first: pd.Timestamp
    last: pd.Timestamp
    text: str  # what happens
    moves: int = 0  # from store to store, which it tells


class Diary(NamedTuple):
    """The journey of one drop."""

    number: int  # from 1
    uses: int  # times it was used, by what counts as a use, before the record too where asked
    lines: tuple[Line, ...]  # in the order of time
    # where the journey ends, or for one told backward where it begins: a store or a boundary
    end: str


class Walk(NamedTuple):
    """The rows of one drop, as `hydroloop.drops` gives them."""

    number: int  # from 0
    dates: np.ndarray
    stores: list[str]
    flows: list[str]
    uses: list[int]
    before: int  # uses before the record or above it, as far as they were asked for

    @property
    def days(self) -> list[pd.Timestamp]:
        """Start of the step of each row."""
        return list(pd.DatetimeIndex(self.dates))


class Asked(NamedTuple):
    """Which drops were asked for: where and when they are put in, and how they are drawn."""

    town: str
    date: str
    store: str
    seed: int
    backward: bool
    # share of the water that drops are drawn from, exactly [-]: of a glass, what had been used at
    # least so often before; of a town's intake, what goes on to be used
    used_share: float
    used: int | None = None  # least number of uses of the drops that are drawn


def diaries(
    record: xr.Dataset, walks: pd.DataFrame, *, backward: bool = False, system: System = "us"
) -> list[Diary]:
    """Diaries of drops, one a drop as `hydroloop.drops` walked them, always told forward in
    time."""
    return diaries_on(Map.of(record, system), walks_of(walks), backward=backward)


def walks_of(table: pd.DataFrame) -> list[Walk]:
    """Rows of each drop."""
    order = np.argsort(table["drop"].values, kind="stable")
    number, dates = (table[name].values[order] for name in ("drop", "date"))
    before = table["before"].values[order] if "before" in table else np.zeros_like(number)
    stores, flows, uses = (table[name].values[order].tolist() for name in ("store", "flow", "uses"))
    begun = np.flatnonzero(np.diff(number, prepend=-1)).tolist()
    ways = [slice(*ends) for ends in zip(begun, [*begun[1:], len(table)], strict=True)]
    return [
        Walk(
            int(number[way][0]),
            dates[way],
            stores[way],
            flows[way],
            uses[way],
            int(before[way][-1]),
        )
        for way in ways
    ]


def diaries_on(chart: Map, walks: Sequence[Walk], *, backward: bool = False) -> list[Diary]:
    """Diaries of drops, with the names of a map."""
    told = _told_backward if backward else _told_forward
    return [
        Diary(
            walk.number + 1, walk.uses[-1] + walk.before, tuple(told(chart, walk)), walk.stores[-1]
        )
        for walk in walks
    ]


def exact_share(op: Operator, at: str, on: str, *, backward: bool, used: int | None) -> float:
    """Share of the water that drops are drawn from: in a glass, what had been used so often or
    more; of what is taken in, what goes on to be used by the end of the record."""
    if not backward:
        return float(follow(op, at=at, on=on).share.isel(use=slice(1, None)).sum())
    least = used or 1
    share = count_uses(op, most=least).share.sel(store=at).isel(edge=find_step(op, on) + 1).values
    if used and not share[used] > 0.0:
        use, most = words_of(op.count_as), int(np.flatnonzero(share > 0.0).max(initial=0))
        raise AskError(
            Problem(
                "--used",
                f"no drop of this glass ({date_words(on)}) had been {use.within} "
                f"{use_words(used, used)}.",
                f"The most is {use_words(most, most + 1)}."
                if most
                else "None had been used at all: choose another town or date.",
            )
        )
    return float(share[least])


def _told_forward(chart: Map, walk: Walk) -> Iterator[Line]:
    dates, stores = walk.days, walk.stores
    yield Line(dates[0], dates[0], chart.begins(stores[0]))
    moves = [
        Move(date, source, target, chart.kinds[flow], after > before)
        for date, (source, target), flow, (before, after) in zip(
            dates[1:], pairwise(stores), walk.flows[1:], pairwise(walk.uses), strict=True
        )
    ]
    yield from _lines(chart, moves)
    if chart.is_store(stores[-1]):
        end = chart.last_day
        yield Line(end, end, f"is still in {chart.label(stores[-1])} when the record ends")


def _told_backward(chart: Map, walk: Walk) -> Iterator[Line]:
    dates, stores, before = walk.days[::-1], walk.stores[::-1], walk.before
    had = f", and has been used {use_words(before, before + 1)} before" if before else ""
    if chart.is_store(stores[0]):
        begin = chart.first_day
        yield Line(begin, begin, f"is in {chart.label(stores[0])} when the record begins{had}")
        had = ""
    moves = [
        Move(date, source, target, chart.kinds[flow], after < now)
        for date, (source, target), flow, (now, after) in zip(
            dates, pairwise(stores), walk.flows[::-1], pairwise(walk.uses[::-1]), strict=False
        )
    ]
    lines = list(_lines(chart, moves, before))
    if had and lines:
        lines[0] = lines[0]._replace(text=lines[0].text + had)
    yield from lines
    yield Line(dates[-1], dates[-1], chart.drawn(stores[-1]))


def _lines(chart: Map, moves: Sequence[Move], uses: int = 0) -> Iterator[Line]:
    """Moves as lines, after so many uses: steps through one plant, or down one river, make one
    line."""
    chapters: list[list[Move]] = []
    for title, group in groupby(moves, key=lambda move: chapter(chart, move)):
        together = list(group)
        chapters += [together] if title else [[move] for move in together]
    for here, following in pairwise([*chapters, []]):
        text = told(chart, here)
        passed = sum(move.is_use for move in here)
        uses += passed
        if passed:
            text += f" (use {uses})"
        stay = (following[0].date - here[-1].date).days if following else 0
        if stay >= _LONG_STAY and chart.is_store(here[-1].target):
            text += f", and stays {stay} days"
        yield Line(here[0].date, here[-1].date, text, len(here))


def drops_document(
    record: xr.Dataset, told: Sequence[Diary], asked: Asked, changed: Changed, system: System = "us"
) -> Document:
    """Diaries one after the other, and how many drops ended where, or came from where."""
    town, date = place_words(asked.town, names_of(record)), date_words(asked.date)
    what = (
        f"drawn from a tap in {town} on {date}, and where they came from"
        if asked.backward
        else f"taken in by {town} on {date}, and where they went"
    )
    use = words_of(record.attrs.get("count_as", USUAL))
    blocks: list[Block] = [
        Paragraph(_counted(told, asked, use)),
        Paragraph(f"Drops {what} (seed {asked.seed})."),
        *(_section(diary, use) for diary in told),
    ]
    if len(told) > 1:
        blocks.append(_ends(record, told, backward=asked.backward))
    return Document(
        "drops",
        changed.ran.scenario,
        [
            *changed.blocks,
            *blocks,
            Paragraph("A diary is one drop's way, drawn by chance; only many of them show shares."),
            TableBlock(_drops_table(told), where="values"),
            TableBlock(_lines_table(told), where="values"),
        ],
        system,
        ran=changed.ran,
        facts={
            key: Fact(value, "share" if key == "used_share" else "")
            for key, value in asked._asdict().items()
        },
        cautions=(SAME_WATER,),
    )


def _counted(told: Sequence[Diary], asked: Asked, use: Use) -> str:
    """How many of the drops were used, and beside it the share that they are drawn from."""
    used, many = sum(diary.uses > 0 for diary in told), len(told)
    if asked.used:
        often = use_words(asked.used, asked.used)
        return (
            f"{sentence(percent(asked.used_share))} of this water had been {use.within} "
            f"{often}: {_one_in(asked.used_share)}. Only such drops are drawn here."
        )
    exact = (
        ""
        if not np.isfinite(asked.used_share)
        else (f"; the exact share is {percent(asked.used_share)}")
    )
    if not asked.backward:
        return f"{used} of {many} went {use.through} at least once{exact}."
    return f"{used} of {many} had been {use.within} before{exact}."


def _one_in(share: float) -> str:
    """How rare something is: `about one drop in 83`."""
    if share > 0.5:
        return "most drops" if share < 1.0 - 1e-9 else "every drop"
    return f"about one drop in {big(float(f'{1.0 / share:.2g}'))}"


def _section(diary: Diary, use: Use) -> Section:
    """A diary with dates on the left, each of them once."""
    times = use_words(diary.uses, diary.uses + 1)
    used = f"{use.within} {times}" if diary.uses else f"never {use.within}"
    dates = [dates_in_words(line.first, line.last) for line in diary.lines]
    entries = [
        ("" if when == before else when, line.text)
        for when, before, line in zip(dates, ["", *dates], diary.lines, strict=False)
    ]
    return Section(f"Drop {diary.number}: {used}", [Entries(entries, wide=27)], keep_together=True)


def _drops_table(told: Sequence[Diary]) -> Table:
    return Table(
        "drops",
        "Drops",
        [
            Column("drop", [one.number for one in told], "number"),
            Column("uses", [one.uses for one in told], "number"),
            Column("end", [one.end for one in told]),
        ],
    )


def _lines_table(told: Sequence[Diary]) -> Table:
    lines = [(diary.number, line) for diary in told for line in diary.lines]
    return Table(
        "diaries",
        "Diaries",
        [
            Column("drop", [number for number, _ in lines], "number"),
            Column("from", [str(line.first)[:10] for _, line in lines]),
            Column("to", [str(line.last)[:10] for _, line in lines]),
            Column("text", [line.text for _, line in lines]),
        ],
    )


def _ends(record: xr.Dataset, told: Sequence[Diary], *, backward: bool) -> Section:
    """How many drops ended where, or came from where, the most frequent first."""
    chart = Map.of(record)
    count = Counter(_end_words(chart, diary.end, backward) for diary in told)
    return Section(
        f"Where the {len(told)} drops {'came from' if backward else 'went'}",
        [Entries([(f"{number:>5}", words) for words, number in count.most_common()], wide=6)],
    )


_ENDS = {"downstream": "left downstream", "sky": "evaporated", "solids": "left with sludge"}
_BEGINS = {
    "upstream": "came down a river from above the map",
    "rain": "fell as rain or snow",
    "import": "was bought from outside",
}


def _end_words(chart: Map, end: str, backward: bool) -> str:
    if not chart.is_store(end):
        return (_BEGINS if backward else _ENDS).get(end, end)
    when = (
        "in {} already when the record begins" if backward else ("still in {} when the record ends")
    )
    role = chart.role(end)
    where = chart.river(end) if role == "reach" else chart.label(end)
    return when.format(where)
