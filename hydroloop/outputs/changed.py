"""What was changed before a run, in words: the keys, and the plan with its points."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from hydroloop.errors import InputError
from hydroloop.outputs.season_measures import sentence
from hydroloop.outputs.table import as_lines
from hydroloop.outputs.wording import number_of, wrap
from hydroloop.scenario.tree import find
from hydroloop.units import format_quantity, parse
from hydroloop.units.printing import System

if TYPE_CHECKING:
    from hydroloop.whatif import Plan, Step

Changed = Sequence[tuple[str, str, str]]
"""Keys that differ, each with what stood for it before and after."""

_MOST_ROWS = 20


def changed_lines(changed: Changed, system: System) -> list[str]:
    """The keys that were changed, as a table.

    Parameters
    ----------
    changed : sequence of (str, str, str)
        Key, value before, value after.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    list of str
        Lines of text; none if nothing was changed.
    """
    if not changed:
        return []
    rows = in_units(changed, system)
    lines = [f"Run with {number_of(len(rows), 'input')} changed",
             *as_lines([["", "before", "now"], *rows[:_MOST_ROWS]])]
    left = len(rows) - _MOST_ROWS
    return [*lines, f"  and {left} more, all in inputs/scenario.toml"] if left > 0 else lines


def in_units(changed: Changed, system: System) -> list[list[str]]:
    """Keys that were changed, with quantities in the units asked for; the rest as it was written.

    Examples
    --------
    >>> in_units([("river.wren.inflow", "25 cfs", "36698.6331 m3/day")], "us")
    [['river.wren.inflow', '25 ft3/s', '15 ft3/s']]
    """
    return [[key, _shown(key, before, system), _shown(key, after, system)]
            for key, before, after in changed]


def _shown(key: str, written: str, system: System) -> str:
    here = find(key.split("."))
    if here is None or not here.dimension:
        return written
    try:
        held = parse(written, here.dimension)
    except InputError:  # a word, such as "default", or a table
        return written
    if held.low < held.high:
        return written
    return format_quantity(held.value, here.dimension, system)


def plan_lines(plan: Plan) -> list[str]:
    """A plan in words: what it is called, whose it is, its steps with their reasons, its points.

    Parameters
    ----------
    plan : Plan
        As read.

    Returns
    -------
    list of str
        Lines of text.
    """
    by = f", by {plan.by}" if plan.by else ""
    lines = [f"Plan: {plan.title}{by}", *(wrap(plan.about, "  ", first="  ") if plan.about else [])]
    for number, step in enumerate(plan.steps, 1):
        lines += wrap(_step_sentence(step), "     ", first=f"  {number}. ")
    return [*lines, f"  It costs {points_words(plan)}."] if plan.points or plan.budget else lines


def _step_sentence(step: Step) -> str:
    parts = [step.what.rstrip(".")]
    if step.why:
        parts.append(f"Why: {step.why.rstrip('.')}")
    if step.who:
        parts.append(f"Who: {step.who.rstrip('.')}")
    if step.points:
        parts.append(sentence(_points(step.points)))
    return ". ".join(parts) + "."


def points_words(plan: Plan) -> str:
    """What a plan costs, and what may be spent where that is given.

    Examples
    --------
    >>> from hydroloop.whatif import Plan, Step
    >>> points_words(Plan("Less lost", (Step("Mend the mains", points=40),), budget=100))
    '40 of the 100 points that there are'
    """
    if plan.budget is None:
        return _points(plan.points)
    return f"{plan.points:g} of the {_points(plan.budget)} that there are"


def _points(points: float) -> str:
    return f"{points:g} point{'' if points == 1 else 's'}"


def plan_facts(plan: Plan) -> dict[str, Any]:
    """A plan as plain values for a script.

    Parameters
    ----------
    plan : Plan
        As read.

    Returns
    -------
    dict
        Title, whose, about, points, budget (None where there is none), and the steps.
    """
    return {"title": plan.title, "by": plan.by, "about": plan.about, "points": plan.points,
            "budget": plan.budget, "steps": [
                {"what": step.what, "why": step.why, "who": step.who, "points": step.points}
                for step in plan.steps]}
