"""``hydroloop sweep``: a grid of runs over one key or more."""

from __future__ import annotations

from dataclasses import replace
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, Any

import click

from hydroloop.cli import options
from hydroloop.cli.again import command as again
from hydroloop.cli.again import quoted, words_again
from hydroloop.cli.many_runs import Runs, many_runs
from hydroloop.cli.model_run import model_run

if TYPE_CHECKING:
    import xarray as xr

    from hydroloop.cli.model_run import ModelRun
    from hydroloop.outputs.document import Ask


@click.command(name="sweep")
@options.scenario_file
@click.option(
    "--over",
    multiple=True,
    metavar="KEY=V1,V2,...",
    help="Key and the values it takes; several keys make a grid.",
)
@click.option(
    "--factors",
    multiple=True,
    metavar="KEY=F1,F2,...",
    help="The same with factors: river.wren.inflow=1,0.8,0.6.",
)
@many_runs
@options.pictures(
    "few: of the used share, and of water short where there is any; all: of every "
    "measure that changes."
)
@options.no_pictures
@options.full
@model_run("Pictures, tables, the grid of numbers (.nc).")
def command(
    run: ModelRun,
    over: tuple[str, ...],
    factors: tuple[str, ...],
    runs: Runs,
    pictures: str,
    full: bool,
) -> None:
    """A grid of runs: what becomes of each town's water as one key, or several, take other values.

    At least one --over or --factors is needed. With --out one key is drawn as lines, two as a map
    of values for each town.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.outputs.document.writing import Beside
    from hydroloop.outputs.whatif.sweep import sweep_document
    from hydroloop.whatif import sweep

    values, scaled = _asked(over, factors)
    scenario = run.scenario
    runs.check_apart(run.out)
    run.begin(arrays=True)
    options.note_middles(
        key for key in scenario.ranges if not any(fnmatchcase(key, one) for one in values)
    )
    with run.step("running the grid"), runs.kept_when_stopped():
        grid = sweep(
            scenario, values, factors=scaled, progress=options.counted(None), **runs.asked()
        )
    keys = [*values, *scaled]
    document = sweep_document(scenario, grid, keys, run.units, pictures, changed=run.changed())
    beside = Beside({"scenario.toml": scenario}, {"grid.nc": grid})
    asks = _next(
        run,
        grid,
        (options.lists(over, "--over"), options.lists(factors, "--factors")),
        is_full=full,
    )
    run.tell(replace(document, ask_next=asks), beside, full=full)


def _next(
    run: ModelRun,
    grid: xr.Dataset,
    asked: tuple[dict[str, list[str]], dict[str, list[str]]],
    *,
    is_full: bool,
) -> list[Ask]:
    """All of the tables, and why the point with the most used water differs from the file."""
    from hydroloop.outputs.document import Ask
    from hydroloop.outputs.whatif.ask_of_many import farthest_point

    asks = [] if is_full else [Ask("the same with --full", "all tables")]
    keys = [key for pairs in asked for key in pairs]
    place = dict(zip(keys, farthest_point(grid, keys), strict=True))
    over, factors = ({key: values[place[key]] for key, values in pairs.items()} for pairs in asked)
    twice = {
        key: f"{options.factor(run.scales[key]) * options.factor(factors[key]):g}"
        for key in factors.keys() & run.scales.keys()
    }
    there = words_again({**run.sets, **over}, {**run.scales, **factors, **twice}, run.plans)
    return [*asks, Ask(again("compare", quoted(run.file), there), "why it is highest")]


def _asked(
    over: tuple[str, ...], factors: tuple[str, ...]
) -> tuple[dict[str, list[Any]], dict[str, list[Any]]]:
    """Values and factors of the keys that are varied."""
    from hydroloop.errors import AskError, Problem
    from hydroloop.scenario import value_from_text

    if not over and not factors:
        raise AskError(
            Problem(
                "sweep",
                "there is no key to vary.",
                "Give --over "
                "town.larkmill.people=20000,30000 or --factors "
                "river.wren.inflow=1,0.8.",
            )
        )
    values = {
        key: [value_from_text(one, key) for one in words]
        for key, words in options.lists(over, "--over").items()
    }
    return values, {
        key: [options.factor(one) for one in words]
        for key, words in options.lists(factors, "--factors").items()
    }
