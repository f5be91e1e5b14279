"""``hydroloop drops``: diaries of single drops."""

from __future__ import annotations

import json
from shutil import get_terminal_size
from typing import TYPE_CHECKING, Any

import click

from hydroloop.cli import options
from hydroloop.cli.progress import Progress, announce_compiling

if TYPE_CHECKING:
    import xarray as xr

    from hydroloop.outputs.diary import Diary
    from hydroloop.units.printing import System


@click.command(name="drops")
@options.scenario_file
@click.argument("town", required=False)
@click.argument("date", required=False)
@click.option("--count", type=click.IntRange(1, 100_000), default=5, show_default=True,
              help="How many drops.")
@click.option("--seed", type=click.IntRange(0), default=1, show_default=True,
              help="The same seed gives the same drops.")
@click.option("--backward", is_flag=True,
              help="Where the water of a glass came from, instead of where river water goes.")
@options.changes
@options.units
@options.as_json
@options.verbose
def command(file: str, town: str | None, date: str | None, count: int, seed: int, backward: bool,
            sets: dict[str, str], scales: dict[str, str], units: System, as_json: bool,
            verbose: bool) -> None:
    """Diaries of single drops of water, with dates and places.

    Follows drops that TOWN takes in on DATE, to the end of the season; with --backward, drops of a
    glass that is drawn in TOWN on DATE, back to where they came from. By default the first town,
    and its first day (with --backward its last).

    FILE is a scenario file, or the name of one that comes with hydroloop.
    """
    from hydroloop.outputs.diary import diaries
    from hydroloop.outputs.place import begin_of, date_in, town_of
    from hydroloop.tracing import drops
    from hydroloop.waterworks import simulate

    progress = Progress(verbose)
    scenario = options.opened(file, sets, scales)
    name = town_of(list(scenario.town), town)
    default = scenario.season.end if backward else scenario.season.start
    on = date_in(scenario.season, str(default) if date is None else date)
    announce_compiling()
    with progress.step("running the season"):
        record = simulate(scenario)
    at = begin_of(record, name, backward=backward)
    with progress.step("following the drops"):
        walks = drops(record, n=count, at=at, on=on, seed=seed, backward=backward)
        told = diaries(record, walks, backward=backward, system=units)
    asked = {"scenario": scenario.title, "town": name, "date": str(on)[:10], "store": at,
             "seed": seed, "backward": backward}
    if as_json:
        click.echo(json.dumps({**asked, "drops": [_plain(one) for one in told]}, indent=2,
                              ensure_ascii=False))
    else:
        click.echo("\n".join(_report(record, told, asked)))


def _report(record: xr.Dataset, told: list[Diary], asked: dict[str, Any]) -> list[str]:
    from hydroloop.charts.words import date_words, place_words
    from hydroloop.outputs.cautions import SAME_WATER, wrapped
    from hydroloop.outputs.diary import as_text, ends

    town, date = place_words(asked["town"]), date_words(asked["date"])
    what = (f"drawn from a tap in {town} on {date}, and where it came from" if asked["backward"]
            else f"taken in by {town} on {date}, and where it went")
    lines = [asked["scenario"], f"Drops of water {what} (seed {asked['seed']}).", ""]
    width = get_terminal_size((100, 24)).columns
    for diary in told:
        lines += [*as_text(diary, width), ""]
    summary = ends(record, told, backward=asked["backward"])
    lines += [*summary, ""] if summary else []
    return [*lines, "A diary is one drop's way, drawn by chance; only many of them show shares.",
            "", wrapped((SAME_WATER,))]


def _plain(diary: Diary) -> dict[str, Any]:
    return {"drop": diary.number, "uses": diary.uses, "end": diary.end,
            "diary": [{"from": str(line.first)[:10], "to": str(line.last)[:10], "text": line.text}
                      for line in diary.lines]}
