"""``hydroloop spread``: a band instead of a number, from the ranges of the inputs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.many_runs import Runs, many_runs
from hydroloop.cli.progress import Progress, announce_compiling
from hydroloop.cli.showing import show, written

if TYPE_CHECKING:
    from hydroloop.units.printing import System


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
@options.changes
@options.count_as
@options.units
@options.out("Pictures of the bands, tables, every run's numbers (.nc).")
@options.force
@options.pictures("few: of the town whose used share has the widest band; all: of every town.")
@options.as_json
@options.verbose
def command(file: str, members: int, seed: int, method: str, runs: Runs, sets: dict[str, str],
            scales: dict[str, str], units: System, out: str | None, force: bool, pictures: str,
            as_json: bool, verbose: bool) -> None:
    """A band instead of a number: many runs that draw from the ranges of the inputs.

    Write a value as a range, in the file or here: --set "town.*.mains.real_losses=8 % to 20 %".
    Where the weather is generated, or years are drawn by lot, every run has its own. With --out
    the bands are drawn, and beside them what they depend on most.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.outputs.document.writing import Beside, check_target
    from hydroloop.outputs.whatif.bands import spread_document
    from hydroloop.whatif import spread

    progress = Progress(verbose)
    scenario = options.opened(file, sets, scales)
    runs.check_apart(out)
    there = check_target(out, force=force, arrays=True)
    options.warn(scenario)
    announce_compiling()
    with progress.step(f"running {members} members"), runs.kept_when_stopped():
        table = spread(scenario, members, seed=seed, method=method,
                       progress=options.counted(members), **runs.asked())
    document = spread_document(scenario, table, units, pictures)
    beside = Beside({"scenario.toml": scenario}, {"members.nc": table})
    show(written(document, out, progress, beside, force=force, before=there), as_json=as_json)
