"""A document on its way out: into files, and onto the screen as words or as JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hydroloop.cli.options import words_only

if TYPE_CHECKING:
    from hydroloop.cli.progress import Progress
    from hydroloop.outputs.document import Document
    from hydroloop.outputs.document.writing import Beside


def show(
    document: Document, *, as_json: bool, full: bool = False, width: int | None = None
) -> None:
    """Print a document."""
    if as_json:
        from hydroloop.outputs.document.as_json import as_json as text_of

        click.echo(text_of(document))
        return
    from hydroloop.outputs.document.as_text import as_text
    from hydroloop.outputs.document.wording import WIDTH

    click.echo("\n".join(as_text(document, full=full, width=max(width or WIDTH, 60))))


def written(
    document: Document,
    out: str | None,
    progress: Progress,
    beside: Beside | None = None,
    *,
    force: bool,
    before: bytes | None,
) -> Document:
    """Write a document where --out asks for it; the document with what was written, and without
    pictures where none are wanted."""
    if words_only():
        document = document.without_pictures()
    if not out:
        return document
    from hydroloop.outputs.document.writing import write_document

    with progress.step("writing what was found"):
        return write_document(document, out, beside, force=force, before=before)
