"""``hydroloop sweep``: a grid of runs over one key or more."""

from __future__ import annotations

from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, Any

import click

from hydroloop.cli import options
from hydroloop.cli.many_runs import Runs, many_runs
from hydroloop.cli.progress import Progress, announce_compiling
from hydroloop.cli.showing import show, written

if TYPE_CHECKING:
    from hydroloop.units.printing import System


@click.command(name="sweep")
@options.scenario_file
@click.option("--over", multiple=True, metavar="KEY=V1,V2,...",
              help="Key and the values it takes; several keys make a grid.")
@click.option("--factors", multiple=True, metavar="KEY=F1,F2,...",
              help="The same with factors: river.wren.inflow=1,0.8,0.6.")
@many_runs
@options.changes
@options.count_as
@options.units
@options.out("Pictures, tables, the grid of numbers (.nc).")
@options.force
@options.pictures("few: of the used share, and of water short where there is any; all: of every "
                  "measure that changes.")
@options.as_json
@options.verbose
def command(file: str, over: tuple[str, ...], factors: tuple[str, ...], runs: Runs,
            sets: dict[str, str], scales: dict[str, str], units: System, out: str | None,
            force: bool, pictures: str, as_json: bool, verbose: bool) -> None:
    """A grid of runs: what becomes of each town's water as one key, or several, take other values.

    At least one --over or --factors is needed. With --out one key is drawn as lines, two as a map
    of values for each town.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.outputs.document.writing import Beside, check_target
    from hydroloop.outputs.whatif.grid import sweep_document
    from hydroloop.whatif import sweep

    progress = Progress(verbose)
    values, scaled = _asked(over, factors)
    scenario = options.opened(file, sets, scales)
    runs.check_apart(out)
    there = check_target(out, force=force, arrays=True)
    options.warn(scenario)
    options.note_middles(key for key in scenario.ranges
                         if not any(fnmatchcase(key, one) for one in values))
    announce_compiling()
    with progress.step("running the grid"), runs.kept_when_stopped():
        grid = sweep(scenario, values, factors=scaled, progress=options.counted(None),
                     **runs.asked())
    keys = [*values, *scaled]
    document = sweep_document(scenario, grid, keys, units, pictures)
    beside = Beside({"scenario.toml": scenario}, {"grid.nc": grid})
    show(written(document, out, progress, beside, force=force, before=there), as_json=as_json)


def _asked(over: tuple[str, ...],
           factors: tuple[str, ...]) -> tuple[dict[str, list[Any]], dict[str, list[Any]]]:
    """Values and factors of the keys that are varied."""
    from hydroloop.errors import AskError, Problem
    from hydroloop.scenario import value_from_text

    if not over and not factors:
        raise AskError(Problem("sweep", "there is no key to vary.", "Give --over "
                               "town.larkmill.people=20000,30000 or --factors "
                               "river.wren.inflow=1,0.8."))
    values = {key: [value_from_text(one, key) for one in words]
              for key, words in options.lists(over, "--over").items()}
    return values, {key: [options.factor(one) for one in words]
                    for key, words in options.lists(factors, "--factors").items()}
