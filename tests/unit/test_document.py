"""One document, shown as text, JSON, CSV and HTML: the same in each, and words stay words."""

from __future__ import annotations

import csv
import json
from datetime import date
from html.parser import HTMLParser

import jsonschema
import pytest

from hydroloop.charts.picture import Picture as Drawn
from hydroloop.errors import AskError, OutputError
from hydroloop.outputs.document import (
    Ask,
    Document,
    Entries,
    Fact,
    Items,
    Paragraph,
    Picture,
    Ran,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.as_html import as_html
from hydroloop.outputs.document.as_json import SCHEMA, as_json
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.document.table import Column, Cross, Table
from hydroloop.outputs.document.writing import check_target, write_document

EVIL = "<script>alert('x')</script> & \"quotes\""
TOWNS = [f"town_{k}" for k in range(12)]


def flows(view="rows", **more):
    """A table of flows of twelve towns, one of them unknown."""
    return Table(
        "flows",
        "Flows",
        [
            Column("town", TOWNS, words=[f"Town {k}" for k in range(12)]),
            Column("run", ["now"] * 12),
            Column("taken", [3785.411784 * k for k in range(11)] + [float("nan")], "flow", "taken"),
        ],
        view,
        **more,
    )


def document(words="Plain words."):
    """A document with a block of each kind."""
    return Document(
        "run",
        words,
        [
            Paragraph(words),
            Section(
                words,
                [
                    Items([words]),
                    Entries([(words, words)]),
                    Section("Deeper", [Paragraph("Below.")]),
                ],
                short=False,
            ),
            TableBlock(flows(notes=[words])),
            Picture("picture", lambda: Drawn(words, words)),
        ],
        ran=Ran(words, (date(2031, 4, 1), date(2031, 9, 30)), [("key", "1", words)]),
        facts={"share": Fact(0.25, "share"), "word": Fact(words)},
        cautions=[words],
        ask_next=[Ask(words, words)],
    )


class Reader(HTMLParser):
    """Tags as they open and close, and the words between them."""

    def __init__(self, text):
        super().__init__()
        self.open, self.seen, self.words, self.ids = [], [], [], []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.seen.append(tag)
        self.ids += [value for name, value in attrs if name == "id"]
        if tag not in ("meta", "link", "br"):
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.ids += [value for name, value in attrs if name == "id"]

    def handle_endtag(self, tag):
        assert self.open.pop() == tag

    def handle_data(self, data):
        self.words.append(data)


def test_words_stay_words_on_a_page():
    """Markup in a title, a name or a value is shown as it was written, and nothing runs."""
    page = Reader(as_html(document(EVIL)))
    assert page.open == []
    assert "script" not in page.seen
    assert sum(EVIL in words for words in page.words) >= 9
    assert len(set(page.ids)) == len(page.ids)


def test_a_page_is_for_everybody():
    """Headings go down by one, tables have captions and headed columns, pictures have words."""
    text = as_html(document())
    assert [tag for tag in Reader(text).seen if tag in ("h1", "h2", "h3")] == [
        "h1",
        "h2",
        "h3",
        "h2",
        "h2",
    ]
    assert "<caption><span>Flows</span></caption>" in text
    assert '<th scope="col"' in text or "<th scope=col" in text
    assert 'role="img" aria-label="Plain words. ' in text
    assert "@media print" in text
    assert "http://" not in text.replace("http://www.w3.org", "")


def test_scripts_get_keys_without_units_and_the_units_beside():
    """JSON holds the held numbers whatever is shown, and fits its own schema."""
    for system in ("us", "metric"):
        found = json.loads(as_json(Document("run", "x", document().blocks, system)))
        jsonschema.validate(found, SCHEMA)
        assert found["tables"]["flows"][1] == {
            "town": "town_1",
            "run": "now",
            "taken": pytest.approx(3785.411784),
        }
        assert found["tables"]["flows"][11]["taken"] is None
        assert found["units"]["flows"] == {"taken": "m3/d"}
    found = json.loads(as_json(document(EVIL)))
    jsonschema.validate(found, SCHEMA)
    assert found["facts"] == {"share": 0.25, "word": EVIL}
    assert found["units"]["facts"] == {"share": "1"}


def test_numbers_are_shown_in_the_units_asked_for(tmp_path):
    """Of 1,000 cubic metres a day, 0.264172 Mgal (1 gal = 3.785411784 L): screen and CSV."""
    one = Table("one", "One", [Column("town", ["a"]), Column("taken", [1000.0], "flow")])
    for system, head, cell in (
        ("us", "taken [Mgal/day]", 0.264172),
        ("metric", "taken [ML/day]", 1.0),
    ):
        found = Document("run", "x", [TableBlock(one)], system)
        heads, cells = as_text(found)[-2:]
        assert heads.strip() == head
        assert float(cells.split()[-1]) == pytest.approx(cell, abs=5e-4)
        out = tmp_path / system
        write_document(found, str(out))
        with (out / "tables/one.csv").open() as file:
            (row,) = csv.DictReader(file)
        assert float(row[head]) == pytest.approx(cell, abs=1e-6)


@pytest.mark.parametrize("view", ["across", Cross(["run"], "town", ["taken"])])
def test_towns_that_are_too_many_go_on_below(view):
    """A table with towns across is cut into blocks that fit, each with its first column."""
    lines = as_text(Document("run", "x", [TableBlock(flows(view))]), width=60)
    assert max(map(len, lines)) <= 60
    heads = [line for line in lines if "Town" in line]
    assert len(heads) > 1
    assert " ".join(heads).split("Town ")[1:] == [f"{k}" for k in range(12)] or [
        part.strip() for part in " ".join(heads).split("Town ")[1:]
    ] == [str(k) for k in range(12)]


def test_the_short_answer_leaves_the_rest_out():
    """A section that is no part of the short answer is shown in full alone, and to scripts."""
    found = document()
    assert "Deeper" not in as_text(found)
    assert "Deeper" in as_text(found, full=True)
    assert "Below." in as_json(found)


def test_a_file_has_the_form_of_its_ending(tmp_path):
    """Text, page and picture each in one file; another ending is refused before the run."""
    found = document()
    for ending, begins in (
        (".txt", b"Plain"),
        (".html", b"<!DOCTYPE html>"),
        (".pdf", b"%PDF"),
        (".png", b"\x89PNG"),
        (".svg", b"<?xml"),
    ):
        path = tmp_path / f"file{ending}"
        check_target(str(path), force=False)
        told = write_document(found, str(path))
        assert path.read_bytes().startswith(begins)
        assert told.written.files == [str(path)]
        with pytest.raises(OutputError, match="Add --force"):
            check_target(str(path), force=False)
    for ending in (".csv", ".json", ".nc", ".xlsx"):
        with pytest.raises(AskError, match="Name a folder, or a file that ends in"):
            check_target(str(tmp_path / f"other{ending}"), force=False)


def test_one_table_is_shown_in_parts():
    """Rows of one run stand where it is spoken of; a file and a script get all of them once."""
    both = Table("parts", "Parts", [Column("run", ["a", "b"]), Column("key", ["x", "y"])])
    blocks = [
        TableBlock(Table("parts", "Parts", both.columns, only=("run", run))) for run in ("a", "b")
    ]
    found = Document("compare", "Both", blocks)
    assert [line.strip() for line in as_text(found) if line.strip() in ("x", "y")] == ["x", "y"]
    assert len(found.tables()) == 1
    assert json.loads(as_json(found))["tables"]["parts"] == [
        {"run": "a", "key": "x"},
        {"run": "b", "key": "y"},
    ]
