"""The tables of a document as a folder of CSV files."""

from __future__ import annotations

from pathlib import Path

from hydroloop.outputs.document.blocks import Document


def write_csv(document: Document, folder: Path) -> list[Path]:
    """One file a table, units in the headings, what is unknown left empty."""
    return [table.write(folder, document.system) for table in document.tables()]
