"""Tables read back from the text of an answer, as a reader does: titles, headings, rows, units."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

import pytest

_DAY = 86_400.0
_GALLON = 0.003785411784
UNITS = {
    "": 1.0,
    "%": 0.01,
    "days": 1.0,
    "hours": 1 / 24,
    "minutes": 1 / 1440,
    "years": 365.25,
    "m3/day": 1.0,
    "L/day": 1e-3,
    "ML/day": 1e3,
    "L/s": 1e-3 * _DAY,
    "m3/s": _DAY,
    "gal/day": _GALLON,
    "Mgal/day": 1e6 * _GALLON,
    "ft3/s": 0.3048**3 * _DAY,
    "m3": 1.0,
    "L": 1e-3,
    "ML": 1e3,
    "hm3": 1e6,
    "gal": _GALLON,
    "Mgal": 1e6 * _GALLON,
    "acre-ft": 43_560 * 0.3048**3,
    "mm": 1.0,
    "in": 25.4,
}
"""What one of a printed unit is in m3, m3/d, d, mm, or of the whole; by definition of the units."""


@dataclass(frozen=True)
class Printed:
    """A printed cell and its unit."""

    words: str
    unit: str

    def is_of(self, value: float, *, digits: float = 0.5) -> bool:
        """Whether a number, in m3, m3/d, d or of the whole, is printed like this: to half of the
        last digit, or so many of it, and as a dash if it cannot be told."""
        if self.words == "-":
            return math.isnan(value)
        shown = value / UNITS[self.unit]
        bound = re.fullmatch(r"(-?)< ([\d.]+)", self.words)
        if bound:
            return 0.0 < abs(shown) < float(bound[2]) * 1.001
        number = float(self.words.replace(",", ""))
        mantissa, _, power = self.words.partition("e")
        decimals = len(mantissa.partition(".")[2]) - int(power or 0)
        rounding = digits * 10.0**-decimals
        if not decimals and (trail := re.search(r"[1-9](0+)$", self.words.replace(",", ""))):
            rounding *= 10.0 ** len(trail[1])  # 2,740 has three figures
        return number == pytest.approx(shown, abs=rounding * 1.001, rel=1e-6)


def tables_of(lines: list[str]) -> dict[str, dict[tuple[str, str], Printed]]:
    """Every table of an answer by its title: what stands in a row under a heading."""
    found: dict[str, dict[tuple[str, str], Printed]] = {}
    title, place = "", 0
    while place < len(lines):
        if re.match(r"\s{12,}\S", lines[place]):
            place, cells = _block(lines, place)
            found.setdefault(title, {}).update(cells)
        else:
            if lines[place].strip() and not lines[place - 1].strip() and lines[place][0] != " ":
                title = lines[place]
            place += 1
    return found


def _block(lines: list[str], place: int) -> tuple[int, dict[tuple[str, str], Printed]]:
    """One run of headings and rows, up to an empty line or one that is not set in."""
    heads = [(m.end(), m.group()) for m in re.finditer(r"\S+(?: \S+)*", lines[place])]
    place += 1
    units: dict[int, str] = {}
    if re.match(r"\s{12,}\S", lines[place]):
        units = {m.end(): m[1] for m in re.finditer(r"\[([^\]]+)\]", lines[place])}
        place += 1
    cells: dict[tuple[str, str], Printed] = {}
    seen: dict[str, int] = {}
    while place < len(lines) and lines[place].startswith("  ") and lines[place].strip():
        label, *values = re.split(r"\s{2,}", lines[place].strip())
        unit = re.search(r" \[([^\]]+)\]$", label)
        name = label[: unit.start()] if unit else label
        seen[name] = seen.get(name, 0) + 1
        if seen[name] > 1:
            name = f"{name} ({seen[name]})"
        assert len(values) == len(heads), (lines[place], heads)
        for (end, head), words in zip(heads, values, strict=True):
            cells[name, head] = Printed(words, unit[1] if unit else units.get(end, ""))
        place += 1
    return place, cells
