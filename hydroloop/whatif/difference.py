"""Where two scenarios differ, as changes that can be made one by one."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from hydroloop.errors import InputError, Problem
from hydroloop.scenario import Scenario
from hydroloop.scenario.tree import Path as KeyPath
from hydroloop.scenario.tree import dotted, leaves
from hydroloop.whatif.plan import Plan

_KINDS = ("river", "reservoir", "aquifer", "town", "stage")
_SAYS_NOTHING = (("title",), ("about",))


@dataclass(frozen=True)
class Change:
    """Something that can be changed in a scenario, alone or after others."""

    name: str  # what it is, in a few words
    act: Callable[[Scenario], Scenario]  # takes a scenario and returns the changed one


def changes_of_plan(plan: Plan) -> list[Change]:
    """Steps of a plan as changes, in its order."""
    return [Change(step.what, step.taken) for step in plan.steps]


def changes_asked(sets: Mapping[str, Any], scales: Mapping[str, float]) -> list[Change]:
    """Values and factors by key as changes, each as it was asked for: a key with a star is one."""
    return [
        *(_setting(key, value) for key, value in sets.items()),
        *(Change(key, _scaler(key, factor)) for key, factor in scales.items()),
    ]


def changes_between(before: Scenario, after: Scenario) -> list[Change]:
    """Changes that lead from one scenario to another, one for each key that differs; a place that
    only one of them has is one change."""
    _same_files(before, after)
    return [
        *(_setting(key, value) for key, value in _differing(before, after).items()),
        *(
            Change(f"works of {town}", _setter(sizes))
            for town, sizes in _resized(before, after).items()
        ),
    ]


def grouped(before: Scenario, after: Scenario) -> list[Change]:
    """The same changes, those of one place together: for keys that do not stand alone."""
    groups: dict[str, dict[str, Any]] = {}
    for key, value in _differing(before, after).items():
        words = key.split(".")
        place = ".".join(words[:2] if words[0] in _KINDS else words[:1])
        groups.setdefault(place, {})[key] = value
    for town, sizes in _resized(before, after).items():
        groups.setdefault(f"town.{town}", {}).update(sizes)
    return [Change(place, _setter(changes)) for place, changes in groups.items()]


def inputs_that_differ(before: Scenario, after: Scenario) -> list[tuple[str, str, str]]:
    """Keys that differ, with values before and after; "default" where nothing was written."""
    old, new = (dict(_written(scenario)) for scenario in (before, after))
    keys = [path for path in {**old, **new} if old.get(path) != new.get(path)]
    return [(dotted(path), _shown(old.get(path)), _shown(new.get(path))) for path in keys]


def _differing(before: Scenario, after: Scenario) -> dict[str, Any]:
    changes: dict[str, Any] = {}
    for kind in _KINDS:
        old, new = before.data.get(kind, {}), after.data.get(kind, {})
        changes |= {f"{kind}.{name}": None for name in old if name not in new}
        changes |= {f"{kind}.{name}": new[name] for name in new if name not in old}
    places = {tuple(key.split(".")) for key in changes}
    old_keys, new_keys = (dict(_written(scenario)) for scenario in (before, after))
    for path in {**old_keys, **new_keys}:
        if path[:2] in places or path in _SAYS_NOTHING:
            continue
        if old_keys.get(path) != new_keys.get(path):
            changes[dotted(path)] = new_keys.get(path)
    return changes


def _resized(before: Scenario, after: Scenario) -> dict[str, dict[str, Any]]:
    """Works of each town that the two files size otherwise and do not give, with their sizes."""
    changes: dict[str, dict[str, Any]] = {}
    for path, size in after.works.items():
        key = dotted(path)
        if before.works.get(path, size) != size and not {key} & (before.given | after.given):
            changes.setdefault(str(path[1]), {})[key] = size
    return changes


def _written(scenario: Scenario) -> Mapping[KeyPath, Any]:
    return dict(leaves(scenario.data))


def _setting(key: str, value: Any) -> Change:
    words = f"{key} taken out" if value is None else key
    return Change(words, _setter({key: value}))


def _setter(changes: dict[str, Any]) -> Callable[[Scenario], Scenario]:
    return lambda scenario: scenario.changed(changes)


def _scaler(key: str, factor: float) -> Callable[[Scenario], Scenario]:
    return lambda scenario: scenario.scaled({key: factor})


def _shown(value: Any) -> str:
    return "default" if value is None else str(value)


def _same_files(before: Scenario, after: Scenario) -> None:
    """Refuse scenarios whose data files are not the same under the same name."""
    if before.folder.resolve() == after.folder.resolve():
        return
    problems = []
    for path, value in _written(after).items():
        if isinstance(value, str) and value.lower().endswith(".csv"):
            mine, other = (Path(s.folder) / value for s in (before, after))
            if not mine.is_file() or mine.read_bytes() != other.read_bytes():
                problems.append(
                    Problem(
                        after.source.name,
                        f"{value} is another file than in {before.folder}.",
                        "Put both scenarios and their data files into one folder.",
                        dotted(path),
                    )
                )
    if problems:
        raise InputError(problems)
