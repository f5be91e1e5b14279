"""Other numbers for keys that are there: only they are checked, not all that stands around them."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path as FilePath
from typing import Any

from pydantic import ValidationError

from hydroloop.scenario.changing import with_value
from hydroloop.scenario.draft import Draft
from hydroloop.scenario.limits import limit_checks
from hydroloop.scenario.schema import ScenarioFile
from hydroloop.scenario.size import too_much
from hydroloop.scenario.tree import Path


def renumbered(
    model: ScenarioFile,
    data: tuple[Mapping[str, Any], Mapping[str, Any]],
    changes: Mapping[Path, Any],
    asked: Collection[Path],
) -> ScenarioFile | None:
    """A valid model with other numbers, or texts, for keys that are there; None where that may be
    wrong or is more than that, so that the whole must be checked. `data` are the tables before and
    after, `asked` the keys whose values cross-checks look at."""
    before, after = data
    tree: dict[str, Any] = {}
    for path, value in changes.items():
        if path in asked or not (_is_plain(value) and _is_plain(_at(before, path))):
            return None
        tree = with_value(tree, path, value)
    if too_much(tree) or any(limit_checks(Draft(tree, FilePath()))):
        return None
    try:
        renewed: ScenarioFile = _renewed(model, tree, after)
    except ValidationError:
        return None
    return renewed


def _is_plain(value: Any) -> bool:
    return isinstance(value, str | int | float) and not isinstance(value, bool)


def _at(data: Mapping[str, Any], path: Path) -> Any:
    here: Any = data
    for word in path:
        here = here.get(word) if isinstance(here, dict) else None
    return here


def _renewed(here: Any, tree: Mapping[str, Any], data: Mapping[str, Any]) -> Any:
    """A part, or parts by name, with what the tree of changes holds read anew from the data."""
    if not all(isinstance(below, dict) for below in tree.values()):
        return type(here).model_validate(data)
    if isinstance(here, dict):
        return here | {
            name: _renewed(here[name], below, data[name]) for name, below in tree.items()
        }
    return here.model_copy(
        update={
            name: _renewed(getattr(here, name), below, data[name]) for name, below in tree.items()
        }
    )
