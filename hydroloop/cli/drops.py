"""``hydroloop drops``: diaries of single drops."""

from __future__ import annotations

from shutil import get_terminal_size
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.model_run import model_run

if TYPE_CHECKING:
    from hydroloop.cli.model_run import ModelRun


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
@model_run("The diaries as words, a page and tables.", records=True)
def command(run: ModelRun, town: str | None, date: str | None, count: int, seed: int,
            backward: bool) -> None:
    """Diaries of single drops of water, with dates and places.

    Follows drops that TOWN takes in on DATE, to the end of the season; with --backward, drops of a
    glass that is drawn in TOWN on DATE, back to where they came from. By default the first town and
    the season's first day; with --backward the town whose tap water was used most, on the day when
    most of it was.

    FILE is a scenario file, the name of one that comes with hydroloop, or a water record (.nc).
    """
    import pandas as pd

    from hydroloop.outputs.run.diary import Asked, diaries, drops_document
    from hydroloop.outputs.run.place import begin_of, town_and_date
    from hydroloop.tracing import drops

    scenario, season = run.scenario, run.scenario.season
    place, day = town_and_date(scenario, town, date)
    run.begin()
    if backward:
        result = run.result()
        record, name = result.record, place or result.most_used_town
        drawn = day or result.most_used_day(name)
        share = float(result.on_day("use_share", name, drawn)[1:].sum())
        on = str(season.end if pd.isna(drawn) else drawn)[:10]
    else:
        record, share = run.record(), None
        name, on = place or next(iter(scenario.town)), str(day or season.start)[:10]
    at = begin_of(record, name, backward=backward)
    with run.step("following the drops"):
        walks = drops(record, n=count, at=at, on=on, seed=seed, backward=backward)
        told = diaries(record, walks, backward=backward, system=run.units)
    asked = Asked(name, on, at, seed, backward, share)
    run.tell(drops_document(record, told, asked, run.changed(), run.units),
             width=get_terminal_size((100, 24)).columns)
