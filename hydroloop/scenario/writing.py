"""Writing: a scenario back to TOML, its comments kept."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from typing import Any

from hydroloop.scenario.tree import Path


def edited(text: str, changes: Mapping[Path, Any], data: dict[str, Any]) -> str:
    """Write changes by path into a TOML text (None takes a key out) and keep its comments; written
    afresh, without them, where the layout cannot be edited in place."""
    if not changes:
        return text
    import tomlkit
    from tomlkit.exceptions import TOMLKitError

    try:
        document = tomlkit.parse(text)
        for path, value in changes.items():
            _put(document, path, value)
        written = tomlkit.dumps(document)
        if tomllib.loads(written) == data:
            return written
    except (TOMLKitError, ValueError, KeyError, TypeError, AttributeError):
        pass
    return tomlkit.dumps(data)


def _put(document: Any, path: Path, value: Any) -> None:
    import tomlkit

    here = document
    for word in path[:-1]:
        if word not in here:
            if value is None:
                return
            here[word] = tomlkit.table() if not _inline(here) else tomlkit.inline_table()
        here = here[word]
    if value is None:
        here.pop(path[-1], None)
    else:
        here[path[-1]] = value


def _inline(table: Any) -> bool:
    from tomlkit.items import InlineTable

    return isinstance(table, InlineTable)
