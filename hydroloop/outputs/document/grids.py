"""Tables as grids of cells, as every renderer shows them: units chosen, numbers in words."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from hydroloop.charts.words import joined
from hydroloop.outputs.document.table import Column, Cross, Table, _screen, unit_of
from hydroloop.outputs.document.wording import figure, sentence, still_words
from hydroloop.units.printing import System


class Grid(NamedTuple):
    """Cells that are shown, the heads first; the columns with numbers stand to the right."""

    title: str
    heads: Sequence[str]
    rows: Sequence[Sequence[str]]
    to_right: Sequence[bool]
    notes: Sequence[str] = ()
    groups: Mapping[int, str] = MappingProxyType({})  # headings over the rows that begin a group


def grids(table: Table, system: System) -> list[Grid]:
    """A table as one grid, or as one for each measure and a last without rows for what is still."""
    if table.only is not None:
        return grids(_chosen(table, *table.only), system)
    if isinstance(table.view, Cross):
        return _crossed(table, table.view, system)
    seen = [column for column in table.columns if column.is_shown]
    columns = [_column(column, system) for column in seen]
    is_number = [bool(column.dimension) for column in seen]
    if table.view == "rows":
        heads = [
            "" if place == 0 and not seen[0].dimension else head
            for place, (head, _) in enumerate(columns)
        ]
        rows = list(zip(*(cells for _, cells in columns), strict=True))
        return [Grid(table.title, heads, rows, is_number, table.notes, table.groups)]
    (_, names), *measures = columns
    return [
        Grid(
            table.title,
            ["", *names],
            [[head, *cells] for head, cells in measures],
            [False, *(True for _ in names)],
            table.notes,
        )
    ]


def _chosen(table: Table, key: str, value: str) -> Table:
    """The rows of a table in which a column has a value, without that column."""
    (by,) = [column for column in table.columns if column.known_as == key]
    places = [place for place, one in enumerate(by.values) if one == value]
    return replace(
        table,
        only=None,
        columns=[column.at(places) for column in table.columns if column is not by],
    )


def _column(column: Column, system: System) -> tuple[str, list[str]]:
    head, values = column.shown(system)
    if column.words is not None:
        return head, list(column.words)
    return head, [_screen(value, head) for value in values]


def _crossed(table: Table, view: Cross, system: System) -> list[Grid]:
    by_key = {column.known_as: column for column in table.columns}
    over = by_key[view.across]
    tops = list(dict.fromkeys(over.values))
    said = dict(zip(over.values, over.words or over.values, strict=True))
    sides = [by_key[key] for key in view.rows]
    marks = list(zip(*(column.values for column in sides), strict=True))
    names = dict(
        zip(marks, zip(*(_column(column, system)[1] for column in sides), strict=True), strict=True)
    )
    at = {place: number for number, place in enumerate(zip(marks, over.values, strict=True))}
    heads = [
        *(_column(column, system)[0] if view.has_heads else "" for column in sides),
        *(str(said[top]) for top in tops),
    ]
    found, still = [], []
    for measure in (by_key[key] for key in view.measures):
        values = np.array([float(value) for value in measure.values])
        unit, factor, _ = unit_of(measure.dimension, values, system)
        if view.is_signed and unit == "%":
            unit = "percentage points"  # what is added to a share is no share
        words = "" if view.is_signed else still_words(measure.name, values, factor, unit)
        if words:
            still.append(words)
            continue
        shown = np.array(
            [
                [factor * values[at[mark, top]] if (mark, top) in at else math.nan for top in tops]
                for mark in names
            ]
        )
        cells = _parts if view.is_signed else _figures
        rows = [[*names[mark], *row] for mark, row in zip(names, cells(shown), strict=True)]
        if view.ending:
            last = shown[-1] - shown[0] if view.ending == "change" else shown.sum(axis=0)
            own = (
                _parts(last[None], shown)
                if view.is_signed
                else [[figure(value, signed=True) for value in last]]
            )
            rows.append([view.ending, *("" for _ in sides[1:]), *own[0]])
        head = f"{view.title}{measure.name if view.title else sentence(measure.name)}"
        found.append(
            Grid(
                f"{head} [{unit}]" if unit else head,
                heads,
                rows,
                [view.has_heads and bool(one.dimension) for one in sides] + [True] * len(tops),
            )
        )
    notes = [f"The same in every run and town: {joined(still)}."] if still else []
    return [*found, Grid("", [], [], [], [*notes, *table.notes])] if notes or table.notes else found


def _figures(values: np.ndarray) -> list[list[str]]:
    return [[figure(value) for value in row] for row in values]


def _parts(values: np.ndarray, beside: np.ndarray | None = None) -> list[list[str]]:
    """Parts of a whole with their signs, in the decimals that three figures of the largest have, so
    that they can be added up; what is nothing is a bare 0."""
    there = np.abs(values if beside is None else beside)
    largest = float(there[np.isfinite(there)].max(initial=0.0))
    decimals = max(0, 2 - math.floor(math.log10(largest))) if largest > 1e-9 else 0
    nothing = 0.5 * 10.0**-decimals
    return [
        [
            "-"
            if not math.isfinite(value)
            else "0"
            if abs(value) <= 1e-9
            else f"{value:{'+' if abs(value) > nothing else ''},.{decimals}f}".replace(
                f"-{0:.{decimals}f}", f"{0:.{decimals}f}"
            )
            for value in row
        ]
        for row in values
    ]
