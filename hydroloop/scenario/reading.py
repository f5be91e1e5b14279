"""Reading: from a file, or a text, to a scenario."""

from __future__ import annotations

import contextlib
import os
import re
import tomllib
from pathlib import Path
from typing import Any

from hydroloop import units
from hydroloop.errors import InputError, Problem, ScenarioError
from hydroloop.opening import file_bytes
from hydroloop.scenario.bundled import bundled_path, bundled_scenarios
from hydroloop.scenario.nearest import offer
from hydroloop.scenario.settled import Scenario, Source, settle
from hydroloop.scenario.size import unreadable_line

LARGEST_BYTES = 2_000_000


def read_scenario(path: str | os.PathLike[str]) -> Scenario:
    """Read a scenario file.

    Everything is checked at once; what is allowed but unusual is in ``.warnings``.

    Parameters
    ----------
    path : str or path
        A TOML file, or the name of a bundled scenario, such as ``"first_town"``.

    Returns
    -------
    Scenario
        Complete, checked, and held in the inner units.

    Raises
    ------
    ScenarioError
        With every problem: file and line, what was given, what is allowed, what to do.

    Examples
    --------
    >>> scenario = read_scenario("first_town")
    >>> scenario.town["larkmill"].people
    24000.0
    """
    file = _existing(Path(path))
    return settled_text(_text(file), folder=file.parent, path=file)


def read_toml(text: str, *, folder: str | os.PathLike[str] = ".") -> Scenario:
    """Read a scenario from a TOML text, such as a record carries."""
    return settled_text(text, folder=Path(folder), path=None)


def settled_text(text: str, *, folder: Path, path: Path | None) -> Scenario:
    """Check a TOML text and settle it; `path` is the file for messages, if there is one."""
    source = Source(text, folder, path)
    return settle(_tables(text, source.name), source)


def _existing(path: Path) -> Path:
    """The file meant: the path itself, the same with .toml, or a bundled scenario."""
    here: list[str] = []
    is_folder = False
    with contextlib.suppress(ValueError, OSError):  # a name that no file can have
        is_folder = path.is_dir()
        if path.exists() and not is_folder:
            return path
        if path.name and not path.suffix and path.with_suffix(".toml").is_file():
            return path.with_suffix(".toml")
        here = sorted(file.name for file in path.parent.glob("*.toml"))
    if bundled := bundled_path(str(path)):
        return bundled
    if is_folder:
        raise _wrong(path, "is a folder.", "Name the scenario file in it.")
    raise _wrong(path, "there is no such file, nor a bundled scenario of that name.",
                 offer(path.name, [*here, *bundled_scenarios()]))


def _text(file: Path) -> str:
    try:
        content = file_bytes(file, LARGEST_BYTES, "a scenario")
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise _wrong(file, "is not a text in UTF-8.", "Save it as UTF-8 text.") from None
    except InputError as error:
        raise ScenarioError(error.problems) from None


def _tables(text: str, name: str) -> dict[str, Any]:
    if not text.strip():
        raise ScenarioError(Problem(name, "is empty.", "hydroloop new writes one to start from."))
    if problem := unreadable_line(text, name):
        raise ScenarioError(problem)
    try:
        data = tomllib.loads(text)
    except RecursionError:
        raise ScenarioError(Problem(name, "is nested too deeply.",
                                    "A scenario has tables of at most four levels.")) from None
    except ValueError as error:
        raise ScenarioError(_not_toml(str(error), text, name)) from None
    if not data:
        raise ScenarioError(Problem(name, "holds nothing but comments.",
                                    "hydroloop new writes one to start from."))
    return data


_AT = re.compile(r"\s*\(at (?:line (\d+), column \d+|end of document)\)")
_HINTS = (
    (re.compile(r"=\s*[-+]?[\d.,]+\s*(?:to|[A-Za-z%°])"),
     'Put quotes around a quantity: capacity = "4.5 Mgal/day".'),
    (re.compile(r"=\s*[A-Za-z]"), 'Put quotes around a text: river = "wren".'),
    (re.compile(r"=\s*[-+]?\d[\d.]*,\d"),
     'Write numbers without commas, or in quotes: people = 24000.'),
    (re.compile(r"^\s*[\w.]+\s*:"), "Write key = value, with an equals sign."),
    (re.compile(r"=\s*$"), "Write a value after the equals sign."),
)


def _not_toml(message: str, text: str, name: str) -> Problem:
    """What tomllib says, with the line, and a hint from what stands there."""
    at = _AT.search(message)
    line = int(at[1]) if at and at[1] else text.rstrip().count("\n") + 1
    lines = text.splitlines()
    said = _AT.sub("", message).strip()
    if "verwrite" in said or "twice" in said or "utable" in said:
        cure = "Each key and each table may stand only once."
    else:
        there = lines[line - 1] if 0 < line <= len(lines) else ""
        cure = next((hint for pattern, hint in _HINTS if pattern.search(there)),
                    "Look at this line and the one above for a missing quote or bracket.")
    return Problem(f"{name}:{line}", f"is not valid TOML here ({said}).", cure)


def _wrong(path: Path, what: str, cure: str) -> ScenarioError:
    return ScenarioError(Problem(units.one_line(str(path), 200), what, cure))
