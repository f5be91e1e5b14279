"""``hydroloop sweep``: a grid of runs over one key or more."""

from __future__ import annotations

import json

import click

from hydroloop.cli import options
from hydroloop.cli.progress import Progress, announce_compiling


@click.command(name="sweep")
@options.scenario_file
@click.option("--over", multiple=True, required=True, metavar="KEY=V1,V2,...",
              help="Key and the values it takes; several keys make a grid.")
@click.option("--factors", multiple=True, metavar="KEY=F1,F2,...",
              help="The same with factors: river.wren.inflow=1,0.8,0.6.")
@click.option("--out", help="NetCDF file to write, with the keys as dimensions.")
@options.force
@options.changes
@options.as_json
@options.verbose
def command(file: str, over: tuple[str, ...], factors: tuple[str, ...], out: str | None,
            force: bool, sets: dict[str, str], scales: dict[str, str], as_json: bool,
            verbose: bool) -> None:
    """A grid of runs: what becomes of each town's water as one key, or several, take other values.

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.outputs.folder import check_free_file, whole_file
    from hydroloop.outputs.spread_words import sweep_lines, sweep_records
    from hydroloop.scenario import value_from_text
    from hydroloop.whatif import sweep

    progress = Progress(verbose)
    scenario = options.opened(file, sets, scales)
    values = {key: [value_from_text(one) for one in words]
              for key, words in options.lists(over, "--over").items()}
    scaled = {key: [options.number(one, "--factors") for one in words]
              for key, words in options.lists(factors, "--factors").items()}
    if out:
        check_free_file(out, force=force)
    options.warn(scenario)
    announce_compiling()
    with progress.step("running the grid"):
        grid = sweep(scenario, values, factors=scaled, progress=options.counted(None))
    if out:
        with whole_file(out, force=force) as work:
            grid.to_netcdf(work, engine="h5netcdf")
    keys = [*values, *scaled]
    if as_json:
        click.echo(json.dumps(sweep_records(grid, keys), indent=2, ensure_ascii=False,
                              allow_nan=False))
        return
    click.echo("\n".join(sweep_lines(scenario.title, grid, keys)))
    if out:
        click.echo(f"\nGrid: {out}")
