"""Bundled scenarios: those that come with hydroloop.

In a checkout they lie in ``scenarios/`` beside the package; in an installed copy they lie inside
it, in ``hydroloop/_scenarios``, where the build puts the same folder.
"""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def bundled_folder() -> Path:
    """Folder of the bundled scenarios."""
    inside = _PACKAGE / "_scenarios"
    return inside if inside.is_dir() else _PACKAGE.parent / "scenarios"


def bundled_scenarios() -> list[str]:
    """Names of the scenarios that come with hydroloop, in alphabetical order."""
    return sorted(file.stem for file in bundled_folder().glob("*.toml"))


def bundled_path(name: str) -> Path | None:
    """File of a bundled scenario (`.toml` and `scenarios/` may be left out); None without one."""
    stem = name.replace("\\", "/").removeprefix("scenarios/").removesuffix(".toml")
    return bundled_folder() / f"{stem}.toml" if stem in bundled_scenarios() else None
