"""A document on paper: tagged, its words in it as text, nothing read as markup."""

from __future__ import annotations

import io
import re
import subprocess
from dataclasses import replace

import numpy as np
import pytest
from matplotlib.image import imread
from pypdf import PdfReader
from unit.test_document import EVIL, TOWNS, document

from hydroloop.files.seal import unsealed
from hydroloop.outputs.document import (
    Cards,
    Document,
    Listing,
    Paragraph,
    Room,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.as_html import as_html
from hydroloop.outputs.document.as_pdf import _typeset, as_pdf
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.writing import write_document

MARKUP = "*bold* _low_ #panic() $x^2$ @ref <label> `raw` \\ // = - + / [a](b) " + EVIL


def read(made: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(made))


def text_of(made: bytes) -> str:
    """All text, with one space wherever a line ends."""
    pages = (page.extract_text() for page in read(made).pages)
    return " ".join(" ".join(pages).split()).replace("\u200b", "").replace("\xa0", " ")


def alternatives(made: bytes) -> list[str]:
    """Words that stand for each picture in the tree of tags."""
    found, todo = [], [read(made).trailer["/Root"]["/StructTreeRoot"]]
    while todo:
        one = todo.pop().get_object()
        if isinstance(one, list):
            todo += one
        elif isinstance(one, dict):
            found += [str(one["/Alt"])] if one.get("/S") == "/Figure" else []
            todo += [one["/K"]] if "/K" in one else []
    return found


def test_words_stay_words_on_paper():
    """Markup of any kind in a title, a name or a value is set as it was written."""
    text = text_of(as_pdf(document(MARKUP)))
    assert text.replace(" ", "").count(MARKUP.replace(" ", "")) >= 8


def test_pages_are_tagged_and_pictures_have_words():
    """A screen reader is told the language, the title, and what each picture shows."""
    made = as_pdf(document("Plain words."))
    root = read(made).trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert read(made).metadata.title == "Plain words."
    assert b"pdfuaid" in read(made).xmp_metadata.stream.get_data()
    assert alternatives(made) == ["Plain words."] or "Plain words." in alternatives(made)[0]


def test_equal_documents_give_equal_bytes():
    """Nothing in the file tells when it was made."""
    assert as_pdf(document()) == as_pdf(document())
    assert as_pdf(document()) != as_pdf(document("Other words."))


@pytest.mark.parametrize(
    ("paper", "system", "millimetres"),
    [
        (None, "us", (215.9, 279.4)),
        (None, "metric", (210.0, 297.0)),
        ("a4", "us", (210.0, 297.0)),
        ("letter", "metric", (215.9, 279.4)),
    ],
)
def test_paper_is_that_of_the_units_unless_asked(paper, system, millimetres):
    """Letter where people measure in gallons, A4 elsewhere: ISO 216 and ANSI/ASME Y14.1."""
    box = read(as_pdf(replace(document(), system=system), paper)).pages[0].mediabox
    assert np.allclose(
        [float(box.width) / 72 * 25.4, float(box.height) / 72 * 25.4], millimetres, atol=0.1
    )


def test_every_page_has_its_number():
    """Pages are numbered, and say how many there are."""
    long = Document("run", "Long", [Paragraph("Words. " * 200) for _ in range(12)])
    pages = read(as_pdf(long)).pages
    assert len(pages) > 2
    for number, page in enumerate(pages, 1):
        assert f"page {number} of {len(pages)}" in page.extract_text()


def test_a_table_too_wide_goes_on_below_its_first_column():
    """All cells of twenty columns are there, and none leaves the page."""
    columns = [
        Column("town", TOWNS),
        *(
            Column(f"measure number {k}", [k * 1000.0 + 123.4 + row for row in range(12)], "number")
            for k in range(20)
        ),
    ]
    wide = Document("run", "Wide", [TableBlock(Table("wide", "Wide", columns))])
    text = text_of(as_pdf(wide))
    assert text.count("town_3 ") >= 2
    for column in columns[1:]:
        for _, cell in zip(TOWNS, column.shown("us")[1], strict=True):
            assert f"{cell:,.0f}"[:4] in text
    for page in _typeset(wide, None, "png", ppi=50):
        shown = imread(io.BytesIO(page))[..., :3]
        edge = int(12 / 25.4 * 50)
        assert shown[:, -edge:].min() > 0.99, "something stands in the margin"


def test_sheets_begin_on_new_pages_with_room_to_write():
    """Room is ruled lines or a frame: on paper, on a page and on screen."""
    sheets = Document(
        "lesson",
        "Sheets",
        [
            Section("One", [Room(3)], new_page=True),
            Section("Two", [Room(5, is_framed=True)], new_page=True),
        ],
    )
    texts = [page.extract_text() for page in read(as_pdf(sheets)).pages]
    assert ["One" in text for text in texts] != ["Two" in text for text in texts]
    assert as_html(sheets).count('class="lines"') == as_html(sheets).count('class="frame"') == 1
    assert sum("____" in line for line in as_text(sheets)) == 4


def test_groups_cards_and_listings_are_shown_everywhere():
    """Headings over rows, cards to cut apart and lines of a file: on paper, on a page, on screen;
    a card longer than a page goes on on the next."""
    long = Section("Card 2", [Paragraph(f"line {k} of many.") for k in range(150)])
    table = Table(
        "keys",
        "Keys",
        [Column("key", ["a.x", "a.y", "b.x"], words=["x", "y", "x"])],
        groups={0: "group a", 2: "group b"},
    )
    shown = Document(
        "lesson",
        "All",
        [
            TableBlock(table),
            Listing(["[one]", "  two = 2"]),
            Cards([Section("Card 1", [Paragraph("short.")]), long]),
        ],
    )
    said = [
        "group a",
        "x",
        "y",
        "group b",
        "x",
        "[one]",
        "two = 2",
        "Card 1",
        "short.",
        "Card 2",
        *(f"line {k} of many." for k in range(150)),
    ]
    page = re.sub(r"<[^>]+>", " ", as_html(shown).partition("<main>")[2])
    for text in (text_of(as_pdf(shown)), page, " ".join(as_text(shown))):
        at = 0
        for words in said:
            at = text.index(words, at) + len(words)
    assert "  [one]\n    two = 2" in "\n".join(as_text(shown))


def test_out_may_end_in_pdf(tmp_path):
    """--out of any command takes a file that ends in .pdf."""
    path = tmp_path / "answer.pdf"
    write_document(document(), str(path))
    assert unsealed(path.read_bytes(), ".pdf") == as_pdf(document())
    assert text_of(path.read_bytes()) == text_of(as_pdf(document()))
    write_document(document("Other words."), str(path), force=True)
    assert "Other words." in text_of(path.read_bytes())


def test_text_can_be_taken_out_by_other_programs(tmp_path):
    """What pdftotext finds, where it is installed, are the words of the document."""
    path = tmp_path / "answer.pdf"
    path.write_bytes(as_pdf(document()))
    try:
        said = subprocess.run(["pdftotext", str(path), "-"], capture_output=True, text=True)
    except FileNotFoundError:
        pytest.skip("pdftotext is not installed")
    assert "Plain words." in said.stdout
