"""A sheet for judging each team: what was measured is filled in, the rest is for a person."""

from __future__ import annotations

from itertools import groupby

from hydroloop.charts.words import percent
from hydroloop.judging import Board, Graded
from hydroloop.outputs.challenge.words import evidence_words, points_words, target_words
from hydroloop.outputs.document import Block, Document, Paragraph, Room, Section, TableBlock
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import number_of
from hydroloop.units.printing import System

_ROOM = "\N{EM SPACE}" * 3 + "\n\n"  # to write in
_SCALE = "1 begun, 2 in part, 3 done, 4 done with good reasons"


def rubric_document(board: Board, system: System) -> Document:
    """One page a team, the rows of engineering design, with the evidence of its plans."""
    by_team = groupby(
        sorted(board.graded, key=lambda one: _place(one)),
        key=lambda one: one.attempt.team if one.attempt else "",
    )
    sheets: list[Block] = [
        _sheet(board, list(own), system, is_first=place == 0)
        for place, (_, own) in enumerate(by_team)
    ]
    return Document(
        "challenge",
        f"{board.brief.title}: for judging",
        [
            Paragraph(
                "Evidence is what the model measured. Marks are left for a person: no model "
                "judges reasons, teamwork or how well a plan was told."
            ),
            *sheets,
        ],
        system,
    )


def _place(one: Graded) -> tuple[str, int]:
    return (one.attempt.team, one.attempt.number) if one.attempt else ("", 0)


def _sheet(board: Board, own: list[Graded], system: System, *, is_first: bool) -> Section:
    last = own[-1]
    assert last.attempt is not None
    rows = [(row, evidence or _ROOM, _ROOM) for row, evidence in _rows(board, own, system)]
    table = Table(
        f"judging_{last.attempt.team}",
        f"Marks: {_SCALE}",
        [
            Column(head, [row[place] for row in rows], words=[row[place] for row in rows])
            for place, head in enumerate(("what is judged", "evidence", "mark"))
        ],
    )
    return Section(
        last.attempt.called,
        [
            TableBlock(table, where="people"),
            Paragraph("What was good, and what to do next:"),
            Room(7),
        ],
        new_page=not is_first,
    )


def _rows(board: Board, own: list[Graded], system: System) -> list[tuple[str, str]]:
    first, last, brief = own[0], own[-1], board.brief
    assert last.attempt is not None
    plan = last.attempt.plan
    whys = sum(bool(step.why) for step in plan.steps)
    results = "\n".join(
        f"{target_words(target, system, brief.season.names)}: "
        f"{evidence_words(target, last, name, system)}"
        for name, target in brief.target.items()
    )
    changed = [
        name
        for one in board.redesigns
        if one.after.attempt and one.after.attempt.team == last.attempt.team
        for name in one.changes
    ]
    return [
        ("Says what the problem is", ""),
        (
            "Keeps to the constraints",
            f"{points_words(last.points)} of {points_words(brief.points)} points; all steps are "
            "among those allowed",
        ),
        (
            "Plan: each step has its reason",
            f"{whys} of {number_of(len(plan.steps), 'step')} with a reason\n"
            + "\n".join(one.words for one in last.attempt.charges),
        ),
        (
            "Test: results against the criteria",
            f"{sum(last.met.values())} of {number_of(len(last.met), 'target')} met "
            f"({percent(last.score)} by weight)\n{results}",
        ),
        ("Uses evidence to explain the results", ""),
        (
            "Redesign: changes after a test",
            (
                f"{number_of(len(own), 'attempt')}; targets met by weight from "
                f"{percent(first.score)} to {percent(last.score)}. Changed:\n" + "\n".join(changed)
            )
            if changed
            else f"{number_of(len(own), 'attempt')}; nothing changed between attempts",
        ),
        (
            "Weighs what is gained against what is lost",
            "one of the best trade-offs"
            if any(one in board.front for one in own)
            else "another plan meets as much for fewer points",
        ),
        ("Tells it clearly to others", ""),
        ("Works together", ""),
    ]
