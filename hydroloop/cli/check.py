"""``hydroloop check``: is the scenario right, is it likely, and what is assumed."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.failing import BAD_INPUT
from hydroloop.cli.model_run import model_run
from hydroloop.cli.showing import show
from hydroloop.errors import MOST_TOLD, InputError

if TYPE_CHECKING:
    from hydroloop.cli.model_run import ModelRun
    from hydroloop.scenario import Scenario


@click.command(name="check")
@options.scenario_file
@options.full
@model_run("What is found, as words, a page and tables.")
@click.pass_context
def command(ctx: click.Context, run: ModelRun, full: bool) -> None:
    """Check a scenario file and the CSV files that it names, without running it.

    FILE is a scenario file, or the name of one that comes with hydroloop. Problems are listed all
    at once with line, cause and cure; values that are allowed but unusual are pointed out. With
    --full the defaults are listed too.
    """
    from hydroloop.outputs.scenario.checked import checked, refused

    try:
        _open_files(run.scenario)
    except InputError as error:
        if not run.as_json:
            raise
        show(refused(run.file, error.problems[:MOST_TOLD], error.count), as_json=True)
        ctx.exit(BAD_INPUT)
    run.begin(runs=False)
    is_full = full or run.out is not None
    run.tell(checked(run.file, run.scenario, run.changed(), run.units, full=is_full), full=full)


def _open_files(scenario: Scenario) -> None:
    """Read the CSV files over the season, so that what is wrong in them is said here."""
    from hydroloop.scenario.schema_river import FlowFile

    flows = any(isinstance(river.inflow, FlowFile) for river in scenario.river.values())
    if flows or scenario.weather.file is not None:
        from hydroloop.waterworks.forcing import season_forcing

        season_forcing(scenario)
