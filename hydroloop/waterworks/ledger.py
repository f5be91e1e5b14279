"""The list of stores and flows while a network is drawn up."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

import numpy as np

from hydroloop.placenames import Names

NONE = -1  # number of a store or flow that a place does not have


@dataclass
class Ledger:
    """Stores and flows in the order in which they were entered.

    Attributes
    ----------
    stores, places, roles, labels : list of str
        Name of each store, the place and the part it is, and its name in words.
    volumes : list of float
        Volume on the first day, or where a run-up begins [m3].
    given : dict of float
        Volume on the first day by number of the store, where the scenario gives it [m3].
    full : list of bool
        True for a store that always holds the same volume.
    sources, targets : list of int
        Number of the store that a flow leaves and enters; `NONE` for a boundary.
    source_names, target_names, kinds : list of str
        The same in words, and what the flow is.
    """

    stores: list[str] = field(default_factory=list)
    places: list[str] = field(default_factory=list)
    roles: list[str] = field(default_factory=list)
    labels: list[str] = field(default_factory=list)
    volumes: list[float] = field(default_factory=list)
    given: dict[int, float] = field(default_factory=dict)
    full: list[bool] = field(default_factory=list)
    sources: list[int] = field(default_factory=list)
    targets: list[int] = field(default_factory=list)
    source_names: list[str] = field(default_factory=list)
    target_names: list[str] = field(default_factory=list)
    kinds: list[str] = field(default_factory=list)
    numbers: dict[str, int] = field(default_factory=dict)
    names: Names = field(default_factory=dict)  # names that are given to places

    def store(
        self,
        place: str,
        part: str,
        label: str,
        volume: float,
        *,
        role: str = "",
        full: bool = False,
        given: bool = False,
    ) -> int:
        """Enter a store and return its number; `given` is a volume that the scenario gives."""
        name = f"{place}/{part}"
        self.numbers[name] = len(self.stores)
        self.stores.append(name)
        self.places.append(place)
        self.roles.append(role or part)
        self.labels.append(label)
        self.volumes.append(volume)
        self.full.append(full)
        if given:
            self.given[self.numbers[name]] = volume
        return self.numbers[name]

    def flow(self, source: int | str, target: int | str, kind: str) -> int:
        """Enter a flow between stores (numbers) or boundaries (names) and return its number."""
        self.sources.append(NONE if isinstance(source, str) else source)
        self.targets.append(NONE if isinstance(target, str) else target)
        self.source_names.append(source if isinstance(source, str) else self.stores[source])
        self.target_names.append(target if isinstance(target, str) else self.stores[target])
        self.kinds.append(kind)
        return len(self.kinds) - 1

    def flow_names(self) -> list[str]:
        """Unique name of each flow: from where to where, and its kind where two run in parallel."""
        pairs = [f"{a} > {b}" for a, b in zip(self.source_names, self.target_names, strict=True)]
        seen: dict[str, int] = {}
        for pair in pairs:
            seen[pair] = seen.get(pair, 0) + 1
        return [
            pair if seen[pair] == 1 else f"{pair} ({kind})"
            for pair, kind in zip(pairs, self.kinds, strict=True)
        ]


def row(table: np.dtype, **values: float) -> np.ndarray:
    """One row of a table of `layout`; whole numbers that are not given are `NONE`."""
    blank = _blank(table)
    filled = blank | values
    assert len(filled) == len(blank), f"no such field: {set(values) - set(blank)}"
    return np.array([tuple(filled.values())], dtype=table)


@cache
def _blank(table: np.dtype) -> dict[str, float]:
    """What stands in a field that nothing is given for."""
    return {name: NONE if table[name].kind == "i" else 0.0 for name in table.names or ()}


def stacked(rows: list[np.ndarray], table: np.dtype) -> np.ndarray:
    """Rows as one table, empty if there are none."""
    made = np.empty(len(rows), dtype=table)
    for number, one in enumerate(rows):
        made[number] = one[0]
    return made
