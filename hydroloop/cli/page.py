"""``hydroloop page``: one HTML file that works offline, with dials that change everything."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.model_run import model_run
from hydroloop.cli.showing import show

if TYPE_CHECKING:
    from hydroloop.cli.model_run import ModelRun


@click.command(name="page")
@options.scenario_file
@model_run(
    "The page, a file that ends in .html, or page.html in a folder with the inputs; by "
    "default NAME.html in the current folder.",
    page_only=True,
)
def command(run: ModelRun) -> None:
    """One HTML page that works without a network: the glass, the loop, the map, and dials to turn.

    Every setting of the dials is run now, and stands in the file; nothing is guessed between them.
    With --plan, --set and --scale the dials begin at the changed scenario. A setting can be saved
    as a plan file, for run --plan.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.errors import AskError, Problem
    from hydroloop.files.file import check_free_file
    from hydroloop.files.folder import check_free

    target = Path(run.out) if run.out else Path(f"{Path(run.file).stem}.html")
    is_file = target.suffix.lower() in (".html", ".htm")
    if target.suffix and not is_file:
        raise AskError(
            Problem(
                "--out",
                f'"{target}" is no name of a page.',
                "Name a folder, or a file that ends in .html.",
            )
        )
    scenario = run.scenario
    if is_file:
        check_free_file(target, force=run.force)
    there = None if is_file else check_free(str(target), force=run.force)
    run.begin(check=False)
    from hydroloop.outputs.page.every_setting import written_page
    from hydroloop.outputs.page.writing import page_document, write_page

    count = 0

    def told(done: int, total: int) -> None:
        nonlocal count
        count = total
        if sys.stderr is not None and sys.stderr.isatty():
            click.echo(f"\r{done} of {total} runs  ", err=True, nl=done == total)

    with run.step("running every setting of the dials"):
        text = written_page(scenario, run.units, told)
    written = write_page(text, scenario, target, is_file=is_file, force=run.force, before=there)
    file = target if is_file else target / "page.html"
    size = file.stat().st_size  # its own mark is in it
    show(
        page_document(scenario, run.changed(), run.units, written, (size, count)),
        as_json=run.as_json,
    )
