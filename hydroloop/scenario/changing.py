"""Changing: other values for some keys, and what a factor makes of them."""

from __future__ import annotations

import datetime as dt
import sys
import tomllib
from collections.abc import Mapping, Sequence
from numbers import Integral, Real
from typing import Any, Protocol

from hydroloop import units
from hydroloop.scenario.draft import Finding
from hydroloop.scenario.messages import unknown_key, whole_table
from hydroloop.scenario.nearest import nearest, offer
from hydroloop.scenario.quantities import shown
from hydroloop.scenario.schema import ScenarioFile
from hydroloop.scenario.tree import Path, dotted, find

_KINDS = ("river", "reservoir", "aquifer", "town", "stage")


def value_from_text(text: str, key: str = "") -> Any:
    """What a value typed on a command line means: as TOML reads it, else the text itself; None for
    `default`, which takes the key out. Where `key` has a unit a bare number stays text, to be
    refused as it is in a file."""
    if len(text) > 2000:
        return text
    if text.strip() == "default":
        return None
    try:
        read = tomllib.loads(f"value = {text.strip()}")
    except (ValueError, RecursionError):
        return text.strip()
    value = read["value"] if list(read) == ["value"] else text.strip()
    is_number = isinstance(value, int | float) and not isinstance(value, bool)
    here = find(key.replace("*", "any").split(".")) if key and is_number else None
    return text.strip() if here is not None and here.dimension else value


def applied(
    data: dict[str, Any], changes: Mapping[str, Any]
) -> tuple[dict[str, Any], dict[Path, Any], list[Finding]]:
    """Values set in copies of the tables: new tables, values by path, what is wrong."""
    changed = data
    done: dict[Path, Any] = {}
    missing: list[Path] = []
    findings: list[Finding] = []
    for key, value in changes.items():
        for path in _paths(changed, key):
            finding = _no_such(path)
            if finding:
                findings.append(finding)
                continue
            if _is_missing(changed, path, value):
                missing.append(path)
                continue
            done[path] = _as_written(path, value)
            changed = with_value(changed, path, done[path])
    return changed, done, findings + _missing_places(data, missing)


def _paths(data: Mapping[str, Any], key: str) -> list[Path]:
    """The path of a dotted key; of all places of that kind if the name is a star."""
    words = tuple(key.strip().split("."))
    if len(words) > 1 and words[1] == "*" and words[0] in _KINDS:
        return [(words[0], name, *words[2:]) for name in data.get(words[0], {})] or [words]
    return [words]


def _no_such(path: Path) -> Finding | None:
    """Say so where a key does not exist."""
    for end in range(1, len(path) + 1):
        if find(path[:end]) is None:
            return unknown_key(path[:end])
    return None


def _is_missing(data: Mapping[str, Any], path: Path, value: Any = None) -> bool:
    """Whether a key belongs to a place or a stage that is neither there nor added by it."""
    if path[0] not in _KINDS or len(path) < 2 or path[1] in data.get(str(path[0]), {}):
        return False
    return len(path) > 2 or not isinstance(value, Mapping)


def _missing_places(data: Mapping[str, Any], paths: Sequence[Path]) -> list[Finding]:
    """Say once of each place or stage that it is not there, and which of its keys were given."""
    keys: dict[Path, list[Path]] = {}
    for path in paths:
        keys.setdefault(path[:2], []).append(path)
    return [_missing_place(data, place, own) for place, own in keys.items()]


def _missing_place(data: Mapping[str, Any], place: Path, paths: Sequence[Path]) -> Finding:
    kind, name = str(place[0]), str(place[1])
    names = data.get(kind, {})
    cure = offer(name, names)
    if not nearest(name, names):
        cure += f" To add it, set all its keys at once: {whole_table(kind, name)}"
    what = f'there is no {kind} "{name}"'
    if len(paths) == 1:
        return Finding(paths[0], f"{what}.", cure)
    inside = ", ".join(dotted(path[2:]) for path in paths if path[2:])
    return Finding(place, f"{what}, so its keys {inside} cannot be changed.", cure)


def _as_written(path: Path, value: Any) -> Any:
    """A plain number as it would be written in the file, in the held unit."""
    here = find(path)
    if isinstance(value, list | tuple):
        return [_as_written(path, member) for member in value]
    if isinstance(value, Mapping):
        return {
            str(name): _as_written((*path, str(name)), inner)
            for name, inner in value.items()
            if inner is not None
        }
    if isinstance(value, bool | dt.date | str) or value is None:
        return value
    plain = _plain_number(value)
    if plain is None:
        return str(value)
    if not here or not here.dimension or here.dimension in units.WITHOUT_UNIT:
        return plain
    is_told = abs(plain) <= sys.float_info.max  # a whole number may be longer
    return with_unit(plain, here.dimension) if is_told else plain


def _plain_number(value: Any) -> int | float | None:
    """A number of any library as one of Python's own."""
    if isinstance(value, Integral):
        return int(value)
    return float(value) if isinstance(value, Real) else None


def with_unit(value: float, dimension: str) -> str:
    """A number in its held unit, as a text that reads back to the same number."""
    if dimension in ("", *units.WITHOUT_UNIT):
        return repr(float(value))
    return f"{value!r} {units.DIMENSIONS[dimension].held}"


def with_value(data: dict[str, Any], path: Path, value: Any) -> dict[str, Any]:
    """The tables with another value at a path; tables that it does not lie in are shared."""
    name, below = str(path[0]), path[1:]
    if not below:
        if value is None:
            return {key: member for key, member in data.items() if key != name}
        return {**data, name: value}
    inner = data.get(name)
    if not isinstance(inner, dict):
        if value is None:
            return data
        inner = {}
    return {**data, name: with_value(inner, below, value)}


class Held(Protocol):
    """What a scenario holds: its tables, the values read from them, and the ranges among them."""

    @property
    def data(self) -> dict[str, Any]: ...
    @property
    def model(self) -> ScenarioFile: ...
    @property
    def ranges(self) -> Mapping[str, tuple[float, float]]: ...


def scaled_values(held: Held, factors: Mapping[str, float]) -> tuple[dict[str, Any], list[Finding]]:
    """What the keys become when they are multiplied, by dotted key, and what is wrong."""
    changes: dict[str, Any] = {}
    findings: list[Finding] = []
    missing: list[Path] = []
    for key, factor in factors.items():
        for path in _paths(held.data, key):
            if _is_missing(held.data, path) and not _no_such(path):
                missing.append(path)
                continue
            outcome = _scaled(held, path, factor)
            if isinstance(outcome, Finding):
                findings.append(outcome)
            else:
                changes.update(outcome)
    return changes, findings + _missing_places(held.data, missing)


def _scaled(held: Held, path: Path, factor: Any) -> dict[str, Any] | Finding:
    by = None if isinstance(factor, bool) else _plain_number(factor)
    if by is None or not 0 <= by < 1e6:
        return Finding(path, f"{shown(factor)} is not a factor.", "Write a number from 0 up.")
    wrong = _no_such(path)
    if wrong:
        return wrong
    here, now = find(path), value_at(held.model, path)
    key = dotted(path)
    if hasattr(now, "file") and hasattr(now, "scale"):
        return {f"{key}.scale": now.scale * by}
    if isinstance(now, list) and here and here.dimension == "river_flow":
        return {key: [with_unit(month * by, here.dimension) for month in now]}
    if now is None:
        return Finding(
            path,
            "has no value of its own here that could be scaled.",
            "Set it first; hydroloop explain says how it is worked out.",
        )
    if isinstance(now, bool) or not isinstance(now, float) or here is None:
        return Finding(path, "is not a number that can be scaled.", "Set it instead.")
    if key in held.ranges:
        low, high = (end * by for end in held.ranges[key])
        return {key: f"{with_unit(low, here.dimension)} to {with_unit(high, here.dimension)}"}
    return {key: now * by}


def value_at(model: ScenarioFile, path: Path) -> Any:
    here: Any = model
    for word in path:
        here = here.get(word) if isinstance(here, dict) else getattr(here, str(word), None)
    return here
