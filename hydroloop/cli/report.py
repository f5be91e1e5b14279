"""``hydroloop report``: a run as pages to read and to print."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.model_run import model_run
from hydroloop.cli.showing import show

if TYPE_CHECKING:
    from hydroloop.cli.model_run import ModelRun
    from hydroloop.outputs.document.as_pdf import Paper


@click.command(name="report")
@options.scenario_file
@click.argument("town", required=False)
@options.paper
@model_run("The report as a page and for print; by default NAME-report in the current folder.")
def command(run: ModelRun, town: str | None, paper: Paper | None) -> None:
    """A report of a run: the answer, pictures, plants, the account, all inputs with sources.

    For a reader who was not there: one page that needs no other file, and the same as PDF. The
    pictures are of the TOWN whose tap water was used most, or of the one that is named. With --set,
    --scale or --plan it also tells what that did, and why.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from dataclasses import replace

    from hydroloop.files.folder import check_free, whole_folder
    from hydroloop.files.listing import files_in
    from hydroloop.outputs.document import Written
    from hydroloop.outputs.document.as_html import as_html
    from hydroloop.outputs.document.as_pdf import as_pdf
    from hydroloop.outputs.document.writing import names_file, write_document
    from hydroloop.outputs.report.report import report_document
    from hydroloop.outputs.run.place import town_of

    name = town_of(list(run.scenario.town), town) if town else None
    target = run.out or f"{Path(run.file).stem}-report"
    there = None if names_file(run.out) else check_free(target, force=run.force)
    run.begin()
    result, against = run.result(), run.compared()
    chosen = name or result.most_used_town
    with run.step("writing the report"):
        document = report_document(result, chosen, run.changed(), against)
        if names_file(run.out):
            document = write_document(document, target, force=run.force)
        else:
            with whole_folder(target, force=run.force, before=there) as folder:
                (folder / "report.html").write_text(as_html(document), encoding="utf-8")
                (folder / "report.pdf").write_bytes(as_pdf(document, paper))
                files = files_in(folder)
            document = replace(document, written=Written(f"{target.rstrip('/')}/", files, [
                ("report.html", "one page that needs no other file"),
                ("report.pdf", "the same for print")]))
    first = [one for one in document.blocks if type(one).__name__ == "Paragraph"][:8]
    show(document if run.as_json else replace(document, blocks=first), as_json=run.as_json)
