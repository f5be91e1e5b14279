"""``hydroloop week``: a town's week by the hour, and why its storage tanks are there."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.model_run import model_run

if TYPE_CHECKING:
    from hydroloop.cli.model_run import ModelRun


@click.command(name="week")
@options.scenario_file
@click.argument("town", required=False)
@click.argument("date", required=False)
@options.full
@options.no_pictures
@model_run("The week as words, a page, a picture and tables; by default TOWN-week.png.")
def command(run: ModelRun, town: str | None, date: str | None, full: bool) -> None:
    """A week by the hour: what people draw, what the plant makes, and the tanks between them.

    By default the first TOWN of the scenario, and its week of most demand; else the week that
    begins on DATE. Whatever step the scenario has, its season is run in hours, so that the peaks of
    morning and evening show.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.outputs.document import Ask
    from hydroloop.outputs.plants.week import week_document
    from hydroloop.outputs.run.place import town_and_date
    from hydroloop.studies.hourly_week import check_step, hourly_week

    scenario = run.scenario
    if "season.step" in run.sets:
        check_step(scenario.season.step)
    asked, day = town_and_date(scenario, town, date)
    name = asked or next(iter(scenario.town))
    run.begin()
    with run.step("running the season by the hour"):
        found = hourly_week(scenario, name, day.date() if day else None)
    ask = [] if full else [Ask("the same with --full", "day by day")]
    run.tell(
        week_document(found, run.changed(name), run.units, ask),
        full=full,
        usual=f"{name}-week.png",
    )
