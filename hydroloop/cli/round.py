"""``hydroloop round``: a day of readings at a town's plant, hour by hour."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.model_run import model_run

if TYPE_CHECKING:
    from hydroloop.cli.model_run import ModelRun


@click.command(name="round")
@options.scenario_file
@click.argument("town", required=False)
@click.argument("date", required=False)
@click.option(
    "--seed",
    type=click.IntRange(min=0),
    default=1,
    show_default=True,
    help="Seed of the readings that are invented.",
)
@options.full
@model_run("The readings as words, a page and tables.")
def command(run: ModelRun, town: str | None, date: str | None, seed: int, full: bool) -> None:
    """The operator's round: chlorine, pH, iron, manganese, fluoride and turbidity, hour by hour.

    By default the first TOWN of the scenario, and the last DATE of the season. Readings are
    compared with legal and recommended limits; a flag says what it means.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.outputs.document import Ask
    from hydroloop.outputs.plants.round import round_document
    from hydroloop.outputs.run.place import town_and_date
    from hydroloop.studies.operators_round import operators_round

    scenario = run.scenario
    asked, on = town_and_date(scenario, town, date)
    name, day = asked or next(iter(scenario.town)), on.date() if on else scenario.season.end
    run.begin()
    with run.step("running a week by the hour"):
        found = operators_round(scenario, name, day, seed=seed)
    ask = [] if full else [Ask("the same with --full", "the limits, with their sources")]
    run.tell(round_document(found, run.changed(name), run.units, ask), full=full)
