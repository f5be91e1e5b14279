"""A document as plain values for a script: stable keys without units, and a map of units beside.

Numbers are in the held unit of their dimension, whatever `--units` says: m3/d, m3, d, shares from
0 to 1. `SCHEMA` is the form as a JSON schema.
"""

from __future__ import annotations

import json
from typing import Any

import numpy as np

from hydroloop.outputs.document.blocks import (
    Block,
    Cards,
    Document,
    Entries,
    Items,
    Listing,
    Paragraph,
    Section,
)
from hydroloop.outputs.document.table import Table, known

HELD = {
    "flow": "m3/d",
    "river_flow": "m3/d",
    "volume": "m3",
    "stored_volume": "m3",
    "length": "km",
    "short_length": "m",
    "area": "km2",
    "small_area": "m2",
    "depth": "mm",
    "share": "1",
    "growth": "1",
    "duration": "d",
    "per_person": "m3/person/d",
    "speed": "m/s",
    "count": "1",
    "number": "1",
    "temperature": "degC",
}
"""Unit in which numbers of each dimension are held, as a script reads it."""

_TEXTS = {"type": "array", "items": {"type": "string"}}
_OWN = ("mg/L", "mg min/L", "NTU", "kg/d", "h", "years")
_UNITS = {"type": "object", "additionalProperties": {"enum": sorted({*HELD.values(), *_OWN})}}
SCHEMA: dict[str, Any] = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "title": "What a command of hydroloop prints with --json",
    "type": "object",
    "required": ["command", "title", "ran", "words", "facts", "tables", "units", "cautions"],
    "additionalProperties": False,
    "properties": {
        "command": {"type": "string"},
        "title": {"type": "string"},
        "ran": {
            "type": ["object", "null"],
            "properties": {
                "scenario": {"type": "string"},
                "season": {
                    "type": ["array", "null"],
                    "items": {"type": "string", "format": "date"},
                },
                "changes": {"type": "array", "items": {"type": "object"}},
                "plans": {"type": "array", "items": {"type": "object"}},
                "dry_season": {"type": "string"},
                "counts_as_use": {"type": "string"},
            },
        },
        "words": {
            "type": "array",
            "items": {
                "type": "object",
                "properties": {"heading": {"type": "string"}, "text": _TEXTS},
            },
        },
        "facts": {"type": "object"},
        "tables": {
            "type": "object",
            "additionalProperties": {"type": "array", "items": {"type": "object"}},
        },
        "units": {"type": "object", "additionalProperties": _UNITS},
        "pictures": {"type": "array", "items": {"type": "string"}},
        "cautions": _TEXTS,
        "written": {
            "type": ["object", "null"],
            "properties": {"place": {"type": "string"}, "files": _TEXTS},
        },
        "ask_next": {"type": "array", "items": {"type": "object"}},
    },
}
"""Form of what `as_json` gives."""


def as_json(document: Document) -> str:
    """All of a document as JSON text."""
    return json.dumps(as_values(document), indent=2, ensure_ascii=False, allow_nan=False)


def as_values(document: Document) -> dict[str, Any]:
    """All of a document as mappings, lists, texts and numbers; what is unknown is None."""
    tables = document.tables(for_files=False)
    units = {
        "facts": {
            key: fact.unit or HELD[fact.dimension]
            for key, fact in document.facts.items()
            if fact.dimension
        }
    }
    units |= {table.name: _units(table.columns) for table in tables}
    ran, written = document.ran, document.written
    return {
        "command": document.command,
        "title": document.title,
        "ran": None
        if ran is None
        else {
            "scenario": ran.scenario,
            "season": None if ran.season is None else [str(day) for day in ran.season],
            "changes": [
                dict(zip(("key", "before", "after"), row, strict=True)) for row in ran.changes
            ],
            "plans": [_plain(dict(plan)) for plan in ran.plans],
            "dry_season": ran.dry_season,
            "counts_as_use": ran.counts_as_use,
        },
        "words": list(_words(document.blocks)),
        "facts": {key: _plain(fact.value) for key, fact in document.facts.items()},
        "tables": {table.name: rows_of(table) for table in tables},
        "units": {name: found for name, found in units.items() if found},
        "pictures": [picture.name for picture in document.pictures()],
        "cautions": list(document.cautions),
        "written": None
        if written is None
        else {"place": written.place, "files": list(written.files)},
        "ask_next": [{"command": one.command, "tells": one.tells} for one in document.ask_next],
    }


def rows_of(table: Table) -> list[dict[str, Any]]:
    """Rows of a table by the keys of its columns, numbers as they are held."""
    columns = {
        column.known_as: [_plain(value) for value in column.values] for column in table.columns
    }
    return [dict(zip(columns, row, strict=True)) for row in zip(*columns.values(), strict=True)]


def _units(columns: Any) -> dict[str, str]:
    return {
        column.known_as: column.unit or HELD[column.dimension]
        for column in columns
        if column.dimension
    }


def _words(blocks: Any) -> Any:
    """Sentences and lists under each heading; what stands before the first has none."""
    own = [text for one in blocks for text in _texts(one)]
    if own:
        yield {"heading": "", "text": own}
    for one in blocks:
        if isinstance(one, Cards):
            yield from _words(one.cards)
        elif isinstance(one, Section):
            inner = list(_words(one.blocks))
            yield from ({**part, "heading": part["heading"] or one.title} for part in inner)


def _texts(block: Block) -> list[str]:
    if isinstance(block, Paragraph):
        return [block.words]
    if isinstance(block, Items):
        return list(block.items)
    if isinstance(block, Listing):
        return list(block.lines)
    return (
        [f"{word}: {meaning}" for word, meaning in block.entries]
        if isinstance(block, Entries)
        else []
    )


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple | np.ndarray):
        return [_plain(one) for one in value]
    if isinstance(value, bool | np.bool_):
        return bool(value)
    if isinstance(value, int | np.integer):
        return int(value)
    if isinstance(value, float | np.floating):
        return known(value)
    return value if value is None else str(value)
