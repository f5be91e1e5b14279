"""Sheets for students: the town, the drawing, the worksheet, the same water."""

from __future__ import annotations

from functools import partial

from hydroloop.charts.words import date_words, joined, place_words, river_words, time_words
from hydroloop.outputs.document import (
    Block,
    Document,
    Entries,
    Items,
    Paragraph,
    Picture,
    Room,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import figure, group_of, season_span
from hydroloop.outputs.lesson.facts import Lesson, power_words
from hydroloop.outputs.lesson.questions import levels, questions
from hydroloop.outputs.run.pictures import Wanted, figure_of
from hydroloop.units import format_quantity

PARTS = (
    "a river, a lake or a well",
    "a plant that cleans the water",
    "pipes to the homes",
    "a home that uses it",
    "sewers that collect it",
    "a plant that cleans the wastewater",
    "a way back to the river or the ground",
)
"""The seven parts of an urban water system."""
BLANK = "\N{EM SPACE}" * 6
"""A cell to write in."""
ATTARI = (
    "Attari, Poinsatte-Jones and Hinton 2017, Judgment and Decision Making 12:314 (abstract read)"
)


def brief_sheet(lesson: Lesson) -> Document:
    """One page on the town: who lives there, where water comes from and goes, what is asked."""
    result, place = lesson.result, lesson.place
    town, system = result.scenario.town[lesson.town], result.system
    people = f"{town.people:,.0f}"
    homes = format_quantity(lesson.mean("delivered"), "flow", system)
    facts = Items(
        [
            f"{people} people live in {place}.",
            *_source(lesson),
            f"On a mean day its homes get {homes}.",
            *_cleaned(lesson),
        ]
    )
    season = result.scenario.season
    return Document(
        "lesson",
        f"{place} and its water",
        [
            Paragraph(
                f"{place} is a town in a model. It is made up, but its numbers are like those of "
                f"real towns. We look at it from {season_span(season.start, season.end)}."
            ),
            facts,
            Picture("loop", partial(figure_of, result, Wanted("loop", lesson.town))),
            Section(
                "What we want to know",
                [
                    Paragraph(
                        "Pour a glass of water in this town. Has some of it been in a home before? "
                        "How much? How often? How long ago? And how could anyone know?"
                    )
                ],
            ),
            Section(
                "Guess first",
                [
                    Paragraph(
                        "Think of 100 drops in the glass. How many of them were in a home before? "
                        "My guess: ____. Why do you think so?"
                    ),
                    Room(3),
                ],
            ),
        ],
        system,
    )


def _source(lesson: Lesson) -> list[str]:
    town, names = lesson.result.scenario.town[lesson.town], lesson.result.names
    wells = "It pumps water from wells." if town.wells and town.wells.capacity else ""
    intake = ""
    if town.intake is not None:
        intake = (
            f"It takes water out of {river_words(town.intake.river, names)}."
            if town.intake.river
            else "It takes water out of "
            f"{place_words(town.intake.reservoir or 'a reservoir', names)}, a lake behind a "
            "dam."
        )
    above = [
        place_words(name, names)
        for name, other in lesson.result.scenario.town.items()
        if name != lesson.town and _is_above(other, town)
    ]
    upstream = (
        f"{joined(above)} {'lies' if len(above) == 1 else 'lie'} upstream and put cleaned "
        "wastewater into the same river."
        if above
        else ""
    )
    return [words for words in (intake, wells, upstream) if words]


def _is_above(other: object, town: object) -> bool:
    theirs, own = getattr(other, "outfall", None), getattr(town, "intake", None)
    return bool(
        theirs
        and own
        and theirs.river
        and theirs.river == own.river
        and theirs.at is not None
        and own.at is not None
        and theirs.at < own.at
    )


def _cleaned(lesson: Lesson) -> list[str]:
    """What the wastewater plant cleans and where that goes: to the river, or to be used again."""
    again, plant = lesson.reclaimed(), lesson.mean("reclaimed_to_supply")
    back = lesson.mean("effluent")
    cleaned, effluent, reclaimed, own = (
        format_quantity(value, "flow", lesson.result.system)
        for value in (back + again, back, again, plant)
    )
    if again <= 0:
        return [f"Its wastewater plant cleans {effluent} and sends it {_outlet(lesson)}."]
    said = [
        f"Its wastewater plant cleans {cleaned}. It sends {effluent} {_outlet(lesson)} and cleans "
        f"{reclaimed} once more, to be used again."
    ]
    if plant > 0:
        said.append(f"Of that, {own} are pumped back to its own water plant.")
    return said


def _outlet(lesson: Lesson) -> str:
    outfall = lesson.result.scenario.town[lesson.town].outfall
    river = outfall.river if outfall else ""
    return f"back to {river_words(river, lesson.result.names)}" if river else "back"


def drawing_sheet(lesson: Lesson, *, is_after: bool) -> Document:
    """Draw it before the lesson, and after it; count the parts."""
    system = lesson.result.system
    head = "Draw the water of a town: " + ("after" if is_after else "before")
    what = (
        "Draw how water gets to a tap in a home, and where it goes from the drain. Draw all "
        "steps that you know of. Use arrows and words."
    )
    first: list[Block] = [
        Paragraph(
            f"{what} Show what you have learned."
            if is_after
            else f"{what} Do not look anything up: this is about what you know now."
        ),
        Room(14 if is_after else 24, is_framed=True),
    ]
    if not is_after:
        return Document("lesson", head, first, system)
    table = Table(
        "parts",
        "Give one point for each part that is in your drawing",
        [
            Column("part", list(PARTS)),
            Column("before", [""] * 7, words=[BLANK] * 7),
            Column("after", [""] * 7, words=[BLANK] * 7),
        ],
    )
    return Document(
        "lesson",
        head,
        [
            *first,
            TableBlock(table),
            Paragraph(
                "Count your first drawing too. Points before: ___ of 7. Points after: ___ of 7. "
                "What was new to you?"
            ),
            Room(2),
            Paragraph(
                "Others found it hard too. Of 457 students at a university, 29 in 100 left out "
                "the plant that cleans the water. 64 in 100 left out the plant that cleans the "
                "wastewater. One in five sent dirty water back. (Source: "
                "Attari and others, 2017.)"
            ),
        ],
        system,
    )


def worksheet(lesson: Lesson, level: int) -> Document:
    """Questions with numbers of the run, and room for the steps."""
    made = dict(levels(questions(lesson)))[level]
    unit = (
        "1 Mgal is one million gallons."
        if lesson.result.system == "us"
        else "1 ML is one million liters."
    )
    blocks: list[Block] = [Paragraph(f"Show your steps. Round to three figures. {unit}")]
    for number, one in enumerate(made, 1):
        blocks.append(
            Section("", [Entries([(f"{level}.{number}", one.words)]), Room(3)], keep_together=True)
        )
    return Document("lesson", f"Worksheet, level {level}", blocks, lesson.result.system)


def same_water(lesson: Lesson) -> Document:
    """What "the same water" means to a chemist."""
    result, place = lesson.result, lesson.place
    whole = result.value("molecules_in_a_glass")
    month = next(
        (one.answer for one in questions(lesson) if one.unit == "molecules"),
        result.value("molecules_in_homes_last_month", town=lesson.town),
    )  # as the answers have it, worked out from printed numbers
    many = (
        [
            Paragraph(
                f"In {place}, {_molecules(month)} of them were {result.use.within} within "
                "the last 30 days. So many that every sip has some."
            )
        ]
        if month >= 1
        else []
    )
    median = result.value("last_use_median", town=lesson.town)
    ago = (
        [Paragraph(f"Half of the used part was {result.use.within} within {time_words(median)}.")]
        if median == median
        else []
    )
    return Document(
        "lesson",
        "The same water?",
        [
            Section(
                "Count the molecules",
                [
                    Paragraph(
                        "Water is made of tiny parts called molecules. Each has two hydrogen atoms "
                        "and one oxygen atom: H₂O."
                    ),
                    Paragraph(f"A glass of 250 milliliters holds {_molecules(whole)} molecules."),
                    *many,
                    *ago,
                ],
            ),
            Section(
                "Do molecules stay the same?",
                [
                    Paragraph(
                        "Not for long. Water molecules trade hydrogen atoms with those next to "
                        "them. They do it all the time, in the glass, in the river and in you. "
                        "After the trade, each one is still H₂O. But it holds another hydrogen "
                        "atom."
                    ),
                    Paragraph(
                        "So you can't paint a water molecule red and find it again. A chemist "
                        "would say: the atoms are old, the molecules are always new."
                    ),
                    Paragraph(
                        f'Then what do we mean by "the same water"? We mean the stream of it. When '
                        f"we say {lesson.used_words} of the glass was used before, "
                        "we follow how much water went where. That we can count."
                    ),
                ],
            ),
            Section(
                "Is it clean?",
                [
                    Paragraph(
                        "Used water is cleaned at a wastewater plant. It then mixes with the "
                        "river, and a water plant cleans it again. Law says how it must be tested. "
                        "Ask your water supplier for its report on water quality."
                    )
                ],
            ),
            Section(
                "Your turn",
                [
                    Paragraph(
                        'A friend says: "We drink the water that dinosaurs drank." What is right '
                        "about that? What is not?"
                    ),
                    Room(11),
                ],
            ),
        ],
        result.system,
    )


def _molecules(count: float) -> str:
    """A very big number in words and as a power of ten, both in three figures."""
    one, words = group_of(count)
    return f"{figure(count / one)} {words} ({power_words(count)})" if words else f"{count:.0f}"


def glass_words(lesson: Lesson) -> str:
    """The glass of the lesson in a line, for the teacher."""
    used = lesson.used_words
    return (
        f"On {date_words(lesson.day)} {used} of the tap water of {lesson.place} "
        f"had been {lesson.result.use.within} before; drops had been used "
        f"{figure(lesson.daily('mean_uses'))} times on average. That is one day. "
        f"{lesson.season_words}"
    )
