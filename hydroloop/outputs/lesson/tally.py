"""Thirty drop journeys, the sheet to tally them on, and how far thirty may honestly stray."""

from __future__ import annotations

import re

from scipy.stats import binom

from hydroloop.charts.words import date_words, percent, place_words
from hydroloop.outputs.document import (
    Block,
    Document,
    Entries,
    Paragraph,
    Room,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import figure
from hydroloop.outputs.lesson.facts import DROPS, Lesson
from hydroloop.outputs.run.diary import dates_in_words

_COUNTED = re.compile(r" \(use \d+\)")
_BAND = 0.95


def band(count: int, share: float) -> tuple[int, int]:
    """Central 95 % of the counts that a class may come to by chance alone."""
    low, high = binom.ppf([(1 - _BAND) / 2, (1 + _BAND) / 2], count, min(max(share, 0.0), 1.0))
    return int(max(low, 0)), int(high)


def journeys(lesson: Lesson) -> Document:
    """A card for each student: one drop, where it came from, day by day."""
    place = place_words(lesson.town)
    blocks: list[Block] = [Paragraph(
        f"Each card is one drop from a glass of tap water in {place} on "
        f"{date_words(lesson.day)}. It tells where the drop came from. Cut the cards apart and "
        f"give one to each student. How many times was your drop {lesson.result.use.within} "
        "before?")]
    for diary in lesson.diaries:
        dates = [dates_in_words(line.first, line.last) for line in diary.lines]
        lines = [_COUNTED.sub("", line.text) for line in diary.lines]
        entries = [("" if when == before else when, text)
                   for when, before, text in zip(dates, ["", *dates], lines, strict=False)]
        blocks.append(Section(f"Drop {diary.number}", [
            Entries(entries), Paragraph(f"My drop was {lesson.result.use.within} ____ times.")],
            keep_together=True))
    return Document("lesson", f"Thirty drops of {place}", blocks, lesson.result.system)


def tally_sheet(lesson: Lesson) -> Document:
    """Lines to count the class's drops on, beside what the model says of all the water."""
    rows = [(words, share, *band(DROPS, share)) for words, share in lesson.tally]
    within = lesson.result.use.within
    table = Table("tally", f"How many times {within} before", [
        Column(f"times {within}", [words for words, *_ in rows]),
        Column("our tally", [""] * len(rows), words=["              "] * len(rows)),
        Column("our count", [""] * len(rows), words=["          "] * len(rows)),
        Column("share of all the water", [share for _, share, *_ in rows], "share"),
        Column("expected of 30", [DROPS * share for _, share, *_ in rows], "number"),
        Column("19 times in 20", [f"{low} to {high}" for *_, low, high in rows])])
    low, high = band(DROPS, lesson.used)
    return Document("lesson", "Count the drops of your class", [
        Paragraph("Ask each student for the number on the card. Make one mark for each drop."),
        TableBlock(table),
        Section("Does your count fit?", [
            Paragraph(f"The model says that {percent(lesson.used)} of this water was {within} "
                      f"before. For 30 drops we expect {figure(DROPS * lesson.used)}. But thirty "
                      "drops are few. Luck plays a part."),
            Paragraph(f"If 20 classes each draw 30 new drops, about 19 of them will find between "
                      f"{low} and {high} used drops. Is your count in that range? If it is not, is "
                      "the model wrong, or was it luck? What could you do to find out?"),
            Room(3)]),
        Section("Think about it", [
            Paragraph("Put your count with the count of another class. Now you have 60 drops. Are "
                      "you closer to the share of all the water? Why?"), Room(3)])],
        lesson.result.system)
