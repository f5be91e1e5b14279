"""What was changed before a run, in words: the keys, and the plan with its points."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any, NamedTuple

from hydroloop.charts.changed_words import NOT_SET, changed_sentence
from hydroloop.errors import InputError
from hydroloop.outputs.document import Block, Items, Paragraph, Ran, Section, TableBlock
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import number_of, sentence
from hydroloop.outputs.scenario.inputs import DEFAULT, Input, inputs
from hydroloop.outputs.whatif.held import works_block
from hydroloop.outputs.whatif.season_measures import run_column
from hydroloop.placenames import Names
from hydroloop.scenario import Scenario
from hydroloop.scenario.tree import find
from hydroloop.units import format_quantity, one_line, parse
from hydroloop.units.printing import System
from hydroloop.waterworks.sizes import town_sizes
from hydroloop.whatif import Plan, Step
from hydroloop.whatif.difference import inputs_that_differ

_MOST_ROWS, _LONGEST, _DEFAULT = 20, 40, "default"


def changed_block(
    rows: Sequence[Sequence[str]], names: Names, what: str = "Run", *, plan: Plan | None = None
) -> list[Block]:
    """What was changed before a run: the plan and the keys in a sentence each, and where all is
    shown as a list of steps and a table."""
    blocks: list[Block] = [Paragraph(plan_sentence(plan))] if plan else []
    if rows:
        blocks.append(
            Paragraph(
                changed_sentence(
                    rows, names, "Changed" if what == "Run" else f"Changed in {what.lower()}"
                )
            )
        )
    if plan:
        blocks.append(plan_section(plan))
    if rows:
        left = len(rows) - _MOST_ROWS
        shown = replace(
            changed_table(rows[:_MOST_ROWS]),
            name="changed_before",
            notes=[f"and {left} more, all in inputs/scenario.toml"] if left > 0 else [],
        )
        title = f"{what} with {number_of(len(rows), 'input')} changed"
        blocks.append(TableBlock(replace(shown, title=title), short=False))
    return blocks


def plan_sentence(plan: Plan) -> str:
    """A plan in a sentence: what it is called, whose it is, its steps, what it costs."""
    by = f" by {plan.by}" if plan.by else ""
    costs = f" It costs {points_words(plan)}." if plan.points or plan.budget else ""
    steps = "; ".join(step.what.rstrip(".") for step in plan.steps)
    return f'The plan "{plan.title}"{by}: {steps}.{costs}'


def changed_table(
    rows: Sequence[Sequence[str]],
    heads: Sequence[str] = ("in the file", "now"),
    runs: Sequence[str] = (),
) -> Table:
    """A row for each key with what stands for it; long texts and lists are cut where shown."""
    columns = [run_column(runs)] if runs else []
    columns += [
        Column(head, cells, key=key, words=[one_line(cell, _LONGEST) for cell in cells])
        for key, head, cells in zip(
            ("key", "before", "after"),
            ("key", *heads),
            zip(*rows, strict=True) if rows else ((), (), ()),
            strict=True,
        )
    ]
    return Table("changed", "What differs", columns)


def changed_inputs(before: Scenario, after: Scenario, system: System) -> list[list[str]]:
    """Keys in which two scenarios differ, with what stands for each in the first and the second:
    quantities in the units asked for, defaults with their value, the rest as it was written."""
    rows = [row for row in inputs_that_differ(before, after) if row[0] not in ("title", "about")]
    known = [{one.key: one for one in inputs(scenario, system)} for scenario in (before, after)]
    return [
        [
            row[0],
            *(
                _shown(scenario, row[0], written, told.get(row[0]), system)
                for scenario, written, told in zip((before, after), row[1:], known, strict=True)
            ),
        ]
        for row in rows
    ]


def _is_there(scenario: Scenario, key: str) -> bool:
    """Whether the place that a key belongs to is in a scenario."""
    kind, *rest = key.split(".")
    places = getattr(scenario, kind, None)
    return not rest or not isinstance(places, Mapping) or rest[0] in places


def _shown(scenario: Scenario, key: str, written: str, told: Input | None, system: System) -> str:
    if written == _DEFAULT:
        if not _is_there(scenario, key):
            return "-"
        if told is None:
            return NOT_SET
        if told.origin == DEFAULT:
            return f"{told.value} (default)"
    here = find(key.split("."))
    if here is None or not here.dimension:
        return written
    if written == _DEFAULT:
        size = _size(scenario, key)
        return (
            written
            if size is None
            else f"{format_quantity(size, here.dimension, system)} (default)"
        )
    try:
        held = parse(written, here.dimension)
    except InputError:  # a word, or a table
        return written
    if held.low < held.high:
        return written
    return format_quantity(held.value, here.dimension, system)


_SIZES = {
    "plant.capacity": "plant_capacity",
    "intake.capacity": "intake_limit",
    "tanks.volume": "tanks_volume",
    "mains.volume": "mains_volume",
    "sewers.capacity": "sewer_capacity",
    "sewers.storage": "sewer_storage",
    "wastewater.design_flow": "design_flow",
    "wastewater.capacity": "secondary_capacity",
}


def _size(scenario: Scenario, key: str) -> float | None:
    """The size of a town's works that its file leaves open, in the held unit."""
    kind, place, *rest = key.split(".")
    name = _SIZES.get(".".join(rest))
    return getattr(town_sizes(scenario.town[place]), name) if kind == "town" and name else None


def plan_section(plan: Plan) -> Section:
    """A plan: what it is called, whose it is, its steps with their reasons, its points."""
    by = f", by {plan.by}" if plan.by else ""
    blocks: list[Block] = [Paragraph(plan.about, indent=True)] if plan.about else []
    blocks.append(Items([_step_sentence(step) for step in plan.steps], is_ordered=True))
    if plan.points or plan.budget:
        blocks.append(Paragraph(f"It costs {points_words(plan)}.", indent=True))
    return Section(f"Plan: {plan.title}{by}", blocks, keep_together=True, short=False)


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
    """What a plan costs, and what may be spent: `40 of the 100 points that there are`."""
    if plan.budget is None:
        return _points(plan.points)
    return f"{plan.points:g} of the {_points(plan.budget)} that there are"


def _points(points: float) -> str:
    return f"{points:g} point{'' if points == 1 else 's'}"


def plan_facts(plan: Plan) -> dict[str, Any]:
    """A plan as plain values for a script; `budget` is None where there is none."""
    return {
        "title": plan.title,
        "by": plan.by,
        "about": plan.about,
        "points": plan.points,
        "budget": plan.budget,
        "steps": [
            {"what": step.what, "why": step.why, "who": step.who, "points": step.points}
            for step in plan.steps
        ],
    }


class Changed(NamedTuple):
    """What was run, and the blocks that say what was changed before: head of a document."""

    ran: Ran
    blocks: list[Block]


def changed_run(
    before: Scenario, after: Scenario, plan: Plan | None, system: System, town: str | None = None
) -> Changed:
    """What was changed between two scenarios, and which works that left as they are."""
    rows = [] if before is after else changed_inputs(before, after, system)
    return Changed(
        Ran(
            after.title,
            (after.season.start, after.season.end),
            rows,
            [plan_facts(plan)] if plan else [],
            names=after.names,
        ),
        [*changed_block(rows, after.names, plan=plan), *works_block(before, after, system, town)],
    )


def as_it_is(scenario: Scenario) -> Changed:
    """The head of a run without changes."""
    return changed_run(scenario, scenario, None, "us")
