"""What `check` finds in a scenario: problems, or how much is given and how much is assumed."""

from __future__ import annotations

from collections.abc import Sequence

from hydroloop.errors import Problem
from hydroloop.outputs.document import (
    Ask,
    Block,
    Document,
    Entries,
    Fact,
    Items,
    Paragraph,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import number_of
from hydroloop.outputs.scenario.inputs import GIVEN, Input, inputs, summary
from hydroloop.outputs.whatif.changed import Changed
from hydroloop.scenario import Scenario
from hydroloop.units.printing import System

_LONGEST = 90  # letters of a value that are shown


def checked(
    file: str, scenario: Scenario, changed: Changed, system: System, *, full: bool = False
) -> Document:
    """A scenario without problems: what it holds, what is given, in full what is assumed too."""
    found, unusual = inputs(scenario, system), len(scenario.warnings)
    shown = [one for one in found if full or one.origin == GIVEN]
    usual = (
        f" {number_of(unusual, 'unusual value')}, told above." if unusual else (" Nothing unusual.")
    )
    blocks: list[Block] = [
        *changed.blocks,
        Paragraph(
            f"{number_of(len(scenario.town), 'town')}, {number_of(len(scenario.river), 'river')}."
        ),
        Paragraph(f"No problems.{usual}"),
        Paragraph(f"Of the inputs, {summary(found)}"),
        Section(
            "All inputs" if full else "Given", [Entries([(one.key, _value(one)) for one in shown])]
        ),
        TableBlock(_inputs_table(found), where="values"),
        *_problems("warnings", "Unusual values", scenario.warnings),
    ]
    ask = [Ask("hydroloop explain KEY", "a key: unit, default, usual range, source")]
    if not full:
        ask.append(Ask(f"hydroloop check {file} --full", "all inputs, the defaults too"))
    return Document(
        "check", scenario.title, blocks, system, changed.ran, {"ok": Fact(True)}, ask_next=ask
    )


def refused(file: str, problems: Sequence[Problem], count: int) -> Document:
    """A scenario with problems, of which the first are told."""
    return Document(
        "check",
        file,
        [Items([str(one) for one in problems]), *_problems("problems", "Problems", problems)],
        facts={"ok": Fact(False), "count": Fact(count)},
    )


def _value(one: Input) -> str:
    text = one.value if len(one.value) <= _LONGEST else f"{one.value[: _LONGEST - 3]}..."
    return text.replace("\n", " ") + ("" if one.origin == GIVEN else f"  ({one.origin})")


def _inputs_table(found: Sequence[Input]) -> Table:
    return Table(
        "inputs",
        "Inputs",
        [Column(name, [getattr(one, name) for one in found]) for name in Input._fields],
    )


def _problems(name: str, title: str, problems: Sequence[Problem]) -> list[TableBlock]:
    if not problems:
        return []
    return [
        TableBlock(
            Table(
                name,
                title,
                [
                    Column(head, [getattr(one, head) for one in problems])
                    for head in ("where", "key", "what", "cure")
                ],
            ),
            where="values",
        )
    ]
