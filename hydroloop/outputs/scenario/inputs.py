"""The inputs of a run: which were given, which are defaults, and where those come from."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, NamedTuple

from hydroloop.scenario import KeyNote, Scenario, all_keys
from hydroloop.scenario.explain import NAME
from hydroloop.scenario.key import Part
from hydroloop.scenario.tree import find
from hydroloop.units import format_quantity
from hydroloop.units.printing import System

# What a place does without, and a name that says no more than its key.
_WITHOUT = ("none", "needed with", "its key in words")
GIVEN, DEFAULT, WORKED_OUT = "given", "default", "worked out"


class Input(NamedTuple):
    """One value that a scenario is run with."""

    key: str  # dotted key
    value: str  # as it was written, and in the units asked for; for what is worked out, the rule
    origin: str  # `given`, `default` or `worked out`
    # from the schema
    meaning: str
    usual: str
    source: str


def inputs(scenario: Scenario, system: System = "us") -> list[Input]:
    """Every value of a scenario with its origin, place by place in the order of the schema."""
    values = [
        (key, found)
        for key, note, value in _values(scenario)
        if (found := _input(scenario, key, note, value, system))
    ]
    heads = [".".join(key.split(".")[:2]) for key, _ in values]
    first = {head: place for place, head in reversed(list(enumerate(heads)))}
    order = sorted(range(len(values)), key=lambda i: first[heads[i]])
    return [values[i][1] for i in order]


def _values(scenario: Scenario) -> Iterator[tuple[str, KeyNote, Any]]:
    for note in all_keys():
        for words in _named(scenario, note.key.split(".")):
            known, value = _reach(scenario.model, words)
            if known:
                yield ".".join(words), note, value


def _named(scenario: Scenario, words: list[str]) -> Iterator[list[str]]:
    """A general key with the names of all its places."""
    if NAME not in words:
        yield words
        return
    at = words.index(NAME)
    for name in getattr(scenario, words[0]):
        yield [*words[:at], name, *words[at + 1 :]]


def value_at(scenario: Scenario, key: str) -> float | None:
    """The number that a scenario has at a key, in its held unit; None where it is no number."""
    value = _reach(scenario.model, key.split("."))[1]
    return float(value) if isinstance(value, int | float) and not isinstance(value, bool) else None


def _reach(model: Any, words: list[str]) -> tuple[bool, Any]:
    """The value at a key, and whether its table is there at all."""
    here = model
    for word in words:
        if isinstance(here, dict) and word in here:
            here = here[word]
        elif isinstance(here, Part) and word in type(here).model_fields:
            here = getattr(here, word)
        else:
            return False, None
    return True, here


def _input(scenario: Scenario, key: str, note: KeyNote, value: Any, system: System) -> Input | None:
    if isinstance(value, Part | dict):
        return None
    is_given = key in scenario.given
    is_part = note.is_table and not note.examples
    if value is None and (is_part or note.default.startswith(_WITHOUT)):
        return None
    if value is None:
        return Input(key, note.default, WORKED_OUT, note.meaning, note.usual, note.source)
    shown = _shown(scenario, key, value, system)
    written = _written(scenario.data, key) if is_given else ""
    if written and written.replace(",", "") != shown.replace(",", "").removesuffix(" people"):
        shown = f"{written} = {shown}"
    return Input(key, shown, GIVEN if is_given else DEFAULT, note.meaning, note.usual, note.source)


def _written(data: dict[str, Any], key: str) -> str:
    """A quantity as the user wrote it; empty for what is none."""
    here: Any = data
    for word in key.split("."):
        here = here.get(word) if isinstance(here, dict) else None
    node = find(key.split("."))
    return here if isinstance(here, str) and node and node.dimension else ""


def _shown(scenario: Scenario, key: str, value: Any, system: System) -> str:
    here = find(key.split("."))
    dimension = here.dimension if here else ""
    if isinstance(value, list):
        return ", ".join(_one(member, dimension, system) for member in value)
    if key in scenario.ranges:
        low, high = (_one(end, dimension, system) for end in scenario.ranges[key])
        return f"{low} to {high}"
    return _one(value, dimension, system)


def _one(value: Any, dimension: str, system: System) -> str:
    if dimension and isinstance(value, int | float):
        return format_quantity(float(value), dimension, system)
    return f"{value:g}" if isinstance(value, float) else str(value)


def count_of(found: list[Input], origin: str) -> int:
    """How many inputs have an origin."""
    return sum(one.origin == origin for one in found)


def summary(found: list[Input]) -> str:
    """How much of a run is given and how much is assumed, as the rest of a sentence on the
    inputs."""
    given, default, worked = (count_of(found, o) for o in (GIVEN, DEFAULT, WORKED_OUT))
    return (
        f"{given} are given, {default} are defaults with a source, {worked} are worked "
        "out from others."
    )
