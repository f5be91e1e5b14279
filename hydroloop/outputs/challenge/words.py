"""A brief in words: what may be done at what price, and what shall be reached."""

from __future__ import annotations

import math

import numpy as np

from hydroloop.charts.words import joined, place_words
from hydroloop.judging import Allowed, Brief, Graded, Target
from hydroloop.judging.grading import town_names
from hydroloop.judging.prices import written
from hydroloop.outputs.document.table import Column, Table
from hydroloop.placenames import Names
from hydroloop.scenario.tree import quoted
from hydroloop.units import display_unit
from hydroloop.units.printing import System


def target_words(target: Target, system: System, names: Names) -> str:
    """What shall be reached, in a sentence without its full stop."""
    if target.what:
        return target.what.rstrip(".")
    where, limit = town_names(target, names), _limit_words(target, system)
    anywhere = "any town" if target.town == "*" else where
    dry = ", in the drought" if target.during == "drought" else ""
    if target.measure == "capacity":
        return f"Supply is big enough in {where} until {target.until}"
    if target.measure == "used_share":
        return f"At most {limit} of the tap water used before in {where}{dry}"
    none = target.limit <= 0.0
    if target.measure == "shortage":
        return (
            f"{'Nobody' if none else f'At most {limit} of the demand'} goes short in "
            f"{anywhere}{dry}"
        )
    if target.measure == "minimum_flow":
        days = "every day" if none else f"on all but {limit}"
        return f"The river keeps its minimum flow at {where} {days}{dry}"
    return f"{'No sewage' if none else f'At most {limit} of sewage'} overflows in {anywhere}{dry}"


def _limit_words(target: Target, system: System) -> str:
    """The limit as the brief has it, so that it is never rounded to one that is not meant."""
    return (
        target.at_most
        if isinstance(target.at_most, str)
        else value_words(target, target.limit, system)
    )


def called_words(name: str, brief: Brief) -> str:
    """What a target is called, as people write it."""
    names = {town: place_words(town, brief.season.names) for town in brief.season.town}
    return " ".join(names.get(word, word) for word in name.split("_"))


def points_words(points: float) -> str:
    """Points as they are told, to a tenth."""
    return f"{points:.1f}".removesuffix(".0")


def targets_table(brief: Brief, system: System) -> Table:
    """What shall be reached, with what it weighs."""
    targets = list(brief.target.values())
    return Table(
        "targets",
        "",
        [
            Column(
                "called",
                list(brief.target),
                words=[called_words(name, brief) for name in brief.target],
            ),
            Column("target", [target_words(one, system, brief.season.names) for one in targets]),
            Column("weight", [one.weight for one in targets], "number"),
        ],
    )


def value_words(target: Target, value: float, system: System) -> str:
    """A measured value as its target counts it, in as many figures as it takes to see on which side
    of the limit it lies."""
    if math.isnan(value):
        return "not known"
    if target.measure == "capacity":
        return "no limit in sight" if math.isinf(value) else f"{math.floor(value)}"
    if target.measure == "overflow" and value <= 1e-9:
        return "none"
    unit = display_unit("flow", system, largest=value)
    factor, name = {
        "overflow": (unit.factor, f" {unit.name}"),
        "minimum_flow": (1.0, f" day{'' if value == 1 else 's'}"),
    }.get(target.measure, (100.0, " %"))
    shown, held = "", 0.0 if abs(value) <= 1e-9 else value
    for figures in range(3, 10):
        shown = np.format_float_positional(held * factor, figures, fractional=False, trim="-")
        if target.is_met(float(shown) / factor) == target.is_met(value):
            break
    return f"{shown}{name}"


def evidence_words(target: Target, graded: Graded, name: str, system: System) -> str:
    """What was measured, and whether it is enough."""
    met = "met" if graded.met[name] else "not met"
    return f"{value_words(target, graded.values[name], system)}: {met}"


def price_words(one: Allowed) -> str:
    """What a change costs."""
    low, high = (f"{points:g} point{'' if points == 1 else 's'}" for points in one.prices)
    if one.least is None or low == high:
        return low
    return f"{low} at {one.least}, {high} at {one.most}"


def where_words(one: Allowed, brief: Brief) -> str:
    """Towns in which a change may be made."""
    if one.key and "town.*." not in one.key:
        words = one.key.split(".")
        return place_words(words[1], brief.season.names) if words[0] == "town" else one.key
    towns = one.towns_of(brief.season)
    return (
        "every town"
        if len(towns) == len(brief.season.town)
        else joined([place_words(town, brief.season.names) for town in towns])
    )


def step_lines(one: Allowed, brief: Brief) -> list[str]:
    """The lines of a step that make a change, at its least and in the first town that it may be
    made in."""
    town = one.towns_of(brief.season)[0]
    if one.key:
        return [f"set = {{ {quoted(one.keys_in(town))} = {written(one.least)} }}"]
    chosen = {one.option: one.least} if one.option else {}
    options = {"town": town, **one.also, **chosen}
    return [
        f"measure = {quoted(one.measure)}",
        *(f"{name} = {written(value)}" for name, value in options.items()),
    ]


def worked_plan(brief: Brief) -> list[str]:
    """A whole plan that passes: one change of each way of writing, as far as the points go."""
    ways = {bool(one.key): one for one in reversed(list(brief.allow.values()))}
    taken, left = list[Allowed](), brief.points
    for one in (ways[is_key] for is_key in sorted(ways)):
        if one.prices[0] <= left and not any(_meet(one, other, brief) for other in taken):
            taken.append(one)
            left -= one.prices[0]
    lines = ["[plan]", 'title = "Our first plan"', 'by = "Team Heron"']
    for one in taken:
        lines += [
            "",
            "[[step]]",
            f"what = {quoted(one.what)}",
            'why = "It helps because ..."',
            *step_lines(one, brief),
        ]
    return lines


def _meet(one: Allowed, other: Allowed, brief: Brief) -> bool:
    """Whether two changes set the same key, each in the first of its towns."""
    keys, others = (
        set(each.range_in(each.towns_of(brief.season)[0], brief.season)[0]) for each in (one, other)
    )
    return bool(keys & others)
