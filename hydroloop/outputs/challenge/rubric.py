"""A sheet for judging each team: what was measured is filled in, the rest is for a person."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path

from hydroloop.charts.words import joined, percent
from hydroloop.judging import Board, Graded
from hydroloop.judging.handed_in import Refused, team_and_number
from hydroloop.outputs.challenge.words import evidence_words, points_words, target_words
from hydroloop.outputs.document import Block, Document, Items, Paragraph, Room, Section, TableBlock
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import number_of
from hydroloop.units.printing import System

JUDGED = (
    "Says what the problem is",
    "Keeps to the constraints",
    "Plan: each step has its reason",
    "Test: results against the criteria",
    "Uses evidence to explain the results",
    "Redesign: changes after a test",
    "Weighs what is gained against what is lost",
    "Tells it clearly to others",
    "Works together",
)
"""What is judged, in the order of engineering design."""
_ROOM = "\N{EM SPACE}" * 3 + "\n\n"  # to write in
_MOST_TOLD = 5  # problems of a file
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
    sheets += [
        _sheet_without(team, files, is_first=not board.graded and place == 0)
        for place, (team, files) in enumerate(_without(board).items())
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
    attempt = own[-1].attempt
    assert attempt is not None
    judged = _marks(attempt.team, _rows(board, own, system))
    return Section(attempt.called, judged, new_page=not is_first)


def _without(board: Board) -> dict[str, list[Refused]]:
    """Files of each team of which none was graded."""
    graded = {one.attempt.team for one in board.graded if one.attempt}
    found: dict[str, list[Refused]] = {}
    for one in board.refused:
        team, _ = team_and_number(Path(one.file).stem)
        if team not in graded:
            found.setdefault(team, []).append(one)
    return dict(sorted(found.items()))


def _sheet_without(team: str, files: list[Refused], *, is_first: bool) -> Section:
    """The sheet of a team without a graded plan: what to mend, and all that a person judges."""
    told = [
        str(problem) if problem.where.startswith(one.file) else f"{one.file}: {problem}"
        for one in files
        for problem in one.problems[:_MOST_TOLD]
    ]
    more = sum(len(one.problems[_MOST_TOLD:]) for one in files)
    return Section(
        f"Team of {joined([one.file for one in files])}",
        [
            Paragraph("No plan of this team could be graded. What to mend:"),
            Items([*told, *([f"and {more} more, on the board"] if more else [])]),
            *_marks(team, [(row, "") for row in JUDGED]),
        ],
        new_page=not is_first,
    )


def _marks(team: str, judged: list[tuple[str, str]]) -> list[Block]:
    """The rows that are judged, with their evidence, and room for marks and words."""
    rows = [(row, evidence or _ROOM, _ROOM) for row, evidence in judged]
    table = Table(
        f"judging_{team}",
        f"Marks: {_SCALE}",
        [
            Column(head, [row[place] for row in rows], words=[row[place] for row in rows])
            for place, head in enumerate(("what is judged", "evidence", "mark"))
        ],
    )
    return [
        TableBlock(table, where="people"),
        Paragraph("What was good, and what to do next:"),
        Room(7),
    ]


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
    evidence = [
        "",
        (
            f"{points_words(last.points)} of {points_words(brief.points)} points; all steps are "
            "among those allowed"
        ),
        (
            f"{whys} of {number_of(len(plan.steps), 'step')} with a reason\n"
            + "\n".join(one.words for one in last.attempt.charges)
        ),
        (
            f"{sum(last.met.values())} of {number_of(len(last.met), 'target')} met "
            f"({percent(last.score)} by weight)\n{results}"
        ),
        "",
        (
            (
                f"{number_of(len(own), 'attempt')}; targets met by weight from "
                f"{percent(first.score)} to {percent(last.score)}. Changed:\n" + "\n".join(changed)
            )
            if changed
            else f"{number_of(len(own), 'attempt')}; nothing changed between attempts"
        ),
        _trade_words(board, own),
        "",
        "",
    ]
    return list(zip(JUDGED, evidence, strict=True))


def _trade_words(board: Board, own: list[Graded]) -> str:
    """Which attempts of a team are among the best trade-offs; the last is told in any case."""
    best = [one.attempt.number for one in own if one.attempt and one in board.front]
    last = own[-1].attempt.number if own[-1].attempt else 0
    former = [number for number in best if number != last]
    said = (
        [f"{_attempts(former)} {'was' if len(former) == 1 else 'were'} among the best trade-offs"]
        if former
        else []
    )
    if last in best:
        said.append(f"attempt {last} is {'too' if former else 'among the best trade-offs'}")
    else:
        what = "" if former else " among the best trade-offs"
        said.append(
            f"attempt {last} is not{what}: another plan meets as much for fewer points, or more "
            "for as many"
        )
    return "; ".join(said)


def _attempts(numbers: list[int]) -> str:
    return f"attempt{'s' if len(numbers) > 1 else ''} {joined([str(one) for one in numbers])}"
