"""The draft: a scenario as written, parts of it perhaps wrong.

Cross-checks read a draft and not the finished model, so that a wrong unit in one line does not
hide a wrong name in another: everything that can be said is said at once.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path as FilePath
from typing import Any, NamedTuple

from pydantic_core import PydanticUndefined

from hydroloop import units
from hydroloop.errors import InputError, Problem
from hydroloop.scenario.quantities import read
from hydroloop.scenario.tree import Path, dotted, find


class Finding(NamedTuple):
    """Something that is wrong, at a path of the scenario; who reports it adds file and line."""

    path: Path
    what: str
    cure: str = ""

    def problem(self, where: str) -> Problem:
        """The finding as a problem at a place, each part fit for one line."""
        return Problem(
            where,
            units.one_line(self.what, 400),
            units.one_line(self.cure, 400),
            units.one_line(dotted(self.path), 120),
        )


class Draft:
    """A scenario as written: its tables, the paths about which something has been said already,
    and those at which a check has looked for more than whether there is something."""

    def __init__(self, data: Mapping[str, Any], folder: FilePath, wrong: Iterable[Path] = ()):
        self.data, self.folder = data, folder
        self.wrong = frozenset(wrong)
        self.asked: set[Path] = set()

    def raw(self, *path: str) -> Any:
        """What stands at a path; None where nothing does, or where it is wrong already. For what
        lies in a table ask for that: a change of it alone is not seen in the table."""
        self.asked.add(path)
        here: Any = self.data
        for depth, word in enumerate(path, 1):
            if not isinstance(here, dict) or path[:depth] in self.wrong:
                return None
            here = here.get(word)
        return here

    def has(self, *path: str) -> bool:
        """Whether anything was written at a path, right or wrong."""
        here: Any = self.data
        for word in path:
            if not isinstance(here, dict) or word not in here:
                return False
            here = here[word]
        return True

    def names(self, kind: str) -> list[str]:
        """Names of the towns, rivers, reservoirs or aquifers that are tables."""
        tables = self.raw(kind)
        if not isinstance(tables, dict):
            return []
        return [name for name, table in tables.items() if isinstance(table, dict)]

    def is_named(self, kind: str, name: str) -> bool:
        """Whether there is a town, river, reservoir or aquifer of that name."""
        return isinstance(self.raw(kind, name), dict)

    def word(self, *path: str) -> str:
        """A text at a path; empty where there is none."""
        value = self.raw(*path)
        return value if isinstance(value, str) else ""

    def quantity(self, *path: str) -> units.Quantity | None:
        """A quantity with its ends, or its default; None where it has none or is wrong."""
        here = find(path)
        if here is None or path in self.wrong or not here.dimension:
            return None
        value = self.raw(*path) if self.has(*path) else here.field.default
        if value is None or value is PydanticUndefined or isinstance(value, dict | list):
            return None
        try:
            return read(value, here.dimension, path[-1])
        except InputError:
            return None

    def held(self, *path: str) -> float | None:
        """The middle of a quantity in its held unit, or its default, or None."""
        found = self.quantity(*path)
        return None if found is None else found.value

    def members(self, *path: str) -> list[float]:
        """The members of a list of quantities, in the held unit; those that are wrong left out."""
        here, values = find(path), self.raw(*path)
        if here is None or not isinstance(values, list):
            return []
        held = []
        for value in values:
            try:
                held.append(read(value, here.dimension, path[-1]).value)
            except InputError:
                continue
        return held
