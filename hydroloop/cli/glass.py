"""``hydroloop glass``: one town, one date, in words and as a picture."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.model_run import model_run

if TYPE_CHECKING:
    from hydroloop.cli.model_run import ModelRun


@click.command(name="glass")
@options.scenario_file
@click.argument("town", required=False)
@click.argument("date", required=False)
@options.no_pictures
@model_run("The glass as words, a page, a picture; by default TOWN-DATE-glass.png.", records=True)
def command(run: ModelRun, town: str | None, date: str | None) -> None:
    """One glass of tap water: how often its water was used before, and when last.

    By default the TOWN whose tap water was used most, and the DATE on which most of it was, as far
    as it is known when. The answer is printed, and drawn into a picture.

    FILE is a scenario file, the name of one that comes with hydroloop, or a water record (.nc).
    """
    from hydroloop.outputs.run.glass import glass_document
    from hydroloop.outputs.run.place import town_and_date

    asked, day = town_and_date(run.scenario, town, date)
    run.begin()
    result = run.result(day)
    name = asked or result.most_used_town
    document = glass_document(result, name, run.changed(name))
    drawn = [f"{one.name}.png" for one in document.pictures()]
    run.tell(document, usual=drawn[0] if drawn else None)
