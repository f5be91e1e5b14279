"""Drawing values from the ranges of a scenario."""

from __future__ import annotations

import warnings
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np

from hydroloop.errors import InputError, Problem, ScenarioError
from hydroloop.scenario.changing import with_unit
from hydroloop.scenario.nearest import offer
from hydroloop.scenario.settled import Scenario
from hydroloop.scenario.tree import find

METHODS = ("latin_hypercube", "sobol")
"""Ways to draw."""

MOST_MEMBERS = 1_000_000


def sampled(
    ranges: Mapping[str, tuple[float, float]],
    members: int,
    *,
    seed: int = 1,
    method: str = "latin_hypercube",
) -> np.ndarray:
    """Values of each range (low and high in the held unit) for each member, shape (member, key).
    Every value within a range is taken as equally likely, ranges as independent: the user's claim.
    McKay, Beckman and Conover 1979, Technometrics 21:239; Owen 1998, J. Complexity 14:466."""
    _check(members, seed, method)
    if not ranges:
        return np.zeros((members, 0))
    low, high = np.array(list(ranges.values()), dtype=float).T
    return np.asarray(low + _unit(members, len(ranges), seed, method) * (high - low))


def _check(members: Any, seed: Any, method: str) -> None:
    problems = []
    if not _is_whole(members) or members < 1:
        problems.append(
            Problem(
                "members",
                f"{members!r} is not a number of members.",
                "Give a whole number from 1 up.",
            )
        )
    elif members > MOST_MEMBERS:
        problems.append(
            Problem(
                "members",
                f"{members} is more than {MOST_MEMBERS:,}.",
                "Run them in parts, each with its own seed.",
            )
        )
    if not _is_whole(seed) or seed < 0:
        problems.append(
            Problem("seed", f"{seed!r} is not a whole number from 0 up.", "Write for example 1.")
        )
    if method not in METHODS:
        cure = offer(str(method), METHODS) or f"Choose from {', '.join(METHODS)}."
        problems.append(Problem("method", f'there is no way to draw called "{method}".', cure))
    if problems:
        raise InputError(problems)


def _is_whole(value: Any) -> bool:
    return isinstance(value, int | np.integer) and not isinstance(value, bool)


def _unit(members: int, keys: int, seed: int, method: str) -> np.ndarray:
    """Points in the unit cube, shape (member, key)."""
    from scipy.stats import qmc

    chance = np.random.default_rng(seed)
    if method == "latin_hypercube":
        return np.asarray(qmc.LatinHypercube(keys, seed=chance).random(members))
    with warnings.catch_warnings():
        # Said for numbers that are no power of two: a little less even, still right.
        warnings.simplefilter("ignore", UserWarning)
        return np.asarray(qmc.Sobol(keys, seed=chance).random(members))


def changes_for(scenario: Scenario, keys: Sequence[str], values: Sequence[float]) -> dict[str, Any]:
    """Changes, for `Scenario.changed`, that give keys the values drawn for them in the held unit; a
    number at the end of a key counts places in a list."""
    changes: dict[str, Any] = {}
    for key, value in zip(keys, values, strict=True):
        head, _, last = key.rpartition(".")
        if not last.isdigit():
            changes[key] = float(value)
            continue
        here = find(head.split("."))
        whole = changes.get(head) or list(_list_at(scenario, head))
        dimension = here.dimension if here else ""
        whole[int(last)] = with_unit(float(value), dimension) if dimension else float(value)
        changes[head] = whole
    return changes


def check_ends(scenario: Scenario) -> None:
    """Make sure that a scenario is possible at both ends of each of its ranges, the others in the
    middle: what cannot be is told before a long run, and not by one of its members."""
    problems = list[Problem]()
    for key, ends in scenario.ranges.items():
        for name, end in zip(("lower", "upper"), ends, strict=True):
            try:
                scenario.changed(changes_for(scenario, [key], [end]))
            except ScenarioError as error:
                problems += [
                    Problem(one.where, f"at the {name} end of {key}: {one.what}", one.cure, one.key)
                    for one in error.problems
                ]
    if problems:
        raise ScenarioError(problems)


def _list_at(scenario: Scenario, key: str) -> list[Any]:
    data: Any = scenario.data
    for word in key.split("."):
        data = data[word]
    return list(data)
