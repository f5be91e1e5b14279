"""Thirty drop journeys, the sheet to tally them on, and how far thirty may honestly stray."""

from __future__ import annotations

import re

import numpy as np
from scipy.stats import binom

from hydroloop.charts.words import date_words, whole_numbers
from hydroloop.gates import USES, USUAL, Use
from hydroloop.outputs.document import (
    Block,
    Cards,
    Document,
    Entries,
    Paragraph,
    Room,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import dates_in_words
from hydroloop.outputs.lesson.facts import DROPS, Lesson
from hydroloop.outputs.lesson.sheets import BLANK
from hydroloop.outputs.run.diary import Diary

_COUNTED = re.compile(r" \(use \d+\)")
_HAD = "has been used"
_BAND = 0.95
_WORDS = {
    "mains": "big pipes under the streets",
    "storage tanks": "tanks of clean water on a hill or a tower",
    "rapid mix": "a tank where a salt is stirred into the water, to make specks of dirt stick",
    "flocculation": "slow stirring, so that specks of dirt meet and grow",
    "settling": "a still basin where dirt sinks down",
    "filters?": "beds of sand that hold back the rest",
    "clearwell": "the last tank of the water plant",
    "reservoir": "a lake behind a dam",
    "groundwater": "water that fills the gaps in sand, gravel and rock under our feet",
    "subsoil": "the ground between the roots and the groundwater",
    "seeps": "moves slowly through soil or sand",
    "sewers": "pipes that carry used water away",
    "wastewater": "water that was used; its plant cleans it",
    "aeration": "air goes into the wastewater, and tiny living things eat the dirt",
    "disinfection": "germs are killed",
    "untreated": "not cleaned",
    "reclaimed": "wastewater that was cleaned again, to be used once more",
    "on-site system": "a tank by the house, where there are no sewers",
    "effluent pond": "a pond that cleaned wastewater runs through",
    "storm drains": "pipes that take rain off the streets",
    "workplace": "an office, a shop or a factory",
    "record begins": "on the first day that the model works out",
}
"""Words of diaries for a class, each told where a card has it."""


def band(count: int, share: float) -> tuple[int, int]:
    """Central 95 % of the counts that a class may come to by chance alone."""
    low, high = binom.ppf([(1 - _BAND) / 2, (1 + _BAND) / 2], count, min(max(share, 0.0), 1.0))
    return int(max(low, 0)), int(high)


def journeys(lesson: Lesson) -> Document:
    """A card for each student: one drop, where it came from, day by day."""
    place, use = lesson.place, lesson.result.use
    year = str(lesson.day)[:4]
    cards = Cards([_card(diary, use, year) for diary in lesson.diaries])
    said = "\n".join(line.text for diary in lesson.diaries for line in diary.lines)
    blocks: list[Block] = [
        Paragraph(
            f"Each card is one drop from a glass of tap water in {place} on "
            f"{date_words(lesson.day)}. It tells where the drop came from, day by day. Cut the "
            f"cards apart and give one to each student. Days without a year are in {year}. How "
            f"many times was your drop {use.within} before?"
            f"{' A workplace is not a home.' if use == USES[USUAL] else ''} The last tap is that "
            "of your glass: it does not count."
        )
    ]
    if _HAD in said:
        blocks.append(
            Paragraph(
                f'A card may say at its start "{_HAD} once before". The drop was {use.within} '
                "before "
                "its story begins. Count that too."
            )
        )
    blocks += [
        Section(
            "Words on the cards",
            [
                Entries(
                    [
                        (found[0], meaning)
                        for word, meaning in _WORDS.items()
                        if (found := re.search(rf"\b{word}\b", said))
                    ]
                )
            ],
        ),
        cards,
    ]
    return Document("lesson", f"Thirty drops of {place}", blocks, lesson.result.system)


def _card(diary: Diary, use: Use, year: str) -> Section:
    dates = [dates_in_words(line.first, line.last).removesuffix(f" {year}") for line in diary.lines]
    entries = [
        ("" if when == before else when, _COUNTED.sub("", line.text))
        for when, before, line in zip(dates, ["", *dates], diary.lines, strict=False)
    ]
    return Section(
        f"Drop {diary.number}",
        [Entries(entries, wide=1), Paragraph(f"My drop was {use.within} ____ times.")],
        keep_together=True,
    )


def _tenths(lesson: Lesson, whole: int) -> list[str]:
    """Parts of a whole in tenths that add up to it, those that were used to the used share."""
    used = round(10 * whole * lesson.used)
    parts = whole_numbers(np.array([share for _, share in lesson.tally[1:]]), used)
    return [f"{part / 10:.1f}" for part in (10 * whole - used, *parts)]


def tally_sheet(lesson: Lesson) -> Document:
    """Lines to count the class's drops on, beside what the model says of all the water."""
    rows = [(words, share, *band(DROPS, share)) for words, share in lesson.tally]
    shares, expected = (_tenths(lesson, whole) for whole in (100, DROPS))
    within = lesson.result.use.within
    table = Table(
        "tally",
        f"How many times {within} before",
        [
            Column(f"times {within}", [words for words, *_ in rows]),
            Column("our marks", [""] * len(rows), words=[2 * BLANK] * len(rows)),
            Column("our count", [""] * len(rows), words=[BLANK] * len(rows)),
            Column(
                "share of all the water",
                [share for _, share, *_ in rows],
                "share",
                words=shares,
            ),
            Column(
                "expected of 30",
                [DROPS * share for _, share, *_ in rows],
                "number",
                words=expected,
            ),
            Column("19 times in 20", [f"{low} to {high}" for *_, low, high in rows]),
        ],
    )
    low, high = band(DROPS, lesson.used)
    return Document(
        "lesson",
        "Count the drops of your class",
        [
            Paragraph("Ask each student for the number on the card. Make one mark for each drop."),
            TableBlock(table),
            Section(
                "Does your count fit?",
                [
                    Paragraph(
                        f"The model says that {lesson.used_words} of this water was {within} "
                        f"before. For 30 drops we expect {lesson.expected}. But thirty "
                        "drops are few. Luck plays a part. (This is one day. "
                        f"{lesson.season_words})"
                    ),
                    Paragraph(
                        f"If 20 classes each draw 30 new drops, about 19 of them will find between "
                        f"{low} and {high} used drops. Is your count in that range? If it is not, "
                        "is the model wrong, or was it luck? What could you do to find out?"
                    ),
                    Room(3),
                ],
            ),
            Section(
                "Think about it",
                [
                    Paragraph(
                        "Put your count with the count of another class. Now you have 60 drops. "
                        "Are you closer to the share of all the water? Why?"
                    ),
                    Room(3),
                ],
            ),
            Section(
                "Draw it",
                [
                    Paragraph(
                        "Draw two bars for each line of the table: your count, and what is "
                        "expected of 30."
                    ),
                    Room(7, is_framed=True),
                ],
            ),
        ],
        lesson.result.system,
    )
