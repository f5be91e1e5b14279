"""``hydroloop check``: is the scenario right, is it likely, and what is assumed."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import click

from hydroloop.cli import options
from hydroloop.cli.failing import BAD_INPUT
from hydroloop.errors import MOST_TOLD, InputError, Problem

if TYPE_CHECKING:
    from hydroloop.outputs.inputs import Input
    from hydroloop.scenario import Scenario
    from hydroloop.units.printing import System


@click.command(name="check")
@options.scenario_file
@options.changes
@click.option("--all", "all_inputs", is_flag=True, help="List the defaults too.")
@options.units
@options.as_json
@click.pass_context
def command(ctx: click.Context, file: str, sets: dict[str, str], scales: dict[str, str],
            all_inputs: bool, units: System, as_json: bool) -> None:
    """Check a scenario file and the CSV files that it names, without running it.

    FILE is a scenario file, or the name of one that comes with hydroloop. Problems are listed all
    at once with line, cause and cure; values that are allowed but unusual are pointed out.
    """
    from hydroloop.outputs.inputs import inputs

    try:
        scenario = options.opened(file, sets, scales)
        _open_files(scenario)
    except InputError as error:
        if not as_json:
            raise
        click.echo(_json({"ok": False, "count": error.count,
                          "problems": _records(error.problems[:MOST_TOLD])}))
        ctx.exit(BAD_INPUT)
    found = inputs(scenario, units)
    if as_json:
        click.echo(_json({"ok": True, "title": scenario.title, "problems": [],
                          "warnings": _records(list(scenario.warnings)),
                          "inputs": [one._asdict() for one in found]}))
        return
    for problem in scenario.warnings:
        click.echo(f"unusual: {problem}", err=True)
    click.echo("\n".join(_report(file, scenario, found, all_inputs)))


def _open_files(scenario: Scenario) -> None:
    """Read the CSV files over the season, so that what is wrong in them is said here."""
    from hydroloop.scenario.schema_river import FlowFile

    flows = any(isinstance(river.inflow, FlowFile) for river in scenario.river.values())
    if flows or scenario.weather.file is not None:
        from hydroloop.waterworks.forcing import season_forcing

        season_forcing(scenario)


def _report(file: str, scenario: Scenario, found: list[Input], all_inputs: bool) -> list[str]:
    from hydroloop.charts.words import date_words
    from hydroloop.outputs.inputs import GIVEN, summary
    from hydroloop.outputs.wording import number_of

    season = scenario.season
    towns, rivers = len(scenario.town), len(scenario.river)
    unusual = len(scenario.warnings)
    lines = [
        scenario.title,
        f"{date_words(season.start)} to {date_words(season.end)}; {number_of(towns, 'town')}, "
        f"{number_of(rivers, 'river')}.",
        "",
        "No problems." + (f" {number_of(unusual, 'unusual value')}, told above." if unusual else
                          " Nothing unusual."),
        f"Of the inputs, {summary(found)}",
        "",
        "All inputs:" if all_inputs else "Given:",
    ]
    shown = [one for one in found if all_inputs or one.origin == GIVEN]
    width = max(len(one.key) for one in shown)
    lines += [f"  {one.key:<{width}}  {_value(one)}" for one in shown]
    tail = "tells a default with its source" if all_inputs else (
        f"tells a default with its source; hydroloop check {file} --all lists them")
    return [*lines, "", f"hydroloop explain KEY {tail}."]


def _value(one: Input) -> str:
    from hydroloop.outputs.inputs import GIVEN

    text = one.value if len(one.value) <= 90 else f"{one.value[:87]}..."
    return text.replace("\n", " ") + ("" if one.origin == GIVEN else f"  ({one.origin})")


def _records(problems: list[Problem]) -> list[dict[str, Any]]:
    return [{"where": one.where, "key": one.key, "what": one.what, "cure": one.cure}
            for one in problems]


def _json(value: Any) -> str:
    return json.dumps(value, indent=2, ensure_ascii=False, allow_nan=False)
