"""Numbers and dates of a table's cells, every bad one with its line."""

from __future__ import annotations

import re
from collections.abc import Sequence

import numpy as np

from hydroloop.units import one_line
from hydroloop.weather.arrays import Array, Days
from hydroloop.weather.calendar import FIRST_DAY, LAST_DAY
from hydroloop.weather.problems import TableProblems

_MISSING = frozenset(("", "na", "n/a", "nan", "null", "none", "-", "--"))
_NUMBER = re.compile(r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
_DECIMAL_COMMA = re.compile(r"[+-]?\d*,\d+(?:[eE][+-]?\d{1,3})?", re.ASCII)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}", re.ASCII)
_DATE = re.compile(
    r"(\d{4}[-/]\d{2}[-/]\d{2})(?:[ T](\d{2}:\d{2}(?::\d{2})?)(?:\.0+)?(?:Z|[+-]\d{2}:?\d{2})?)?",
    re.ASCII,
)
_OTHER_DATE = re.compile(r"\d{1,4}[./-]\d{1,2}[./-]\d{1,4}(?:[ T].*)?", re.ASCII)


def uses_decimal_comma(columns: Sequence[Sequence[str]], separator: str) -> bool | None:
    """Whether commas in the numbers are decimal marks. A semicolon file may write 0,5. Elsewhere
    one number that cannot be thousands settles it. None means that it cannot be told: 1,500 may be
    one and a half or fifteen hundred."""
    commas = [cell for column in columns for cell in column if "," in cell]
    if not commas:
        return False
    if separator == ";" or not all(_THOUSANDS.fullmatch(cell) for cell in commas):
        return True
    return None


def read_numbers(
    cells: Sequence[str],
    lines: Sequence[int],
    problems: TableProblems,
    *,
    key: str,
    decimal_comma: bool = False,
) -> Array:
    """Numbers of a column; NaN where there is no value. Empty cells and NA count as no value, and
    are left for the rule on gaps. Everything else that is not a plain number is a problem."""
    plain = _plain_numbers(cells)
    if plain is not None:
        return plain
    read = {cell: _number(cell, decimal_comma) for cell in set(cells)}
    values = np.array([read[cell] for cell in cells])
    for row in problems.first(np.flatnonzero(np.isinf(values)).tolist()):
        # Told here, and not told again as a gap.
        cell = cells[row]
        problems.add(lines[row], f'"{one_line(cell, 40)}" is not a number.', _hint(cell), key=key)
    return values


def read_dates(cells: Sequence[str], lines: Sequence[int], problems: TableProblems) -> Days:
    """Dates of a column, year-month-day or year/month/day, with or without a time. A time zone
    behind the time is left aside: clocks are taken as they stand. Dates as 3/4/2031 are refused,
    for nobody can tell March from April."""
    places = {cell: place for place, cell in enumerate(dict.fromkeys(cells))}
    texts = [_iso(cell) for cell in places]
    try:
        instants = np.array(texts, dtype="datetime64[s]")
    except ValueError:  # some day is not in the calendar: look at them one by one
        instants = np.array([_instant(text) for text in texts])
    instants = instants[[places[cell] for cell in cells]]
    days = instants.astype("datetime64[D]")
    instants[(days < FIRST_DAY) | (days > LAST_DAY)] = np.datetime64("NaT", "s")
    for row in problems.first(np.flatnonzero(np.isnat(instants)).tolist()):
        problems.add(lines[row], *_bad_date(cells[row]))
    return instants


def _plain_numbers(cells: Sequence[str]) -> Array | None:
    """All cells at once, where they are nothing but finite numbers; the quick way for big files."""
    try:
        values = np.array([float(cell) for cell in cells])
    except ValueError:
        return None
    tidy = np.isfinite(values).all() and all("_" not in cell and cell.isascii() for cell in cells)
    return values if tidy else None


def _number(cell: str, decimal_comma: bool) -> float:
    """NaN for a cell without a value, infinite for one that is no number."""
    if _NUMBER.fullmatch(cell):
        return float(cell)
    if decimal_comma and _DECIMAL_COMMA.fullmatch(cell):
        return float(cell.replace(",", "."))
    return np.nan if cell.lower() in _MISSING else np.inf


def _iso(cell: str) -> str:
    match = _DATE.fullmatch(cell)
    return f"{match[1].replace('/', '-')}T{match[2] or '00:00'}" if match else "NaT"


def _instant(text: str) -> np.datetime64:
    try:
        return np.datetime64(text, "s")
    except ValueError:
        return np.datetime64("NaT", "s")


def _bad_date(cell: str) -> tuple[str, str]:
    cure = "Write dates as 2031-05-01."
    if _DATE.fullmatch(cell):
        return f'"{cell}" is not in the calendar from {FIRST_DAY} to {LAST_DAY}.', cure
    if _OTHER_DATE.fullmatch(cell):
        return f'the date "{one_line(cell, 40)}" can be read in more than one way.', cure
    return (f'"{one_line(cell, 40)}" is not a date.' if cell else "the date is missing."), cure


def _hint(cell: str) -> str:
    if cell.lower().lstrip("+-") in ("inf", "infinity"):
        return "Write a finite number, or leave the cell empty."
    if re.fullmatch(r"[+-]?\d{1,3}(?:[., ']\d{3})+(?:[.,]\d+)?", cell):
        return "Leave out the marks between thousands."
    if "," in cell:
        return "Write a decimal point: 4.5."
    return "Write a plain number, or leave the cell empty."
