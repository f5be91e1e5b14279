"""A CSV file read as text: encoding, separator, heading and rows, each row with its line."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from typing import TypeAlias

from hydroloop.errors import InputError
from hydroloop.opening import file_bytes
from hydroloop.units import one_line
from hydroloop.weather.problems import TableProblems

LARGEST_BYTES = 100_000_000
MOST_LINES = 2_500_000  # 200 years by the hour and some room
LONGEST_LINE, LONGEST_CELL, MOST_COLUMNS = 20_000, 200, 500
_SEPARATORS = "\t;,"

Row: TypeAlias = tuple[str, ...]


@dataclass(frozen=True)
class TextTable:
    """Rows of a file as they stand in it.

    Attributes
    ----------
    file : str
        Name of the file, without its folder.
    separator : str
        Comma, semicolon or tab.
    heading : list of str
        Cells of the first row.
    heading_line : int
        Its line.
    rows : list of tuples of str
        Cells of all other rows, each as many as the heading has.
    lines : list of int
        Line on which each row ends.
    """

    file: str
    separator: str
    heading: Row
    heading_line: int
    rows: list[Row]
    lines: list[int]

    def column(self, index: int) -> list[str]:
        """Cells of one column."""
        return [row[index] for row in self.rows]


def read_table(path: str | PathLike[str]) -> TextTable:
    """Rows of a CSV file, as text. UTF-8 with or without byte-order mark; comma, semicolon or tab;
    quotes; # begins a comment line. Looks at the form alone: what the cells mean is for others to
    say."""
    problems = TableProblems(Path(path).name)
    text = _text(Path(path), problems)
    separator = _separator(text)
    cells = list(_cells(text, separator, problems))
    problems.stop_if_any()
    if not cells:
        raise problems.stop(0, "the file is empty.", "It needs a heading and one row a day.")
    (heading_line, heading), rows = cells[0], cells[1:]
    if len(heading) > MOST_COLUMNS or any(len(cell) > LONGEST_CELL for cell in heading):
        what = f"the heading has more than {MOST_COLUMNS} columns, or one of more than "
        raise problems.stop(heading_line, f"{what}{LONGEST_CELL} characters.", "Is this the file?")
    width = len(heading)
    uneven = [pair for pair in rows if len(pair[1]) < width or any(pair[1][width:])]
    for line, row in problems.first(uneven):
        _tell_width(line, row, heading, separator, problems)
    if not rows:
        problems.add(0, "there are no rows under the heading.", "Add one row a day.")
    problems.stop_if_any()
    return TextTable(
        problems.file,
        separator,
        heading,
        heading_line,
        [row[:width] for _, row in rows],
        [line for line, _ in rows],
    )


def _tell_width(line: int, row: Row, heading: Row, separator: str, problems: TableProblems) -> None:
    cure = "Put an empty cell where there is no value."
    if len(row) > len(heading) and separator == ",":
        cure = "If commas are decimal marks, separate the columns with semicolons."
    what = f"the row has {len(row)} cells, but the heading has {len(heading)}."
    problems.add(line, what, cure)


def _text(path: Path, problems: TableProblems) -> str:
    """The file's text, once its size and its bytes look like a text."""
    try:
        data = file_bytes(path, LARGEST_BYTES, "a table")
    except InputError as error:
        what, cure = error.problems[0].what, error.problems[0].cure
        if what.startswith("there is no"):
            cure = f"It was looked for as {one_line(str(path), 300)}."
        raise problems.stop(0, what, cure) from error
    if max(data.count(b"\n"), data.count(b"\r")) > MOST_LINES:
        raise problems.stop(
            0, f"the file has more than {MOST_LINES:,} lines.", "Cut it to the season that is run."
        )
    if max(map(len, data.splitlines()), default=0) > LONGEST_LINE:
        raise problems.stop(
            0, f"a line has more than {LONGEST_LINE:,} characters.", "Is this the right file?"
        )
    return _decoded(data, problems)


def _decoded(data: bytes, problems: TableProblems) -> str:
    cure = "Save it as CSV in UTF-8."
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise problems.stop(0, "the file is in UTF-16, not UTF-8.", cure)
    if b"\0" in data:
        raise problems.stop(0, "this is not a text file.", cure)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        what = f"the character with byte {data[error.start]:#04x} is not UTF-8."
        raise problems.stop(line, what, cure) from error


def _separator(text: str) -> str:
    """The separator that stands most often in the heading, outside quotes."""
    for line in io.StringIO(text):
        if line.strip() and not line.startswith("#"):
            quoted = False
            counts = dict.fromkeys(_SEPARATORS, 0)
            for character in line:
                quoted ^= character == '"'
                if character in counts and not quoted:
                    counts[character] += 1
            return max(_SEPARATORS, key=lambda s: counts[s]) if any(counts.values()) else ","
    return ","


def _cells(text: str, separator: str, problems: TableProblems) -> Iterator[tuple[int, Row]]:
    lines: Iterable[str] = io.StringIO(text, newline=None)
    if "#" in text:  # a comment becomes an empty line, so that line numbers stay those of the file
        lines = ("\n" if line.startswith("#") else line for line in lines)
    reader = csv.reader(lines, delimiter=separator, skipinitialspace=True, strict=True)
    begun = 1
    try:
        for row in reader:
            begun = reader.line_num + 1
            # Tuples of texts cost the memory's upkeep nothing, lists do.
            cells = tuple(map(str.strip, row))
            if any(cells):
                yield reader.line_num, cells
    except csv.Error as error:
        problems.add(
            begun, f"a cell cannot be read: {error}.", "Look for a quote without its pair."
        )
