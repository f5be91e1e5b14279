"""``hydroloop compare``: two runs side by side, and why they differ."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import click

from hydroloop.cli import options
from hydroloop.cli.progress import Progress, announce_compiling

if TYPE_CHECKING:
    from hydroloop.units.printing import System


@click.command(name="compare")
@options.scenario_file
@click.argument("other", required=False)
@click.option("--plan", "plan_file", help="Plan of changes, a TOML file: what would it do?")
@options.changes
@options.units
@options.as_json
@options.verbose
def command(file: str, other: str | None, plan_file: str | None, sets: dict[str, str],
            scales: dict[str, str], units: System, as_json: bool, verbose: bool) -> None:
    """Two runs side by side: what differs in the inputs, what that did, and why.

    FILE is the run before. The run after is OTHER, or FILE with --plan, --set and --scale. The
    difference is split over the changes, and the parts add up.

    FILE and OTHER are scenario files, or names of those that come with hydroloop.
    """
    from hydroloop.errors import AskError, Problem
    from hydroloop.outputs.compare_words import compare_facts, compare_lines
    from hydroloop.whatif import compare, read_plan

    given = [other is not None, plan_file is not None, bool(sets or scales)]
    if sum(given) != 1:
        raise AskError(Problem("compare", "there must be one thing to compare with.",
                               "Name OTHER, or a --plan, or changes by --set and --scale."))
    progress = Progress(verbose)
    before = options.opened(file, {}, {})
    options.warn(before)
    announce_compiling()
    if plan_file is not None:
        after = read_plan(plan_file)
    else:
        after = options.opened(other or file, sets, scales)  # type: ignore[assignment]
    with progress.step("running both, and the changes one by one"):
        found = compare(before, after)
    if as_json:
        click.echo(json.dumps(compare_facts(found), indent=2, ensure_ascii=False, allow_nan=False))
        return
    click.echo("\n".join(compare_lines(found, units)))
