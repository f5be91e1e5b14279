"""``hydroloop drops``: diaries of single drops."""

from __future__ import annotations

from shutil import get_terminal_size
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.progress import Progress, announce_compiling
from hydroloop.cli.showing import show, written

if TYPE_CHECKING:
    from hydroloop.units.printing import System


@click.command(name="drops")
@options.scenario_file
@click.argument("town", required=False)
@click.argument("date", required=False)
@click.option("--count", type=click.IntRange(1, 100_000), default=5, show_default=True,
              help="How many drops.")
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True,
              help="The same seed gives the same drops.")
@click.option("--backward", is_flag=True,
              help="Where the water of a glass came from, instead of where river water goes.")
@options.plan
@options.changes
@options.count_as
@options.units
@options.out("The diaries as words, a page and tables.")
@options.force
@options.as_json
@options.verbose
def command(file: str, town: str | None, date: str | None, count: int, seed: int, backward: bool,
            plan_file: str | None, sets: dict[str, str], scales: dict[str, str], units: System,
            out: str | None, force: bool, as_json: bool, verbose: bool) -> None:
    """Diaries of single drops of water, with dates and places.

    Follows drops that TOWN takes in on DATE, to the end of the season; with --backward, drops of a
    glass that is drawn in TOWN on DATE, back to where they came from. By default the first town,
    and its first day (with --backward its last).

    FILE is a scenario file, the name of one that comes with hydroloop, or a water record (.nc).
    """
    from hydroloop.outputs.diary import Asked, diaries, drops_document
    from hydroloop.outputs.document.writing import check_target
    from hydroloop.outputs.place import begin_of, date_in, town_of
    from hydroloop.outputs.recorded import is_record, opened_record
    from hydroloop.tracing import drops
    from hydroloop.waterworks import simulate

    progress = Progress(verbose)
    record = None
    if is_record(file):
        scenario, record = opened_record(file, sets, scales, plan_file)
    else:
        scenario = options.opened(file, sets, scales, plan_file)
    name = town_of(list(scenario.town), town)
    default = scenario.season.end if backward else scenario.season.start
    on = date_in(scenario.season, str(default) if date is None else date)
    there = check_target(out, force=force)
    announce_compiling()
    if record is None:
        with progress.step("running the season"):
            record = simulate(scenario)
    at = begin_of(record, name, backward=backward)
    with progress.step("following the drops"):
        walks = drops(record, n=count, at=at, on=on, seed=seed, backward=backward)
        told = diaries(record, walks, backward=backward, system=units)
    asked = Asked(name, str(on)[:10], at, seed, backward)
    document = drops_document(record, told, asked, scenario, units)
    show(written(document, out, progress, force=force, before=there), as_json=as_json,
         width=get_terminal_size((100, 24)).columns)
