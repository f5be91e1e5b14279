"""A brief in words: what may be done at what price, and what shall be reached."""

from __future__ import annotations

import math

from hydroloop.charts.words import joined, percent, place_words, two_figures
from hydroloop.judging import Allowed, Brief, Graded, Target
from hydroloop.judging.grading import town_names
from hydroloop.outputs.document.table import Column, Table
from hydroloop.units import format_quantity
from hydroloop.units.printing import System


def target_words(target: Target, system: System) -> str:
    """What shall be reached, in a sentence without its full stop."""
    if target.what:
        return target.what.rstrip(".")
    where, limit = town_names(target), _limit_words(target, system)
    anywhere = "any town" if target.town == "*" else where
    dry = ", in the drought" if target.during == "drought" else ""
    if target.measure == "capacity":
        return f"Supply is big enough in {where} until {target.until}"
    if target.measure == "used_share":
        return f"At most {limit} of the tap water used before in {where}{dry}"
    none = target.limit <= 0.0
    if target.measure == "shortage":
        return f"{'Nobody' if none else f'At most {limit} of the demand'} goes short in " \
               f"{anywhere}{dry}"
    if target.measure == "minimum_flow":
        days = "every day" if none else f"on all but {limit}"
        return f"The river keeps its minimum flow at {where} {days}{dry}"
    return f"{'No sewage' if none else f'At most {limit} of sewage'} overflows in {anywhere}{dry}"


def _limit_words(target: Target, system: System) -> str:
    """The limit as the brief has it, so that it is never rounded to one that is not meant."""
    return target.at_most if isinstance(target.at_most, str) else value_words(
        target, target.limit, system)


def called_words(name: str, brief: Brief) -> str:
    """What a target is called, as people write it."""
    names = {town: place_words(town) for town in brief.season.town}
    return " ".join(names.get(word, word) for word in name.split("_"))


def points_words(points: float) -> str:
    """Points as they are told, to a tenth."""
    return f"{points:.1f}".removesuffix(".0")


def targets_table(brief: Brief, system: System) -> Table:
    """What shall be reached, with what it weighs."""
    targets = list(brief.target.values())
    return Table("targets", "", [
        Column("called", list(brief.target), words=[called_words(name, brief)
                                                    for name in brief.target]),
        Column("target", [target_words(one, system) for one in targets]),
        Column("weight", [one.weight for one in targets], "number")])


def value_words(target: Target, value: float, system: System) -> str:
    """A measured value as its target counts it."""
    if math.isnan(value):
        return "not known"
    if target.measure == "capacity":
        return "no limit in sight" if math.isinf(value) else f"{math.floor(value)}"
    if target.measure == "minimum_flow":
        return f"{two_figures(value)} day{'' if value == 1 else 's'}"
    if target.measure == "overflow":
        return format_quantity(value, "flow", system) if value > 1e-9 else "none"
    return percent(value)


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
        return place_words(words[1]) if words[0] == "town" else one.key
    towns = one.towns_of(brief.season)
    return "every town" if len(towns) == len(brief.season.town) else joined(
        [place_words(town) for town in towns])


def written_words(one: Allowed) -> str:
    """What a step of a plan says to make a change; dots stand for what is to be chosen."""
    if one.key:
        return f"set = {{ {_quoted(one.key.replace('town.*.', 'town.TOWN.'))} = ... }}"
    fixed = [f"{name} = {_value(value)}" for name, value in one.also.items()]
    free = [f"{one.option} = ..."] if one.option else []
    return ", ".join([f"measure = {_quoted(one.measure)}", *fixed, *free])


def example_step(one: Allowed, brief: Brief) -> list[str]:
    """The lines of a plan that make a change at its least."""
    town = one.towns_of(brief.season)[0]
    lines = ["[[step]]", f"what = {_quoted(one.what)}"]
    if one.key:
        value = f"{_quoted(one.keys_in(town))} = {_value(one.least)}"
        return [*lines, f"set = {{ {value} }}"]
    lines += [f"measure = {_quoted(one.measure)}", f"town = {_quoted(town)}"]
    lines += [f"{name} = {_value(value)}" for name, value in one.also.items()]
    if one.option:
        lines.append(f"{one.option} = {_value(one.least)}")
    return lines


def _value(value: object) -> str:
    return _quoted(value) if isinstance(value, str) else str(value).lower()


def _quoted(words: str) -> str:
    escaped = words.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'
