"""``hydroloop round``: a day of readings at a town's plant, hour by hour."""

from __future__ import annotations

import json

import click

from hydroloop.cli import options
from hydroloop.cli.progress import Progress, announce_compiling


@click.command(name="round")
@options.scenario_file
@click.argument("town", required=False)
@click.argument("date", required=False)
@click.option("--seed", type=click.IntRange(min=0), default=1, show_default=True,
              help="Seed of the readings that are invented.")
@options.changes
@options.as_json
@options.verbose
def command(file: str, town: str | None, date: str | None, seed: int, sets: dict[str, str],
            scales: dict[str, str], as_json: bool, verbose: bool) -> None:
    """The operator's round: chlorine, pH, iron, manganese, fluoride and turbidity, hour by hour.

    By default the first TOWN of the scenario, and the last DATE of the season. Readings are held
    against legal and recommended limits; a flag says what it means.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.outputs.place import date_in, town_of
    from hydroloop.outputs.round_words import round_facts, round_lines
    from hydroloop.studies.operators_round import operators_round

    progress = Progress(verbose)
    scenario = options.opened(file, sets, scales)
    name = town_of(list(scenario.town), town)
    day = scenario.season.end if date is None else date_in(scenario.season, date).date()
    options.warn(scenario)
    announce_compiling()
    with progress.step("running a week by the hour"):
        found = operators_round(scenario, name, day, seed=seed)
    if as_json:
        click.echo(json.dumps(round_facts(found), indent=2, ensure_ascii=False, allow_nan=False))
        return
    click.echo("\n".join(round_lines(found)))
