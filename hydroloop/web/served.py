"""The folder that is served: scenarios by name, and nothing that lies outside of it."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path
from typing import NamedTuple

_NAME = re.compile(r"[A-Za-z0-9][\w-]{0,79}")
_MOST_BYTES = 2_000_000  # a larger file is not opened for its title
_MOST_LISTED = 500


class Served(NamedTuple):
    """A scenario of the folder.

    Attributes
    ----------
    name : str
        Its file's name without the ending.
    title : str
        As its file has it; empty where the file cannot be read.
    """

    name: str
    title: str


def scenarios_in(folder: Path) -> list[Served]:
    """Scenarios of a folder, by name."""
    files = [path for path in sorted(folder.glob("*.toml")) if find(folder, path.stem) is not None]
    listed = [Served(path.stem, _title(path)) for path in files[:_MOST_LISTED]]
    return [one for one in listed if one.title]


def find(folder: Path, name: str) -> Path | None:
    """File of a scenario; None where there is none of that name inside the folder."""
    if not _NAME.fullmatch(name):
        return None
    path = folder / f"{name}.toml"
    try:
        inside = path.resolve().is_relative_to(folder.resolve())
        return path if inside and path.is_file() else None
    except (OSError, RuntimeError):
        return None


def stamp(path: Path) -> tuple[int, ...]:
    """Changes when the scenario or a table beside it does."""
    files = [path, *sorted(path.parent.glob("*.csv"))[:_MOST_LISTED]]
    stats = [one.stat() for one in files if one.exists()]
    return tuple(number for one in stats for number in (one.st_mtime_ns, one.st_size))


def _title(path: Path) -> str:
    """Title of a scenario; empty for a file that is no scenario."""
    try:
        if path.stat().st_size > _MOST_BYTES:
            return ""
        data = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (OSError, ValueError, RecursionError):
        return ""
    is_scenario = "season" in data and "town" in data
    return str(data.get("title", path.stem))[:200] if is_scenario else ""
