"""The pack of a lesson: all sheets in one file for the printer, and each as a page."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from hydroloop.charts.words import date_words
from hydroloop.files.folder import whole_folder
from hydroloop.files.listing import files_in
from hydroloop.outputs.document import Block, Document, Fact, Section, Written
from hydroloop.outputs.document.as_html import as_html
from hydroloop.outputs.document.as_pdf import Paper, as_pdf
from hydroloop.outputs.document.writing import names_file, write_document
from hydroloop.outputs.lesson.facts import DROPS, Lesson
from hydroloop.outputs.lesson.sheets import (
    brief_sheet,
    drawing_sheet,
    glass_words,
    same_water,
    worksheet,
)
from hydroloop.outputs.lesson.tally import journeys, tally_sheet
from hydroloop.outputs.lesson.teacher import teacher_pages
from hydroloop.outputs.whatif.changed import Changed

STUDENT = (
    "1-town",
    "2-draw-before",
    "3-drops",
    "4-tally",
    "5-worksheet-1",
    "6-worksheet-2",
    "7-same-water",
    "8-draw-after",
)
"""Sheets for students, in the order in which they are used."""


def sheets_of(lesson: Lesson) -> dict[str, Document]:
    """All sheets by the names of their files, the teacher's last."""
    made = (
        brief_sheet(lesson),
        drawing_sheet(lesson, is_after=False),
        journeys(lesson),
        tally_sheet(lesson),
        worksheet(lesson, 1),
        worksheet(lesson, 2),
        same_water(lesson),
        drawing_sheet(lesson, is_after=True),
    )
    return {**dict(zip(STUDENT, made, strict=True)), "9-teacher": teacher_pages(lesson)}


def pack_of(lesson: Lesson, sheets: Mapping[str, Document], changed: Changed) -> Document:
    """All sheets as one document, each beginning on a page of its own."""
    place = lesson.place
    parts: list[Block] = [
        Section(one.title, one.blocks, new_page=number > 0, short=False)
        for number, one in enumerate(sheets.values())
    ]
    return Document(
        "lesson",
        f"A lesson on the water of {place}",
        [*changed.blocks, *parts],
        lesson.result.system,
        changed.ran,
        facts={
            "town": Fact(lesson.town),
            "date": Fact(str(lesson.day)[:10]),
            "drops": Fact(DROPS),
            "used_drops": Fact(sum(one.uses > 0 for one in lesson.diaries)),
            "used_share": Fact(lesson.used, "share"),
            "seed": Fact(lesson.seed),
        },
    )


def write_pack(
    lesson: Lesson,
    changed: Changed,
    target: str,
    paper: Paper | None = None,
    *,
    force: bool = False,
    before: bytes | None = None,
) -> Document:
    """Write the pack as PDF and each sheet as a page, all or nothing, or the pack into one file;
    the pack with what was written."""
    sheets = sheets_of(lesson)
    pack = pack_of(lesson, sheets, changed)
    if names_file(target):
        return write_document(pack, target, force=force, paper=paper)
    with whole_folder(target, force=force, before=before) as folder:
        (folder / "pack.pdf").write_bytes(as_pdf(pack, paper))
        (folder / "sheets").mkdir()
        for name, one in sheets.items():
            (folder / "sheets" / f"{name}.html").write_text(as_html(one), encoding="utf-8")
        files = files_in(folder)
    return replace(
        pack,
        written=Written(
            f"{target.rstrip('/')}/",
            files,
            [
                (
                    "pack.pdf",
                    "all sheets for the printer; the last are for the teacher, with the answers",
                ),
                ("sheets/", "each sheet as a page"),
            ],
        ),
    )


def short_words(lesson: Lesson) -> list[str]:
    """What is in the pack, in two lines."""
    return [
        glass_words(lesson),
        f"{DROPS} drops of it, drawn with seed {lesson.seed} on "
        f"{date_words(lesson.day)}, have a card each.",
    ]
