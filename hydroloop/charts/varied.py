"""What is drawn along an axis of a picture of many runs: a key with its values, or a measure."""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydroloop.charts.words import printed
from hydroloop.units.printing import figures

FACTOR = "times its value now"
"""Unit of a key that was scaled."""


@dataclass(frozen=True)
class Varied:
    """A key that takes several values."""

    words: str  # what it is called
    unit: str  # unit of its values as they are shown; empty for words and plain numbers
    values: tuple[float, ...] | tuple[str, ...]  # in the order of the grid
    # its value in the scenario, as it is shown; None where that is no number
    now: float | None = None

    @property
    def label(self) -> str:
        """What stands along its axis."""
        return self.heading(self.words, printed(self.unit))

    def heading(self, words: str, unit: str) -> str:
        """Words with the unit, where the unit says more than the words."""
        return words if unit in ("", "people") else f"{words} [{unit}]"

    @property
    def is_number(self) -> bool:
        """Whether its values can be drawn to scale."""
        return not any(isinstance(value, str) for value in self.values)

    @property
    def place_now(self) -> int | None:
        """Which of its values is that of the scenario; None where none is."""
        if self.now is None or not self.is_number:
            return None
        near = [math.isclose(float(value), self.now, rel_tol=1e-9) for value in self.values]
        return near.index(True) if any(near) else None

    def text(self, place: int) -> str:
        """One of its values, without the unit."""
        value = self.values[place]
        return value if isinstance(value, str) else figures(value)

    def told(self, place: int, *, alone: bool = False) -> str:
        """One of its values as it stands in a sentence, after "with": `20,000 people of Larkmill`
        (where it is `alone` without the place), `the inflow of the Wren as now`."""
        if self.unit == "people":
            return f"{self.text(place)} {'people' if alone else self.words}"
        if self.unit != FACTOR:
            return f"{self.words} {self.text(place)} {printed(self.unit)}".rstrip()
        return (
            f"the {self.words} as now"
            if self.values[place] == 1.0
            else f"{self.text(place)} times the {self.words}"
        )


@dataclass(frozen=True)
class Drawn:
    """A measure as it is drawn."""

    words: str  # what it is called
    unit: str  # unit of its values as they are shown; empty for a plain number

    @property
    def label(self) -> str:
        """What stands along its axis."""
        return f"{self.words} [{printed(self.unit)}]" if self.unit else self.words
