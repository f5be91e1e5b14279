"""The task of a challenge: for the teams."""

from __future__ import annotations

from hydroloop.judging import Brief
from hydroloop.outputs.challenge.words import (
    points_words,
    price_words,
    step_lines,
    targets_table,
    where_words,
    worked_plan,
)
from hydroloop.outputs.document import (
    Block,
    Document,
    Items,
    Listing,
    Paragraph,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.cautions import SHORT
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import number_of
from hydroloop.units.printing import System


def task_document(brief: Brief, system: System) -> Document:
    """What teams may do, what it costs, and what they are to reach."""
    allowed = list(brief.allow.values())
    steps = Table(
        "allowed",
        "",
        [
            Column("what you may do", [one.what for one in allowed]),
            Column("where", [where_words(one, brief) for one in allowed]),
            Column("price for each town", [price_words(one) for one in allowed]),
        ],
    )
    written = [line for one in allowed for line in (f"# {one.what}", *step_lines(one, brief))]
    worked = worked_plan(brief)
    steps_in = worked.count("[[step]]")
    drought = (
        [Paragraph(f"The drought: {' '.join(brief.drought_about.split())}")]
        if brief.drought_about
        else []
    )
    blocks: list[Block] = [
        *([Paragraph(" ".join(brief.about.split()))] if brief.about else []),
        Section(
            "What shall be reached",
            [
                TableBlock(targets_table(brief, system)),
                Paragraph(
                    "A target is met or it is not: near is not met. Where a target is about every "
                    "town, the worst town counts."
                ),
                *drought,
            ],
        ),
        Section(
            "What you may do",
            [
                Paragraph(
                    f"You have {points_words(brief.points)} points. Between the two ends "
                    "of a range the price goes up evenly. Do each thing at most once in each "
                    "town."
                ),
                TableBlock(steps),
                Paragraph("How each is written in a step, for example:"),
                Listing(written),
            ],
        ),
        Section(
            "How to write a plan",
            [
                Paragraph(
                    f"A plan with {number_of(steps_in, 'step')} looks like this. Change it to "
                    "make your own:"
                ),
                Listing(worked),
                Items(
                    [
                        "Each [[step]] makes one change. Copy how it is written from the list of "
                        "what you may do, and change the town and the amount.",
                        f"Towns are written in small letters: {', '.join(brief.season.town)}.",
                        *(
                            [
                                "A step with set names its town inside the key. It has no line for "
                                "the town."
                            ]
                            if any(one.key for one in allowed)
                            else []
                        ),
                        'Words and amounts stand in straight quotes: "10 %". Curly quotes do not '
                        "work.",
                    ]
                ),
            ],
            new_page=True,
        ),
        Section(
            "How to hand it in, and see how it did",
            [
                Items(
                    [
                        "Save the plan as plain text. Its name is your team, a hyphen and the "
                        "number of the attempt: heron-1.toml.",
                        "Hand it in. It is put in one folder with brief.toml, and graded with: "
                        "hydroloop challenge FOLDER",
                        "Look at the board (board.pdf in the folder board). It shows which targets "
                        "you met, how far off the others are, and what you spent. A plan with a "
                        "mistake is listed with what to mend.",
                        "Talk: what did most? Write a second plan, heron-2.toml. The next board, "
                        "in board-2, shows what each of your changes did.",
                    ],
                    is_ordered=True,
                )
            ],
            keep_together=True,
        ),
    ]
    return Document("challenge", brief.title, blocks, system, cautions=SHORT)
