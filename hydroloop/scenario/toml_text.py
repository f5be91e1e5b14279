"""A TOML text as tables; where it is none, every line with what it probably lacks."""

from __future__ import annotations

import re
import tomllib
from typing import Any

from hydroloop import units
from hydroloop.errors import InputError, Problem
from hydroloop.scenario.size import unreadable_line

_MOST = 20  # lines that are told at once
_AT = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)")
_CURLY = "\u201c\u201d\u201e\u201f\u2018\u2019\u201a\u00ab\u00bb"
_HINTS = (
    (re.compile(r"^\{\\rtf"), "This is a word processor's file: save it as plain text."),
    (re.compile(f"[{_CURLY}]"), 'These quotes are curly: write straight ones, ".'),
    (
        re.compile(r"[\u00a0\u2007\u202f\u200b]"),
        "A space here is not a plain one: type the spaces of this line again.",
    ),
    (re.compile(r'^[^"=]*"[^"=]*"\s*:|^\s*[\w.-]+\s*:'), "Write key = value, with an equals sign."),
    (re.compile(r'^\s*[\w."-]+\s+[^=]*$'), "An equals sign is missing: write key = value."),
    (re.compile(r"=\s*$"), "Write a value after the equals sign."),
    (
        re.compile(r'^[^"\']*("[^"]*"[^"]*)*"[^"]*$'),
        'A quote is missing: a text has one at either end, river = "wren".',
    ),
    (
        re.compile(r"=\s*[-+]?[\d.,]+\s*(?:to|[A-Za-z%°])"),
        'Put quotes around a quantity: capacity = "4.5 Mgal/day".',
    ),
    (
        re.compile(r"=\s*(?!(?:true|false|inf|nan)\b)[A-Za-z]"),
        'Put quotes around a text: river = "wren".',
    ),
    (
        re.compile(r"=\s*[-+]?\d[\d.]*,\d"),
        "Write numbers without commas, or in quotes: people = 24000.",
    ),
)
_SAID = {  # what the reader says, by its begin, and in plain words
    "Expected newline or end of document": "more than one value",
    "Invalid value": "not a value",
    "Invalid statement": "a line begins with a key or a bracket",
    "Expected '='": "no equals sign behind the key",
    "Illegal character '\\n'": "a quote is missing at the end",
    "Unterminated string": "a quote is missing at the end",
    "Cannot overwrite": "it is there twice",
    "Cannot declare": "it is there twice",
}
_HEAD = re.compile(r"^\s*\[")
_SOMEWHERE = "Look at this line and the one above for a missing quote or bracket."


def tables_of(text: str, name: str) -> dict[str, Any]:
    """What a TOML text called `name` holds; refused with every wrong line, each with what it
    probably lacks."""
    if problem := unreadable_line(text, name):
        raise InputError(problem)
    lines, problems = text.split("\n"), list[Problem]()
    while True:
        try:
            data = tomllib.loads("\n".join(lines))
        except RecursionError:
            raise InputError(
                Problem(name, "is nested too deeply.", "Tables have at most four levels.")
            ) from None
        except ValueError as error:
            line, problem, is_known = _found(str(error), lines, name)
            problems.append(problem)
            if not is_known or len(problems) >= _MOST:
                raise InputError(problems) from None
            lines[line - 1] = ""  # and what is wrong below it?
            continue
        if problems:
            raise InputError(problems)
        return data


def _found(message: str, lines: list[str], name: str) -> tuple[int, Problem, bool]:
    """The line that the reader stopped at, what is wrong there, and whether the lines below can be
    read without it."""
    at = _AT.search(message)
    line = int(at[1]) if at and at[1] else len("\n".join(lines).rstrip().split("\n"))
    there, said = lines[line - 1].strip(), _AT.sub("", message).strip()
    is_known = False
    if "verwrite" in said or "twice" in said or "utable" in said:
        cure = "Each key and each table may stand only once."
    elif _HEAD.match(there):
        cure = (
            "A bracket is missing: write [plan] with one at either end, [[step]] with two."
            if (there.count("[") != there.count("]"))
            else _SOMEWHERE
        )
    else:
        hint = next((hint for pattern, hint in _HINTS if pattern.search(there)), "")
        cure, is_known = hint or _SOMEWHERE, bool(hint)
    said = next((words for start, words in _SAID.items() if said.startswith(start)), said)
    what = (
        f"is not valid TOML here: {units.one_line(there, 60)} ({said})."
        if there
        else (f"is not valid TOML here ({said}).")
    )
    return line, Problem(f"{name}:{line}", what, cure), is_known
