"""What `explain` says of the keys of a scenario file."""

from __future__ import annotations

from collections.abc import Sequence

from hydroloop.errors import AskError
from hydroloop.glossary import spoken
from hydroloop.outputs.document import Block, Document, Entries, Paragraph, Section, TableBlock
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.scenario.terms import terms_in_words
from hydroloop.outputs.scenario.units_of_keys import in_units
from hydroloop.scenario import KeyNote, all_keys, explain
from hydroloop.units.printing import System

_QUANTITIES = ("default", "usual", "bounds")
_WIDE = 18  # letters of a key that stands in the list


def keys_document() -> Document:
    """Every key with its meaning, table by table."""
    groups: list[tuple[str, list[tuple[str, str]]]] = [("", [])]
    heading = ""
    for note in all_keys():
        if note.is_table and not note.examples:
            heading = f"{note.key}."
            groups.append((f"[{note.key}]  {note.meaning}", []))
        else:
            groups[-1][1].append((note.key.removeprefix(heading), note.meaning))
    blocks: list[Block] = [
        Section(title, [Entries(entries, wide=_WIDE)]) if title else Entries(entries, wide=_WIDE)
        for title, entries in groups
    ]
    return Document(
        "explain",
        "Keys of a scenario file. NAME stands for the name of a town, river and so on.",
        [
            Paragraph(
                "hydroloop explain KEY tells unit, default, usual range and "
                "source; hydroloop explain terms lists measures and words.",
                indent=True,
            ),
            *blocks,
            _table(all_keys()),
        ],
    )


def key_document(key: str, system: System = "us") -> Document:
    """What is known of a key, of all keys that end in a word, or of a measure or term."""
    try:
        found = explain(key)
    except AskError:
        if rows := spoken(key):
            return terms_in_words(rows)
        raise
    facts = [
        (word, in_units(words, found.title, system) if word in _QUANTITIES else words)
        for word, words in found.facts
    ]
    found = found._replace(facts=tuple(facts))
    entries = [*found.facts, *found.keys]
    if found.facts and found.keys:
        inner = ((f"  {name}", words) for name, words in found.keys)
        entries = [*found.facts, ("keys", ""), *inner]
    wide = max(8, *(len(word) for word, _ in entries))
    return Document("explain", found.title, [Entries(entries, wide=wide), _table(found.notes)])


def _table(notes: Sequence[KeyNote]) -> TableBlock:
    return TableBlock(
        Table(
            "keys",
            "Keys",
            [Column(name, [getattr(note, name) for note in notes]) for name in KeyNote._fields],
        ),
        where="values",
    )
