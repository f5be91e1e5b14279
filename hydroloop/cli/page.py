"""``hydroloop page``: one HTML file that works offline, with dials that change everything."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.progress import Progress, announce_compiling

if TYPE_CHECKING:
    from hydroloop.units.printing import System


@click.command(name="page")
@options.scenario_file
@options.plan
@options.changes
@options.count_as
@options.units
@click.option("--out", metavar="FILE", help="File to write; by default NAME.html in the current "
              "folder.")
@options.force
@options.verbose
def command(file: str, plan_file: str | None, sets: dict[str, str], scales: dict[str, str],
            units: System, out: str | None, force: bool, verbose: bool) -> None:
    """One HTML page that works without a network: the glass, the loop, the map, and dials to turn.

    Every setting of the dials is run now, and stands in the file; nothing is guessed between them.
    With --plan, --set and --scale the dials begin at the changed scenario. A setting can be saved
    as a plan file, for run --plan.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.errors import AskError, Problem
    from hydroloop.files.file import check_free_file, write_file

    target = Path(out) if out else Path(f"{Path(file).stem}.html")
    if target.suffix.lower() not in (".html", ".htm"):
        raise AskError(Problem("--out", f'"{target}" is no name of a page.',
                               "Name a file that ends in .html."))
    scenario = options.opened(file, sets, scales, plan_file)
    check_free_file(target, force=force)
    options.warn(scenario)
    announce_compiling()
    from hydroloop.outputs.page.grid import written_page

    count = 0

    def told(done: int, total: int) -> None:
        nonlocal count
        count = total
        if sys.stderr is not None and sys.stderr.isatty():
            click.echo(f"\r{done} of {total} runs  ", err=True, nl=done == total)

    with Progress(verbose).step("running every setting of the dials"):
        text = written_page(scenario, units, told)
    write_file(target, text.encode(), force=force)
    size = len(text.encode()) / 1e6
    click.echo(f"Written: {target} ({size:.1f} MB, {count} runs). Open it in a browser; it "
               "needs no network.")
