"""Reading: from a file, or a text, to a scenario."""

from __future__ import annotations

import contextlib
import os
from pathlib import Path
from typing import Any

from hydroloop import units
from hydroloop.errors import InputError, Problem, ScenarioError
from hydroloop.opening import file_bytes
from hydroloop.scenario.bundled import bundled_path, bundled_scenarios
from hydroloop.scenario.nearest import offer
from hydroloop.scenario.settled import Scenario, Source, settle
from hydroloop.scenario.toml_text import tables_of

LARGEST_BYTES = 2_000_000
_RECORD = b"\x89HDF"  # how a NetCDF file begins


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
    raise _wrong(
        path,
        "there is no such file, nor a bundled scenario of that name.",
        offer(path.name, [*here, *bundled_scenarios()]),
    )


def _text(file: Path) -> str:
    try:
        content = file_bytes(file, LARGEST_BYTES, "a scenario")
        if content.startswith(_RECORD):
            raise _wrong(
                file,
                "is a water record, not a scenario: the record of a run, or of somebody's tables.",
                "hydroloop glass and hydroloop drops tell of a record (.nc), and in Python "
                "hl.read_record reads it.",
            )
        return content.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError:
        raise _wrong(file, "is not a text in UTF-8.", "Save it as UTF-8 text.") from None
    except InputError as error:
        raise ScenarioError(error.problems) from None


def _tables(text: str, name: str) -> dict[str, Any]:
    if not text.strip():
        raise ScenarioError(Problem(name, "is empty.", "hydroloop new writes one to start from."))
    try:
        data = tables_of(text, name)
    except InputError as error:
        raise ScenarioError(error.problems) from None
    if not data:
        raise ScenarioError(
            Problem(name, "holds nothing but comments.", "hydroloop new writes one to start from.")
        )
    return data


def _wrong(path: Path, what: str, cure: str) -> ScenarioError:
    return ScenarioError(Problem(units.one_line(str(path), 200), what, cure))
