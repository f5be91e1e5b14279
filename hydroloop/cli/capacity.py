"""``hydroloop capacity``: a town's plants against its demand, now and over the years."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.model_run import model_run

if TYPE_CHECKING:
    from hydroloop.cli.model_run import ModelRun


@click.command(name="capacity")
@options.scenario_file
@click.argument("town", required=False)
@options.full
@click.option(
    "--units-out",
    type=click.IntRange(min=0),
    default=1,
    show_default=True,
    help="Units of each step out of service, for the firm capacity.",
)
@options.no_pictures
@model_run("All of it as words, a page, a picture and tables; by default TOWN-capacity.png.")
def command(run: ModelRun, town: str | None, full: bool, units_out: int) -> None:
    """Capacity against demand: is the plant big enough, until when, and what would help.

    By default the first TOWN of the scenario. Each step of the plants is compared with published
    design standards, chlorine contact with the published tables, and growth is followed to the
    year in which each limit is reached. With --full come every step of both plants, contact by
    month, the sewers, and what each step takes out.

    With --plan its steps are taken first, on top of --set and --scale. Works stay as the file sizes
    them unless a change is to the works themselves.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.outputs.document import Ask
    from hydroloop.outputs.plants.capacity import capacity_document
    from hydroloop.outputs.run.place import town_of
    from hydroloop.studies.capacity_study import capacity_study
    from hydroloop.studies.separation import separations
    from hydroloop.waterworks import simulate

    scenario = run.scenario
    name = town_of(list(scenario.town), town, scenario.names)
    run.begin()
    with run.step("running the season"):
        record = simulate(scenario)
    with run.step("comparing the plants with demand"):
        study = capacity_study(scenario, record, name, out=units_out)
        # Following the materials takes longer than all the rest: only where they are shown.
        is_whole = full or run.as_json or run.out
        towns = separations(scenario, record, list(scenario.town)) if is_whole else {}
    ask = (
        []
        if full
        else [
            Ask(
                "the same with --full",
                "each limit with its year, every step against its rule, contact, sewers",
            )
        ]
    )
    run.tell(
        capacity_document(study, towns, run.changed(name), run.units, ask),
        usual=f"{name}-capacity.png",
        full=full,
    )
