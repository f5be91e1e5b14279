"""Size: what a file may hold at most, told before anything that would take long.

The limits lie far beyond what a scenario or a plan needs; they keep a file of another kind, or one
that somebody made to do harm, from filling the memory or the screen.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from hydroloop.errors import Problem
from hydroloop.scenario.draft import Finding
from hydroloop.scenario.tree import DEEPEST, Path
from hydroloop.visible import hidden_in

LONGEST_LINE, MOST_DOTS = 20_000, 500
LONGEST_TEXT, LONGEST_KEY = 10_000, 200
MOST_PLACES = {"river": 5000, "town": 1000, "reservoir": 1000, "aquifer": 1000, "stage": 100}
MOST_KEYS, MOST_MEMBERS, LARGEST_NUMBER = 20_000, 1000, 10**20


def unreadable_line(text: str, name: str) -> Problem | None:
    """The first line of a TOML text that would take long to read; None where all are well.
    The time to read a dotted key grows with the square of its words."""
    for number, line in enumerate(text.split("\n"), 1):
        if len(line) > LONGEST_LINE:
            return Problem(
                f"{name}:{number}",
                f"the line has {len(line):,} characters, at most {LONGEST_LINE:,} are read.",
                "Is this the right file?",
            )
        if line.count(".") > MOST_DOTS or line.partition("=")[0].count(".") > MOST_DOTS // 10:
            return Problem(
                f"{name}:{number}",
                "the line has too many dots to be read.",
                "A key has at most six words.",
            )
    return None


def too_much(data: Mapping[str, Any]) -> list[Finding]:
    """What is too long, too deep, too large or too many, or cannot be shown."""
    for kind, most in MOST_PLACES.items():
        if isinstance(data.get(kind), dict) and len(data[kind]) > most:
            return [
                Finding(
                    (kind,), f"there are {len(data[kind]):,} of them.", f"Write at most {most:,}."
                )
            ]
    keys = 0
    found = []
    for path, value in _all(data, ()):
        keys += isinstance(path[-1], str)
        if keys > MOST_KEYS:
            return [Finding((), f"there are more than {MOST_KEYS:,} keys.", "Is this the file?")]
        if what := _wrong(path, value):
            found.append(Finding(path[:DEEPEST], *what))
    return found


def _all(data: Mapping[str, Any], above: Path) -> Iterator[tuple[Path, Any]]:
    """Every value with its path, tables and members of lists too, to a depth."""
    for name, value in data.items():
        path = (*above, name)
        yield path, value
        if isinstance(value, list):
            value = dict(enumerate(value[:MOST_MEMBERS]))
        if isinstance(value, dict) and len(path) <= DEEPEST + 1:
            yield from _all(value, path)


def _wrong(path: Path, value: Any) -> tuple[str, str] | None:
    name = str(path[-1])
    if len(name) > LONGEST_KEY:
        return f"the key has {len(name):,} characters.", f"Write at most {LONGEST_KEY}."
    if isinstance(value, dict | list) and len(path) > DEEPEST + 1:
        return "is nested too deeply.", f"A key has at most {DEEPEST} words."
    if isinstance(value, list) and len(value) > MOST_MEMBERS:
        return f"the list has {len(value):,} members.", f"Write at most {MOST_MEMBERS:,}."
    if isinstance(value, int) and abs(value) >= LARGEST_NUMBER:
        return "the number is far too large.", "Check the number."
    if not isinstance(value, str):
        return None
    if len(value) > LONGEST_TEXT:
        return f"the text has {len(value):,} characters.", f"Write at most {LONGEST_TEXT:,}."
    if hidden := hidden_in(value):
        return (f"has a character that cannot be shown (U+{ord(hidden):04X}).", "Take it out.")
    return None
