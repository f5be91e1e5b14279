"""A report in its files: a page that needs no other, and the same for print."""

from __future__ import annotations

from dataclasses import replace

from hydroloop.files.folder import whole_folder
from hydroloop.files.listing import files_in
from hydroloop.outputs.document import Document, Written
from hydroloop.outputs.document.as_html import as_html
from hydroloop.outputs.document.as_pdf import Paper, as_pdf
from hydroloop.outputs.document.writing import names_file, write_document


def write_report(
    document: Document,
    target: str,
    paper: Paper | None = None,
    *,
    force: bool = False,
    before: bytes | None = None,
) -> Document:
    """Write a report into a folder, or into one file; the report with what was written."""
    if names_file(target):
        return write_document(document, target, force=force, paper=paper)
    with whole_folder(target, force=force, before=before) as folder:
        (folder / "report.html").write_text(as_html(document), encoding="utf-8")
        (folder / "report.pdf").write_bytes(as_pdf(document, paper))
        files = files_in(folder)
    return replace(
        document,
        written=Written(
            f"{target.rstrip('/')}/",
            files,
            [
                ("report.html", "one page that needs no other file"),
                ("report.pdf", "the same for print"),
            ],
        ),
    )
