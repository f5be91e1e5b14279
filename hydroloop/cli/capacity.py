"""``hydroloop capacity``: a town's plants against its demand, now and over the years."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.progress import Progress, announce_compiling

if TYPE_CHECKING:
    from hydroloop.units.printing import System


@click.command(name="capacity")
@options.scenario_file
@click.argument("town", required=False)
@options.changes
@options.units
@click.option("--all", "whole", is_flag=True,
              help="Every step of both plants too: contact by month, sewers, what is taken out.")
@click.option("--units-out", type=click.IntRange(min=0), default=1, show_default=True,
              help="Units of each step out of service, for the firm capacity.")
@click.option("--out", help="Picture to write, .png or .svg; by default TOWN-capacity.png.")
@options.force
@click.option("--no-pictures", is_flag=True, help="Words only.")
@options.as_json
@options.verbose
def command(file: str, town: str | None, sets: dict[str, str], scales: dict[str, str],
            units: System, whole: bool, units_out: int, out: str | None, force: bool,
            no_pictures: bool, as_json: bool, verbose: bool) -> None:
    """Capacity against demand: is the plant big enough, until when, and what would help.

    By default the first TOWN of the scenario. Each step of the plants is held against published
    design standards, chlorine contact against the published tables, and growth is followed to the
    year in which each limit is reached.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.charts.words import place_words
    from hydroloop.outputs.capacity_study import capacity_study, facts
    from hydroloop.outputs.capacity_words import capacity_lines, draw_capacity, step_lines
    from hydroloop.outputs.folder import check_free_file
    from hydroloop.outputs.pictures import check_format
    from hydroloop.outputs.place import town_of
    from hydroloop.outputs.separation import (
        separation_facts,
        separation_lines,
        separations,
        together_lines,
    )
    from hydroloop.waterworks import simulate

    progress = Progress(verbose)
    scenario = options.opened(file, sets, scales)
    name = town_of(list(scenario.town), town)
    if out:
        check_format(out)
        check_free_file(out, force=force)
    options.warn(scenario)
    announce_compiling()
    with progress.step("running the season"):
        record = simulate(scenario)
    with progress.step("holding the plants against demand"):
        study = capacity_study(scenario, record, name, out=units_out)
        towns = separations(scenario, record, list(scenario.town))
        caught = towns[name]
    picture = None if no_pictures else Path(out or f"{name}-capacity.png")
    kept = picture is not None and not out and picture.exists() and not force
    if picture is not None and not kept:
        with progress.step("drawing the bars"):
            draw_capacity(study, picture, units, force=force)
    if as_json:
        values = {**facts(study), "separation": separation_facts(caught),
                  "at_taps": {town: {**one.at_tap, "used_share": one.used_share}
                              for town, one in towns.items()},
                  "picture": None if kept or not picture else str(picture)}
        click.echo(json.dumps(values, indent=2, ensure_ascii=False, allow_nan=False))
    else:
        more = [*step_lines(study, units), "", *separation_lines(caught, place_words(name)), "",
                *together_lines(towns)]
        click.echo("\n".join(capacity_lines(study, place_words(name), units,
                                            more if whole else ())))
        if not whole:
            click.echo("\nAsk next: --all shows every step of both plants against its rule, "
                       "chlorine contact\nby month, what the sewers carry, and what each step "
                       "takes out.")
    if kept:
        click.echo(f"note: {options.kept_words(picture)}", err=True)
    elif picture is not None and not as_json:
        click.echo(f"\nPicture: {picture}")
