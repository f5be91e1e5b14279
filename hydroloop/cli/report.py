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

    from hydroloop.outputs.document import Paragraph
    from hydroloop.outputs.document.blocks import every
    from hydroloop.outputs.document.writing import check_target
    from hydroloop.outputs.report.report import report_document
    from hydroloop.outputs.report.writing import write_report
    from hydroloop.outputs.run.place import town_of

    name = town_of(list(run.scenario.town), town, run.scenario.names) if town else None
    target = run.out or f"{Path(run.file).stem}-report"
    there = check_target(target, force=run.force)
    run.begin()
    result, against = run.result(), run.compared()
    chosen = name or result.most_used_town
    with run.step("writing the report"):
        document = write_report(
            report_document(result, chosen, run.changed(), against),
            target,
            paper,
            force=run.force,
            before=there,
        )
    first = [one for one in every(document.blocks) if isinstance(one, Paragraph)][:8]
    show(document if run.as_json else replace(document, blocks=first), as_json=run.as_json)
