"""A table of results: on screen with aligned columns, in a file as CSV."""

from __future__ import annotations

import csv
import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

import numpy as np

from hydroloop.charts.words import place_words
from hydroloop.placenames import Names
from hydroloop.units import DisplayUnit, display_unit
from hydroloop.units.printing import System, figures

_AT_ONCE = 10_000  # rows that are put into words together: a long table is never whole in memory


@dataclass(frozen=True)
class Column:
    """One column of a table."""

    name: str  # heading, without the unit
    values: Sequence[Any] | np.ndarray  # texts, or numbers in the held unit of `dimension`
    # of `hydroloop.units.DIMENSIONS`; `"number"` for a plain number, empty for a text
    dimension: str = ""
    key: str = ""  # what scripts call it; its heading with low lines where none is given
    words: Sequence[str] | None = None  # how its values are said where they are shown to people
    unit: str = ""  # of a plain number: a unit that is the same wherever it is shown
    is_shown: bool = True  # whether people are shown it; files and scripts get it always
    # a size that decides on the unit with the values: columns that add up share the largest
    scale: float = 0.0

    @property
    def known_as(self) -> str:
        """What scripts call it."""
        return self.key or re.sub(r"\W+", "_", self.name.lower()).strip("_")

    def shown(self, system: System) -> tuple[str, list[Any]]:
        """Heading with its unit, and the values in that unit; what is unknown is None."""
        head, factor, offset = self.heading(system)
        return head, self.told(slice(None), factor, offset)

    def heading(self, system: System) -> tuple[str, float, float]:
        """Heading with its unit, and how values come to that unit: factor and offset."""
        if not self.dimension:
            return self.name, 1.0, 0.0
        unit = unit_of(self.dimension, self.values, system, self.scale)
        name = {"number": self.unit, "count": ""}.get(self.dimension, unit.name)
        return f"{self.name} [{name}]" if name else self.name, unit.factor, unit.offset

    def at(self, places: Sequence[int]) -> Column:
        """The same of some rows, in this order."""
        words = self.words and [self.words[place] for place in places]
        return replace(self, values=[self.values[place] for place in places], words=words)

    def told(self, rows: slice, factor: float, offset: float) -> list[Any]:
        """Values of some rows in the unit that `heading` has."""
        if not self.dimension:
            return list(self.values[rows])
        return [known(float(value) * factor + offset) for value in self.values[rows]]


def unit_of(
    dimension: str, values: Sequence[Any] | np.ndarray, system: System, scale: float = 0.0
) -> DisplayUnit:
    """Unit in which numbers are shown together, that of the largest of them and of `scale`: none
    for plain numbers, days for all times, so that rows can be compared."""
    if dimension in ("number", "duration"):
        return DisplayUnit("days" if dimension == "duration" else "", 1.0, 0.0)
    sizes = np.abs(np.asarray(values, dtype=float))
    largest = float(sizes.max(initial=scale, where=np.isfinite(sizes)))
    return display_unit(dimension, system, largest=largest)


def known(value: Any) -> float | None:
    """A number for a file or a script; None where it is not known."""
    number = float(value)
    return number if math.isfinite(number) else None


@dataclass(frozen=True)
class Cross:
    """A view: each measure by itself, with the names of one column across the top."""

    # keys of the columns that name the rows, and of the one that stands across
    rows: Sequence[str]
    across: str
    measures: Sequence[str]  # keys of the columns that are shown
    # last row: `"change"` is the last less the first, `"together"` the sum; none if empty
    ending: Literal["", "change", "together"] = ""
    is_signed: bool = False  # whether a plus stands before what adds
    title: str = ""  # what stands before the heading of each
    has_heads: bool = False  # whether the columns that name the rows have their headings


@dataclass(frozen=True)
class Table:
    """A table of results."""

    name: str  # of its file, without ending
    title: str  # what it shows
    columns: Sequence[Column]  # all of one length
    # how it is shown: `"rows"` as it stands, `"across"` with the names of its first column across
    # the top and measures down the side
    view: Literal["rows", "across"] | Cross = "rows"
    notes: Sequence[str] = ()  # what stands below it
    # key of a column and a value: only these rows are shown, files and scripts get all
    only: tuple[str, str] | None = None
    # headings over rows that begin a group, by their place; for people, where rows stand as they do
    groups: Mapping[int, str] = field(default_factory=dict)

    def records(self, system: System = "us") -> list[dict[str, Any]]:
        """Rows as mappings from heading to value, for JSON."""
        shown = [column.shown(system) for column in self.columns]
        heads = [head for head, _ in shown]
        return [
            dict(zip(heads, row, strict=True))
            for row in zip(*(values for _, values in shown), strict=True)
        ]

    def write(self, folder: Path, system: System = "us") -> Path:
        """Write the table as CSV, units in the headings, what is unknown left empty."""
        path = folder / f"{self.name}.csv"
        heads = [column.heading(system) for column in self.columns]
        with path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            writer.writerow([_cell(head) for head, *_ in heads])
            for begin in range(0, len(self.columns[0].values), _AT_ONCE):
                rows = slice(begin, begin + _AT_ONCE)
                told = [
                    column.told(rows, *unit)
                    for column, (_, *unit) in zip(self.columns, heads, strict=True)
                ]
                writer.writerows(zip(*(map(_cell, values) for values in told), strict=True))
        return path


def _cell(value: Any) -> Any:
    """Seven significant figures: more than any input is worth, and enough to add up."""
    if isinstance(value, float):
        return f"{value:.7g}"
    if value is None:
        return ""
    return _text(value) if isinstance(value, str) else value


@lru_cache(maxsize=10_000)
def _text(value: str) -> str:
    """A text that a spreadsheet would take for a formula begins with an apostrophe."""
    return f"'{value}" if _FORMULA.match(value) and not _NUMBER.fullmatch(value) else value


_FORMULA = re.compile(r"\s*[=+\-@\t\r\uff1d\uff0b\uff0d\uff20]")  # those of full width too
_NUMBER = re.compile(r"[+-]?\d[\d.,]*(e[+-]?\d+)?( [\w/%°]+)?|-")


def places_column(head: str, places: Sequence[str], names: Names) -> Column:
    """Names of places, as the file and as people call them."""
    return Column(head, places, words=[place_words(str(place), names) for place in places])


def adding_up(came: Column, went: Column, change: Column, system: System = "us") -> list[list[str]]:
    """In, out and change for the screen, headings first: in one unit, with the same decimals; the
    largest number has five figures or more. As printed, in less out is the change: what went out
    may be told one off in its last digit."""
    columns = (came, went, change)
    largest = max((abs(float(value)) for column in columns for value in column.values), default=0.0)
    unit = display_unit(columns[0].dimension, system, largest=largest)
    before = math.floor(math.log10(largest * unit.factor)) + 1 if largest > 0.0 else 1
    decimals = max(0, _FIGURES - max(before, 1))

    def rounded(column: Column) -> list[float]:
        return [round(float(value) * unit.factor, decimals) for value in column.values]

    first, last = rounded(came), rounded(change)
    told = (first, [a - b for a, b in zip(first, last, strict=True)], last)
    return [
        [
            f"{column.name} [{unit.name}]",
            *(f"{round(number, decimals) + 0.0:,.{decimals}f}" for number in numbers),
        ]
        for column, numbers in zip(columns, told, strict=True)
    ]


_FIGURES = 5
_LEAST_PERCENT, _ROUNDING = 0.001, 1e-7


def _screen(value: Any, head: str) -> str:
    if value is None or value == "":
        return "-"
    if not isinstance(value, float):
        return str(value)
    if head.endswith("[%]") and _ROUNDING < abs(value) < _LEAST_PERCENT:
        return f"< {_LEAST_PERCENT}"
    if abs(value) <= _ROUNDING and (head.endswith("[%]") or not head.endswith("]")):
        return "0"  # a gap in litres is rounding too, but is shown: it is what the table is about
    return f"{value:,.0f}" if value.is_integer() and abs(value) < 1e15 else figures(value)
