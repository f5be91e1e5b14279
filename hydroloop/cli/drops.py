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
@click.option(
    "--count", type=click.IntRange(1, 100_000), default=5, show_default=True, help="How many drops."
)
@click.option(
    "--seed",
    type=click.IntRange(0),
    default=1,
    show_default=True,
    help="The same seed gives the same drops.",
)
@click.option(
    "--backward/--forward",
    default=True,
    show_default="backward",
    help="Where the water of a glass came from, or where river water goes.",
)
@click.option(
    "--used",
    type=click.IntRange(1, 1000),
    metavar="N",
    help="Only drops that had been used at least N times, however rare they are.",
)
@model_run("The diaries as words, a page and tables.", records=True)
def command(
    run: ModelRun,
    town: str | None,
    date: str | None,
    count: int,
    seed: int,
    backward: bool,
    used: int | None,
) -> None:
    """Diaries of single drops of water, with dates and places.

    Follows drops of a glass that is drawn in TOWN on DATE back to where they came from: by default
    in the town whose tap water was used most, on the day when most of it was. With --forward, drops
    that TOWN takes in on DATE, to the end of the season: by default in the first town, on the first
    day.

    FILE is a scenario file, the name of one that comes with hydroloop, or a water record (.nc).
    """
    import pandas as pd

    from hydroloop.outputs.run.diary import Asked, diaries, drops_document, exact_share
    from hydroloop.outputs.run.place import begin_of, town_and_date
    from hydroloop.tracing import drops, operator

    if used and not backward:
        raise click.UsageError(
            "--used asks what the water of a glass went through before: leave --forward out."
        )
    scenario, season = run.scenario, run.scenario.season
    place, day = town_and_date(scenario, town, date)
    run.begin()
    if backward and not (place and day):
        result = run.result()
        record, name = result.record, place or result.most_used_town
        drawn = day or result.most_used_day(name)
        on = str(season.end if pd.isna(drawn) else drawn)[:10]
    else:
        record = run.record()
        name, on = place or next(iter(scenario.town)), str(day or season.start)[:10]
    at = begin_of(record, name, backward=backward)
    with run.step("following the drops"):
        op = operator(record)
        share = exact_share(op, at, on, backward=backward, used=used)
        walks = drops(
            op,
            n=count,
            at=at,
            on=on,
            seed=seed,
            backward=backward,
            used=(used or 0) if backward else None,
        )
        told = diaries(record, walks, backward=backward, system=run.units)
    asked = Asked(name, on, at, seed, backward, share, used)
    run.tell(
        drops_document(record, told, asked, run.changed(), run.units),
        width=get_terminal_size((100, 24)).columns,
    )
