"""``hydroloop spread``: a band instead of a number, from the ranges of the inputs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.many_runs import Runs, many_runs
from hydroloop.cli.model_run import model_run

if TYPE_CHECKING:
    from hydroloop.cli.model_run import ModelRun


@click.command(name="spread")
@options.scenario_file
@click.option("--members", type=options.WholeNumber(2, 200), default=200, show_default=True,
              help="How many runs, each with its own values.")
@click.option("--seed", type=options.WholeNumber(0, 1), default=1, show_default=True,
              help="The same seed, the same runs.")
@click.option("--method", type=click.Choice(["latin_hypercube", "sobol"]),
              default="latin_hypercube", show_default=True, help="How values are drawn: every part "
              "of a range once, or by a sequence that fills all ranges together evenly.")
@many_runs
@options.pictures("few: of the town whose used share has the widest band; all: of every town.")
@model_run("Pictures of the bands, tables, every run's numbers (.nc).")
def command(run: ModelRun, members: int, seed: int, method: str, runs: Runs,
            pictures: str) -> None:
    """A band instead of a number: many runs that draw from the ranges of the inputs.

    Write a value as a range, in the file or here: --set "town.*.mains.real_losses=8 % to 20 %".
    Where the weather is generated, or years are drawn by lot, every run has its own. With --out
    the bands are drawn, and beside them what they depend on most.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.outputs.document.writing import Beside
    from hydroloop.outputs.whatif.bands import spread_document
    from hydroloop.whatif import spread

    scenario = run.scenario
    runs.check_apart(run.out)
    run.begin(arrays=True)
    with run.step(f"running {members} members"), runs.kept_when_stopped():
        table = spread(scenario, members, seed=seed, method=method,
                       progress=options.counted(members), **runs.asked())
    document = spread_document(scenario, table, run.units, pictures, changed=run.changed())
    beside = Beside({"scenario.toml": scenario}, {"members.nc": table})
    run.tell(document, beside)
