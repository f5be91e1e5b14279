"""What a plan costs by the prices of a brief, and whether all of it is allowed."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from numbers import Real
from typing import Any, NamedTuple

from hydroloop.charts.words import place_words
from hydroloop.errors import InputError, Problem
from hydroloop.judging.brief import Allowed, Brief
from hydroloop.scenario import Scenario
from hydroloop.scenario.changing import value_at
from hydroloop.scenario.tree import quoted
from hydroloop.whatif import Plan, Step
from hydroloop.whatif.ready_made import changes_of

_SLACK = 1e-6
_MOST_KEYS = 60  # that a step of a plan may set or scale


class Charge(NamedTuple):
    """One change that a plan makes, in one town."""

    # name in the brief, and in words, without and with the town
    name: str
    what: str
    words: str
    place: str  # the town, or the key where it is of no town
    points: float  # its price
    values: Mapping[str, Any]  # what it sets, by dotted key
    amount: str = ""  # how much, as the plan has it; empty where there is nothing to choose


class _Asked(NamedTuple):
    """What a step asks for: where it stands, a measure or a key, and what may be chosen of it."""

    at: str
    name: str
    given: Mapping[str, Any]  # by the name of an option; of a key under an empty name


def charged(brief: Brief, plan: Plan) -> list[Charge]:
    """What a plan changes, each with its price; refused with all that is wrong in it."""
    problems, found = list[Problem](), list[Charge]()
    for step in plan.steps:
        at = f"{step.where}: {step.called}"
        if step.measure:
            _measured(brief, step, at, found, problems)
        for asked, values in _set_by(step, at, brief.season, problems):
            words = asked.name.split(".")
            town = words[1] if words[0] == "town" and len(words) > 2 else asked.name
            fit = {
                name: one
                for name, one in brief.allow.items()
                if one.key and asked.name in (one.key, one.keys_in(town))
            }
            _add(found, problems, asked, fit, town, values, brief)
    taken: dict[str, Charge] = {}
    for one in found:
        for key in one.values:
            if key in taken:
                problems.append(
                    Problem(
                        plan.title,
                        f"{one.words} changes {key}, which {taken[key].words} changes too.",
                        "Do one of them once.",
                    )
                )
            taken[key] = one
    total = sum(one.points for one in found)
    if total > brief.points * (1.0 + _SLACK):
        dear = max(found, key=lambda one: one.points)
        problems.append(
            Problem(
                plan.title,
                f"costs {total:.4g} points, which is {total - brief.points:.3g} more than "
                f"the {brief.points:g} that there are.",
                f"Do less of something: the dearest is {dear.words}, {dear.points:.3g} points.",
            )
        )
    if problems:
        raise InputError(problems)
    return found


def _measured(
    brief: Brief, step: Step, at: str, found: list[Charge], problems: list[Problem]
) -> None:
    """Charges of a step's ready-made measure, town by town, and what is wrong with it."""
    fit = {name: one for name, one in brief.allow.items() if one.measure == step.measure}
    asked = _Asked(at, step.measure, step.options)
    if not fit:
        _add(found, problems, asked, fit, "", {}, brief)
        return
    named = step.options.get("town")
    towns = [
        name
        for name in (named if isinstance(named, list) else [named])
        if name in brief.season.town
    ]
    for options in (step.options, *({**step.options, "town": name} for name in towns)):
        try:
            changes = changes_of(step.measure, options, brief.season)
        except InputError as error:
            if options is step.options:  # each town by itself shows what else is wrong
                problems += [_chosen(one, at, fit) for one in error.problems]
            elif not any(options["town"] in one.towns_of(brief.season) for one in fit.values()):
                _add(found, problems, asked, fit, options["town"], {}, brief)
            continue
        by_town: dict[str, dict[str, Any]] = {}
        for key, value in changes.items():
            by_town.setdefault(key.split(".")[1], {})[key] = value
        for town, values in by_town.items():
            _add(found, problems, asked, fit, town, values, brief)
        if options is step.options:
            return


def _chosen(problem: Problem, at: str, fit: Mapping[str, Allowed]) -> Problem:
    """What is wrong with an option, at its step; the cure is what the brief lets choose."""
    cures = [range_words(one) for one in fit.values() if problem.key and problem.key == one.option]
    cure = " ".join([problem.cure, *cures[:1]]) if "percent sign" in problem.what else ""
    return Problem(at, problem.what, cure or (cures[0] if cures else problem.cure), problem.key)


def _set_by(
    step: Step, at: str, scenario: Scenario, problems: list[Problem]
) -> Iterator[tuple[_Asked, dict[str, Any]]]:
    """Keys that a step sets or scales, each with its value, and what is wrong with others."""
    ways = [
        *(({key: value}, {}) for key, value in step.sets.items()),
        *(({}, {key: factor}) for key, factor in step.scales.items()),
    ]
    for sets, scales in ways[:_MOST_KEYS]:
        try:
            after = Step(step.what, sets=sets, scales=scales).taken(scenario)
        except InputError as error:
            problems += [Problem(at, one.what, one.cure, one.key) for one in error.problems]
            continue
        ((key, given),) = {**sets, **scales}.items()
        amount = f"{given:g} times what it was" if scales else given
        words = key.strip().split(".")
        names = list(scenario.town) if words[:2] == ["town", "*"] else [""]
        for name in names:
            path = tuple(words if not name else ["town", name, *words[2:]])
            yield (
                _Asked(at, ".".join(path), {"": amount}),
                {".".join(path): value_at(after.model, path)},
            )
    if len(ways) > _MOST_KEYS:
        problems.append(
            Problem(at, f"changes {len(ways)} keys.", f"Change at most {_MOST_KEYS} in a step.")
        )


def _add(
    found: list[Charge],
    problems: list[Problem],
    asked: _Asked,
    fit: Mapping[str, Allowed],
    town: str,
    values: dict[str, Any],
    brief: Brief,
) -> None:
    """The charge for what is changed in one town, or why it is not allowed."""
    at, names = asked.at, brief.season.names
    if not fit:
        problems.append(
            Problem(
                at,
                "is not among the changes that the brief allows.",
                f"There are: {', '.join(one.what for one in brief.allow.values())}.",
                asked.name,
            )
        )
        return
    here = {
        name: one for name, one in fit.items() if "." in town or town in one.towns_of(brief.season)
    }
    if not here:
        towns = dict.fromkeys(name for one in fit.values() for name in one.towns_of(brief.season))
        where = ", ".join(place_words(one, names) for one in towns)
        problems.append(
            Problem(
                at,
                f"is not allowed in {place_words(town, names)}.",
                f"It is in {where}.",
                asked.name,
            )
        )
        return
    for name, one in here.items():
        part = _part(one, town, values, brief.season)
        if part is not None:
            low, high = one.prices
            words = one.what if "." in town else f"{one.what} ({place_words(town, names)})"
            found.append(
                Charge(
                    name,
                    one.what,
                    words,
                    town,
                    low + part * (high - low),
                    values,
                    str(asked.given.get(one.option, "")),
                )
            )
            return
    one = next(iter(here.values()))
    within = "" if "." in town else f" in {place_words(town, names)}"
    problems.append(
        Problem(at, f"is outside of what the brief allows{within}.", range_words(one), asked.name)
    )


def range_words(one: Allowed) -> str:
    """What may be chosen, as a cure, with each value as it is written in a plan."""
    also = " and ".join(f"{name} = {written(value)}" for name, value in one.also.items())
    parts = [f"write {also}"] if also else []
    if one.least is not None:
        name = one.option or f'"{one.key}"'
        least, most = (f"{name} = {written(end)}" for end in (one.least, one.most))
        parts.append(f"choose between {least} and {most}")
    said = ", and ".join(parts) or "leave its options out"
    return f"{said[0].upper()}{said[1:]}."


def written(value: object) -> str:
    """A value as a plan has it."""
    return quoted(value) if isinstance(value, str) else str(value).lower()


def _part(one: Allowed, town: str, values: Mapping[str, Any], season: Scenario) -> float | None:
    """How far along its range a change lies, from 0 to 1; None where it lies outside."""
    low, high = (_held(end, season) for end in one.range_in(town, season))
    own = _held(values, season)
    if not set(own) == set(low) == set(high):
        return None
    part = None
    for key, value in own.items():
        if low[key] == high[key] or isinstance(low[key], bool) or not isinstance(low[key], Real):
            if value != low[key]:
                return None
            continue
        along = (value - low[key]) / (high[key] - low[key])
        if not -_SLACK <= along <= 1.0 + _SLACK or not math.isfinite(along):
            return None
        part = max(part or 0.0, min(max(along, 0.0), 1.0))
    return 0.0 if part is None else part


def _held(values: Mapping[str, Any], season: Scenario) -> dict[str, Any]:
    """Values in the held unit, as they stand in the scenario once they are set."""
    after = season.changed(dict(values))
    return {key: value_at(after.model, tuple(key.split("."))) for key in values}
