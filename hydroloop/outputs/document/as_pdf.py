"""A document as PDF, set for paper: tagged, its pictures as vectors with their words."""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Iterator, Sequence
from contextlib import suppress
from importlib.resources import files
from pathlib import Path
from typing import Any, Literal

from hydroloop.errors import AskError
from hydroloop.outputs.document.blocks import (
    Block,
    Cards,
    Document,
    Entries,
    Items,
    Listing,
    Paragraph,
    Picture,
    Room,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.grids import Grid, grids
from hydroloop.temporary import temporary_folder

Paper = Literal["a4", "letter"]
PAPERS: dict[Paper, str] = {"a4": "a4", "letter": "us-letter"}
"""Sizes of paper, and what the typesetter calls them."""

_UNBROKEN = re.compile(r"\S{41,}")
_SIGN = re.compile(" (?=%|[×÷=] )")
_CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f\x7f\u2028\u2029]")


def paper_of(document: Document) -> Paper:
    """The paper that lies in a printer where a document's units are used."""
    return "letter" if document.system == "us" else "a4"


def as_pdf(document: Document, paper: Paper | None = None) -> bytes:
    """All of a document for the printer, tagged for screen readers by the rules of PDF/UA-1; equal
    documents give equal bytes. Its words are handed over as data: none of them is read as
    markup."""
    return _typeset(document, paper, "pdf", pdf_standards=["ua-1"])[0]


def _typeset(document: Document, paper: Paper | None, form: Any, **how: Any) -> list[bytes]:
    import matplotlib
    import typst

    letters = Path(matplotlib.get_data_path()) / "fonts" / "ttf"  # those of the pictures
    with temporary_folder() as folder:
        values = {
            "title": _words(document.title),
            "foot": textwrap.shorten(document.title, 90, placeholder=" …"),
            "ran": [_words("; ".join(document.ran_words()))],
            "paper": PAPERS[paper or paper_of(document)],
            "blocks": list(_blocks(document, document.blocks, folder)),
            "cautions": [_words(one) for one in document.cautions],
        }
        (folder / "document.json").write_text(json.dumps(values), encoding="utf-8")
        page = folder / "page.typ"
        page.write_bytes((files(__package__) / "page.typ").read_bytes())
        made = typst.compile(
            page,
            root=folder,
            font_paths=[letters],
            ignore_system_fonts=True,
            format=form,
            timestamp=0,
            **how,
        )
    return made if isinstance(made, list) else [made]


def _blocks(document: Document, blocks: Sequence[Block], folder: Path) -> Iterator[dict[str, Any]]:
    for one in blocks:
        if isinstance(one, Section):
            yield {
                "kind": "section",
                "title": _words(one.title),
                "together": one.keep_together,
                "new_page": one.new_page,
                "blocks": list(_blocks(document, one.blocks, folder)),
            }
        elif isinstance(one, Cards):
            yield {"kind": "cards", "cards": list(_blocks(document, one.cards, folder))}
        elif isinstance(one, Listing):
            yield {"kind": "listing", "lines": "\n".join(map(_words, one.lines))}
        elif isinstance(one, Paragraph):
            yield {"kind": "paragraph", "words": _words(one.words)}
        elif isinstance(one, Items):
            yield {
                "kind": "items",
                "ordered": one.is_ordered,
                "items": [_words(item) for item in one.items],
            }
        elif isinstance(one, Entries):
            yield {
                "kind": "entries",
                "columns": one.wide > 0,
                "entries": [[_words(part) for part in entry] for entry in one.entries],
            }
        elif isinstance(one, Room):
            yield {"kind": "room", "lines": one.lines, "framed": one.is_framed}
        elif isinstance(one, Picture):
            with suppress(AskError):  # nothing to draw
                yield _picture(document, one, folder)
        elif isinstance(one, TableBlock) and one.where in ("everywhere", "people"):
            for grid in grids(one.table, document.system):
                yield _table(grid)


def _table(grid: Grid) -> dict[str, Any]:
    return {
        "kind": "table",
        "title": _words(grid.title),
        "right": list(grid.to_right),
        "heads": [_words(head) for head in grid.heads],
        "rows": [[_words(cell) for cell in row] for row in grid.rows],
        "groups": {str(row): _words(head) for row, head in grid.groups.items()},
        "notes": [_words(note) for note in grid.notes],
    }


def _picture(document: Document, picture: Picture, folder: Path) -> dict[str, Any]:
    from hydroloop.charts.saving import drawn_as

    figure = document.drawn(picture)
    file = f"picture-{sum(1 for _ in folder.glob('*.svg'))}.svg"
    (folder / file).write_bytes(drawn_as(figure, "svg"))
    return {
        "kind": "picture",
        "file": file,
        "caption": _words(picture.caption),
        "words": _words(picture.alternative or figure.alternative),
    }


def _words(text: str) -> str:
    """Words as they are set: no line begins with a percent sign or with a sign of arithmetic, and
    no word is so long that it leaves the page."""
    text = _SIGN.sub("\N{NO-BREAK SPACE}", _CONTROL.sub(" ", text))
    return _UNBROKEN.sub(
        lambda match: "\N{ZERO WIDTH SPACE}".join(
            match[0][at : at + 20] for at in range(0, len(match[0]), 20)
        ),
        text,
    )
