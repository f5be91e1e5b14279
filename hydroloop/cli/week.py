"""``hydroloop week``: a town's week by the hour, and why its storage tanks are there."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.one_picture import one_picture
from hydroloop.cli.progress import Progress, announce_compiling

if TYPE_CHECKING:
    from hydroloop.units.printing import System


@click.command(name="week")
@options.scenario_file
@click.argument("town", required=False)
@click.argument("date", required=False)
@options.changes
@options.units
@click.option("--out", help="Picture to write, .png or .svg; by default TOWN-week.png.")
@options.force
@click.option("--no-pictures", is_flag=True, help="Words only.")
@options.as_json
@options.verbose
def command(file: str, town: str | None, date: str | None, sets: dict[str, str],
            scales: dict[str, str], units: System, out: str | None, force: bool, no_pictures: bool,
            as_json: bool, verbose: bool) -> None:
    """A week by the hour: what people draw, what the plant makes, and the tanks between them.

    By default the first TOWN of the scenario, and its week of most demand; else the week that
    begins on DATE. Whatever step the scenario has, its season is run in hours, so that the peaks of
    morning and evening show.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.files.file import check_free_file
    from hydroloop.outputs.pictures import check_format
    from hydroloop.outputs.place import date_in, town_of
    from hydroloop.outputs.week_words import draw_week, week_facts, week_lines
    from hydroloop.studies.hourly_week import check_step, hourly_week

    progress = Progress(verbose)
    scenario = options.opened(file, sets, scales)
    if "season.step" in sets:
        check_step(scenario.season.step)
    name = town_of(list(scenario.town), town)
    first = None if date is None else date_in(scenario.season, date).date()
    if out:
        check_format(out)
        check_free_file(out, force=force)
    options.warn(scenario)
    announce_compiling()
    with progress.step("running the season by the hour"):
        found = hourly_week(scenario, name, first)
    picture = one_picture(out, None if no_pictures else f"{name}-week.png", force=force)
    if picture.to_draw:
        with progress.step("drawing the week"):
            draw_week(found, picture.to_draw, units, force=force)
    if as_json:
        values = {**week_facts(found), "picture": picture.fact}
        click.echo(json.dumps(values, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        click.echo("\n".join(week_lines(found, units)))
    picture.tell(as_json=as_json)
