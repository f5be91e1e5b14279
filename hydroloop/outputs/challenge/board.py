"""The board of a challenge as a document: who met what for how much, what was changed, and why."""

from __future__ import annotations

from functools import partial

from hydroloop.charts.picture import Picture as Drawn
from hydroloop.charts.words import joined, percent
from hydroloop.judging import Board, Graded
from hydroloop.judging.grading import Redesign
from hydroloop.judging.handed_in import unnumbered
from hydroloop.outputs.challenge.words import (
    called_words,
    evidence_words,
    points_words,
    target_words,
    targets_table,
)
from hydroloop.outputs.document import (
    Block,
    Document,
    Fact,
    Items,
    Paragraph,
    Picture,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.cautions import SHORT
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import number_of, sentence
from hydroloop.outputs.whatif.compare_words import town_words
from hydroloop.outputs.whatif.comparison import Against, parts_table, why_blocks
from hydroloop.units.printing import System

NOBODY = "as it is"
"""What the town without any plan is called."""


def name_of(graded: Graded) -> str:
    """A plan's team and attempt."""
    return graded.attempt.name if graded.attempt else NOBODY


def board_document(board: Board, system: System) -> Document:
    """Who met most; then the table, the trade-offs, the redesigns, what was refused."""
    blocks: list[Block] = [
        Paragraph(_answer(board, system)),
        *_hints(board),
        Picture("board", partial(_draw, board)),
        TableBlock(_table(board, system)),
        Section("The targets", [TableBlock(targets_table(board.brief, system))], short=False),
        *_trades(board),
        *_redesigns(board, system),
        *_refused(board),
    ]
    best = board.graded[0] if board.graded else board.as_it_is
    return Document(
        "challenge",
        board.brief.title,
        blocks,
        system,
        cautions=SHORT,
        facts={
            "graded": Fact(len(board.graded)),
            "not_graded": Fact(len(board.refused)),
            "best": Fact(name_of(best)),
            "best_score": Fact(best.score, "share"),
            "never_met": Fact(board.never_met),
        },
    )


def _answer(board: Board, system: System) -> str:
    plans, targets = board.graded, board.brief.target
    teams = len({one.attempt.team for one in plans if one.attempt})
    words = [
        f"{number_of(len(plans), 'plan')} of {number_of(teams, 'team')} graded"
        + (f", {number_of(len(board.refused), 'file')} not." if board.refused else ".")
    ]
    if plans:
        top = [one for one in plans if (one.score, one.points) == (plans[0].score, plans[0].points)]
        words.append(
            f"{joined([name_of(one) for one in top])} met "
            f"{sum(plans[0].met.values())} of {number_of(len(targets), 'target')} "
            f"({percent(plans[0].score)} by weight) for "
            f"{points_words(plans[0].points)} points."
        )
    already = sum(board.as_it_is.met.values())
    words.append(f"Without any plan {already or 'none'} of them would be met.")
    if plans and board.never_met:
        names = board.brief.season.names
        named = "; ".join(target_words(targets[name], system, names) for name in board.never_met)
        words.append(f"What no plan met: {named}.")
    return " ".join(words)


def _table(board: Board, system: System) -> Table:
    rows = [*board.graded, board.as_it_is]
    columns = [
        Column("plan", [name_of(one) for one in rows]),
        Column("file", [one.attempt.file if one.attempt else "" for one in rows], is_shown=False),
        Column("points", [round(one.points, 2) for one in rows], "number"),
        Column("met, by weight", [one.score for one in rows], "share", "score"),
    ]
    for name, target in board.brief.target.items():
        columns.append(
            Column(
                called_words(name, board.brief),
                [one.values[name] for one in rows],
                key=name,
                words=[evidence_words(target, one, name, system) for one in rows],
            )
        )
        columns.append(Column(f"{name} met", [one.met[name] for one in rows], is_shown=False))
    return Table("board", "All plans, best first", columns)


def _hints(board: Board) -> list[Block]:
    """Files whose names may not mean what their team meant."""
    found = unnumbered([one.attempt for one in board.graded if one.attempt])
    if not found:
        return []
    files = sorted(one.file for one in found)
    return [
        Paragraph(
            f"{joined(files)}: no hyphen and number at the end of the name, so "
            f"{'it counts' if len(files) == 1 else 'each counts'} as the first attempt of a team "
            "of its own. The second attempt of team heron is called heron-2.toml."
        )
    ]


def _trades(board: Board) -> list[Block]:
    """Plans that nothing beats, and what doing nothing comes to."""
    plans = [one for one in board.front if one.attempt]
    nothing = (
        f"Doing nothing costs no points and meets {percent(board.as_it_is.score)} of the "
        "targets by weight."
    )
    if not plans:
        return [Section("Best trade-offs", [Paragraph(f"{nothing} No plan meets more.")])]
    return [
        Section(
            "Best trade-offs",
            [
                Paragraph(
                    "No other plan meets as much for fewer points, or more for as many. To choose "
                    f"among them is to say what matters more. {nothing}"
                ),
                Items([_trade(one) for one in reversed(plans)]),
            ],
            keep_together=True,
        )
    ]


def _trade(graded: Graded) -> str:
    return (
        f"{sentence(name_of(graded))}, {percent(graded.score)} of the targets by weight for "
        f"{points_words(graded.points)} points: {joined(_did(graded))}."
    )


def _did(graded: Graded) -> list[str]:
    charges = graded.attempt.charges if graded.attempt else []
    return list(dict.fromkeys(one.words for one in charges))


def _redesigns(board: Board, system: System) -> list[Block]:
    if not board.redesigns:
        return []
    runs = [Against(_pair(one), one.found, None) for one in board.redesigns if one.found]
    parts = parts_table(runs) if runs else None
    sections = []
    for one in board.redesigns:
        blocks: list[Block] = [Paragraph(_moved(one))]
        if one.changes:
            blocks += [Paragraph("Changed:"), Items(list(one.changes))]
        blocks.append(Paragraph("Targets, before and after:"))
        blocks.append(
            Items([_moved_target(board, one, name, system) for name in board.brief.target])
        )
        if one.found is not None and parts is not None:
            blocks += _why(board, one, parts, system)
        sections.append(Section(_pair(one), blocks))
    return [
        Section(
            "What each team changed, and what that did",
            [
                *sections,
                Paragraph(
                    "A change's part is its effect averaged over all orders in which the "
                    "changes can be made; the parts add up to the whole difference."
                ),
            ],
            short=False,
        )
    ]


def _pair(one: Redesign) -> str:
    before, after = one.before.attempt, one.after.attempt
    return f"{after.called}: attempt {before.number} to {after.number}" if before and after else ""


def _moved(one: Redesign) -> str:
    if not one.changes:
        return "Nothing was changed that the model sees."
    return (
        f"From {points_words(one.before.points)} points to "
        f"{points_words(one.after.points)}, and from "
        f"{percent(one.before.score)} of the targets by weight to {percent(one.after.score)}."
    )


def _moved_target(board: Board, one: Redesign, name: str, system: System) -> str:
    target = board.brief.target[name]
    before = evidence_words(target, one.before, name, system)
    after = evidence_words(target, one.after, name, system)
    return f"{called_words(name, board.brief)}: {before}; then {after}."


def _why(board: Board, one: Redesign, parts: Table, system: System) -> list[Block]:
    """What each change did, town by town, as a comparison says it."""
    assert one.found is not None
    looked = [
        name
        for target in board.brief.target.values()
        if target.town != "*"
        for name in target.towns_of(board.brief.season)
    ]
    dry = any(target.during == "drought" for target in board.brief.target.values())
    return [
        *(
            Paragraph(f"{'In the drought, ' if dry else ''}{town_words(one.found, town, system)}")
            for town in dict.fromkeys(looked)
        ),
        *why_blocks(Against(_pair(one), one.found, None), parts),
    ]


def _refused(board: Board) -> list[Block]:
    if not board.refused:
        return []
    return [
        Section(
            "Not graded",
            [
                Paragraph("What is wrong in each file, and what to do. All others were graded."),
                *(
                    Section(one.file, [Items([str(problem) for problem in one.problems])])
                    for one in board.refused
                ),
            ],
        )
    ]


def _draw(board: Board) -> Drawn:
    from hydroloop.charts.board import Mark
    from hydroloop.charts.board import board as drawn

    best = set(map(id, board.front))
    rows = [board.as_it_is, *board.graded]
    marks = [Mark(name_of(one), one.points, one.score, id(one) in best) for one in rows]
    plans = [one for one in reversed(board.front) if one.attempt][:6]
    told = [
        f"{name_of(one)} ({percent(one.score)} for {points_words(one.points)} points)"
        for one in plans
    ]
    named = joined(told) if told else "none but to leave all as it is"
    return drawn(
        marks,
        board.brief.points,
        caption="Each mark is a plan; the broken line is "
        f"the budget. The best trade-offs (diamonds): {named}.",
    )
