"""Bundled scenarios: those that come with hydroloop.

In a checkout they lie in ``scenarios/`` beside the package; in an installed copy they lie inside
it, in ``hydroloop/_scenarios``, where the build puts the same folder.
"""

from __future__ import annotations

from pathlib import Path

_PACKAGE = Path(__file__).resolve().parent.parent


def bundled_folder() -> Path:
    """Folder of the bundled scenarios.

    Returns
    -------
    pathlib.Path
        Inside the installed package, or beside it in a checkout.

    Examples
    --------
    >>> (bundled_folder() / "first_town.toml").is_file()
    True
    """
    inside = _PACKAGE / "_scenarios"
    return inside if inside.is_dir() else _PACKAGE.parent / "scenarios"


def bundled_scenarios() -> list[str]:
    """Names of the scenarios that come with hydroloop.

    Returns
    -------
    list of str
        In alphabetical order; each can be given to `read_scenario`.

    Examples
    --------
    >>> "five_towns" in bundled_scenarios()
    True
    """
    return sorted(file.stem for file in bundled_folder().glob("*.toml"))


def bundled_path(name: str) -> Path | None:
    """File of a bundled scenario.

    Parameters
    ----------
    name : str
        Its name, with or without ``.toml``; with ``scenarios/`` in front too.

    Returns
    -------
    pathlib.Path or None
        None if there is no such scenario.
    """
    stem = name.replace("\\", "/").removeprefix("scenarios/").removesuffix(".toml")
    return bundled_folder() / f"{stem}.toml" if stem in bundled_scenarios() else None
