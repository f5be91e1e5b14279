"""Pages for the teacher: how to run the lesson, what students think, standards, the answers."""

from __future__ import annotations

from hydroloop.outputs.document import (
    Block,
    Document,
    Entries,
    Items,
    Paragraph,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.cautions import LONG
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import number_of
from hydroloop.outputs.lesson.facts import DROPS, Lesson, power_words
from hydroloop.outputs.lesson.questions import questions, three_figures
from hydroloop.outputs.lesson.sheets import ATTARI, PARTS, glass_words
from hydroloop.outputs.lesson.tally import band

_TIMING = [
    (
        "before",
        "Print the cards once and cut them apart; the other sheets once for each student, but not "
        "the pages for the teacher: they have the answers.",
    ),
    ("5 min", "Draw before: everybody alone, nothing looked up."),
    (
        "5 min",
        "The town: read the page, look at the loop. Guess the used share of a glass; write "
        "all guesses on the board.",
    ),
    (
        "12 min",
        "Drops: a card for each student. Read, count the uses, tally. With fewer students "
        "some take two; all thirty must be counted.",
    ),
    ("8 min", "Compare the tally with the shares of all the water. Does it fit within luck?"),
    ("8 min", "Worksheet level 1, in pairs; level 2 for those who are done, or at home."),
    (
        "7 min",
        "Draw after, count the parts, talk: what was new? Where does water get lost? Who "
        "makes sure that it is clean?",
    ),
]
# NGSS performance expectations in our own words.
_STANDARDS = [
    ("MS-ESS2-4", "a model of how water cycles, driven by the sun and by gravity"),
    (
        "MS-ESS3-3",
        "a way to watch or lessen what people do to their surroundings, as by taking water",
    ),
    ("MS-ESS3-4", "an argument on what more people and more use per head do"),
    (
        "MS-ETS1-1 to 1-4",
        "criteria and constraints, comparing designs, reading tests, testing "
        "again (with the challenge)",
    ),
    ("HS-ESS3-3, HS-ETS1-4", "a simulation of how a resource is managed"),
    ("Energy and matter", "matter is tracked through a system and conserved (crosscutting)"),
]
_MISTAKEN = [
    (
        "Water comes from the tap and ends in the drain",
        "Of 457 students of a US university who "
        "drew it, 29 % left out the water plant and 64 % the wastewater plant; one in five sent "
        f"wastewater back untreated. {ATTARI}.",
    ),
    (
        "Wastewater plants give drinking water straight to the homes",
        "Of 340 first-year students "
        "in Germany hardly any gave the whole cycle in order; nearly all named the sewage plant, "
        "most left out the river and the waterworks (Schmid and Bogner 2018, PLoS ONE 13:e0200928, "
        "abstract read).",
    ),
    (
        "Three numbers are one",
        "The share of a glass that was used, the mean number of uses and the "
        "wastewater over river flow are all called percent; they are not the same.",
    ),
    ("Thirty drops must show the exact share", "They stray; the sheet says by how much."),
]


def teacher_pages(lesson: Lesson) -> Document:
    """Timing, standards, what students think, cautions, and the answers."""
    made = questions(lesson)
    low, high = band(DROPS, lesson.used)
    found = sum(one.uses > 0 for one in lesson.diaries)
    blocks: list[Block] = [
        Paragraph(glass_words(lesson)),
        Section("45 minutes", [Entries(_TIMING)]),
        Section(
            "What it is good for",
            [
                Paragraph(
                    "Performance expectations of the Next Generation Science Standards, in our own "
                    "words; the standards themselves decide."
                ),
                Entries(_STANDARDS),
            ],
        ),
        Section("What students think", [Entries(_MISTAKEN)]),
        Section(
            "The drawings",
            [
                Paragraph(
                    f"One point for each of the seven parts: {', '.join(PARTS)}. A score from 0 to "
                    "7 before and after shows what the class has learnt. (Counting these seven "
                    "parts follows Attari and others 2017, as told in two news reports.)"
                )
            ],
        ),
        Section(
            "The drops",
            [
                Paragraph(
                    f"Seed {lesson.seed}; another seed draws other drops. Uses on the cards:"
                ),
                Entries(
                    [
                        (
                            f"{words} ({number_of(len(own), 'drop')})",
                            ", ".join(str(one.number) for one in own) or "none",
                        )
                        for words, own in lesson.drops_by_uses()
                    ]
                ),
                Paragraph(
                    f"That is {found} used drops; the share of all the water is "
                    f"{lesson.used_words}, so {lesson.expected} are expected, and "
                    f"{low} to {high} in 19 of 20 classes (central 95 % of the binomial law). "
                    "The question on two spreads has a rule of thumb instead: its range may differ "
                    "by one or two at either end."
                ),
                Paragraph(
                    "Each line of the tally sheet has a range of its own. Of several lines one "
                    "is outside of its range more often than one in 20."
                ),
            ],
        ),
        Section(
            "Answers",
            [
                Paragraph(
                    "Numbers on the way are kept in four figures, answers are rounded to three. "
                    "Who rounds sooner may be off by one in the last figure: count it as right."
                ),
                *(
                    Section(
                        "",
                        [
                            Entries([(_number(made, place), one.words)]),
                            Items(list(one.steps)),
                            Paragraph(
                                f"Answer: {_answer(one.answer)} {one.unit}".rstrip()
                                + f"{one.more}."
                            ),
                        ],
                        keep_together=True,
                    )
                    for place, one in enumerate(made)
                ),
                TableBlock(_key(lesson), where="values"),
            ],
        ),
        Section("Cautions", [Items(list(LONG))], keep_together=True),
    ]
    return Document("lesson", "For the teacher", blocks, lesson.result.system)


def _number(made: list, place: int) -> str:
    level = made[place].level
    return f"{level}.{sum(one.level == level for one in made[: place + 1])}"


def _answer(value: float) -> str:
    return power_words(value) if abs(value) >= 1e9 else three_figures(value)


def _key(lesson: Lesson) -> Table:
    made = questions(lesson)
    return Table(
        "answers",
        "Answers",
        [
            Column("question", [_number(made, place) for place in range(len(made))]),
            Column("answer", [one.answer for one in made], "number"),
            Column("unit of answer", [one.unit for one in made], key="unit"),
        ],
    )
