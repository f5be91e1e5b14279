"""``hydroloop spread``: a band instead of a number, from the ranges of the inputs."""

from __future__ import annotations

import json

import click

from hydroloop.cli import options
from hydroloop.cli.progress import Progress, announce_compiling


@click.command(name="spread")
@options.scenario_file
@click.option("--members", type=click.IntRange(min=2), default=200, show_default=True,
              help="How many runs, each with its own values.")
@click.option("--seed", type=int, default=1, show_default=True,
              help="The same seed, the same runs.")
@click.option("--workers", type=click.IntRange(min=1), default=1, show_default=True,
              help="Processes on this machine.")
@click.option("--scheduler", help="Address of a Dask scheduler, for more machines.")
@click.option("--keep", help="Folder in which results are kept; begun work goes on there.")
@options.changes
@options.as_json
@options.verbose
def command(file: str, members: int, seed: int, workers: int, scheduler: str | None,
            keep: str | None, sets: dict[str, str], scales: dict[str, str], as_json: bool,
            verbose: bool) -> None:
    """A band instead of a number: many runs that draw from the ranges of the inputs.

    Write a value as a range, in the file or here: --set "town.*.mains.real_losses=8 % to 20 %".
    Where the weather is generated, every run has its own.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.outputs.spread_words import spread_facts, spread_lines
    from hydroloop.whatif import spread

    progress = Progress(verbose)
    scenario = options.opened(file, sets, scales)
    options.warn(scenario)
    announce_compiling()
    with progress.step(f"running {members} members"):
        table = spread(scenario, members, seed=seed, workers=workers, scheduler=scheduler,
                       store=keep, progress=options.counted(members))
    if as_json:
        click.echo(json.dumps(spread_facts(table), indent=2, ensure_ascii=False, allow_nan=False))
        return
    click.echo("\n".join(spread_lines(scenario.title, table)))
