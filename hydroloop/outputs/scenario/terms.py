"""What `explain` says of measures, of what tables print, and of the words of the account."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from hydroloop.glossary import GLOSSARY, OURS, Term
from hydroloop.outputs.document import Document, Entries, Paragraph

_UNITS = {
    "m3": "volume; m3 in files",
    "d": "days",
    "m3 d-1": "flow; m3/day in files",
    "date": "a day",
}
_WIDE = 26  # letters of a term that stands in the list
_OF = {"town": "each town", "time": "each step", "store": "each store", "member": "each run"}


def terms_document() -> Document:
    """Every measure and every word, with its meaning."""
    return Document(
        "explain",
        "Measures and words. A measure is asked for by its name or by what tables call it.",
        [
            Paragraph(
                "hydroloop explain TERM tells symbol, formula, unit and source.", indent=True
            ),
            Entries([(_called(row), row.meaning) for row in GLOSSARY.values()], wide=_WIDE),
        ],
    )


def terms_in_words(rows: Sequence[Term]) -> Document:
    """What is known of the terms that somebody may mean."""
    entries = [entry for row in rows for entry in _entries(row)]
    return Document(
        "explain",
        " or ".join(_called(row) for row in rows),
        [Entries(entries, wide=max(len(word) for word, _ in entries))],
    )


def _called(row: Term) -> str:
    return row.plain or row.name.replace("_", " ")


def _entries(row: Term) -> Iterator[tuple[str, str]]:
    yield "meaning", row.meaning
    told = [
        ("symbol", row.symbol),
        ("formula", row.formula),
        (
            "unit",
            _UNITS.get(
                row.units,
                "a share, shown in %"
                if row.dimension == "share"
                else "none, a number"
                if row.units == "1"
                else row.units,
            ),
        ),
    ]
    if row.dims is not None:
        dims = ", ".join(_OF.get(dim, dim.replace("_", " ")) for dim in row.dims.split())
        told += [("told for", dims or "the whole map"), ("in files", row.name)]
    yield from ((word, said) for word, said in told if said)
    yield "source", "hydroloop's own word" if row.source == OURS else row.source
