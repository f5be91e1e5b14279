"""``hydroloop spread``: a band instead of a number, from the ranges of the inputs."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

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


@click.command(name="spread")
@options.scenario_file
@click.option(
    "--members",
    type=options.WholeNumber(2, 200),
    default=200,
    show_default=True,
    help="How many runs, each with its own values.",
)
@click.option(
    "--seed",
    type=options.WholeNumber(0, 1),
    default=1,
    show_default=True,
    help="The same seed, the same runs.",
)
@click.option(
    "--method",
    type=click.Choice(["latin_hypercube", "sobol"]),
    default="latin_hypercube",
    show_default=True,
    help="How values are drawn: every part "
    "of a range once, or by a sequence that fills all ranges together evenly.",
)
@many_runs
@options.pictures("few: of the town whose used share has the widest band; all: of every town.")
@options.no_pictures
@options.full
@model_run("Pictures of the bands, tables, every run's numbers (.nc).")
def command(
    run: ModelRun, members: int, seed: int, method: str, runs: Runs, pictures: str, full: bool
) -> None:
    """A band instead of a number: many runs that draw from the ranges of the inputs.

    Write a value as a range, in the file or here: --set "town.*.mains.real_losses=8 % to 20 %".
    Where the weather is generated, or years are drawn at random, every run has its own. With --out
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
        table = spread(
            scenario,
            members,
            seed=seed,
            method=method,
            progress=options.counted(members),
            **runs.asked(),
        )
    document = spread_document(scenario, table, run.units, pictures, changed=run.changed())
    beside = Beside({"scenario.toml": scenario}, {"members.nc": table})
    usual = {
        "--members": (members, 200),
        "--seed": (seed, 1),
        "--method": (method, "latin_hypercube"),
    }
    drawn = " ".join(
        f"{option} {given}" for option, (given, default) in usual.items() if given != default
    )
    run.tell(replace(document, ask_next=_next(run, table, drawn, is_full=full)), beside, full=full)


def _next(run: ModelRun, table: xr.Dataset, drawn: str, *, is_full: bool) -> list[Ask]:
    """All of the tables, and the input that matters most alone; a range where there is none."""
    from hydroloop.outputs.document import Ask
    from hydroloop.outputs.whatif.ask_of_many import range_to_sweep

    file = quoted(run.file)
    found = range_to_sweep(run.scenario, table, run.units)
    asks = [] if is_full else [Ask("the same with --full", "bands of every measure")]
    if found is None:
        sets = {**run.sets, "town.*.mains.real_losses": "8 % to 20 %"}
        return [
            *asks,
            Ask(
                again("spread", file, words_again(sets, run.scales, run.plans), drawn),
                "with a range for the leaks of every town",
            ),
        ]
    changes = words_again(run.sets, run.scales, run.plans)
    return [*asks, Ask(again("sweep", file, changes, found[0]), found[1])]
