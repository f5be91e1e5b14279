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
@options.plan
@options.changes
@options.units
@click.option("--out", help="Folder to write: the picture of what each change adds, and tables.")
@options.force
@options.as_json
@options.verbose
def command(file: str, other: str | None, plan_file: str | None, sets: dict[str, str],
            scales: dict[str, str], units: System, out: str | None, force: bool, as_json: bool,
            verbose: bool) -> None:
    """Two runs side by side: what differs in the inputs, what that did, and why.

    FILE is the run before. The run after is OTHER, or FILE with a --plan, or with --set and
    --scale. Beside OTHER or a --plan, --set and --scale change both runs: does the plan help in a
    drought too? The difference is split over the changes, and the parts add up. With --out they
    are drawn as steps from one run to the other.

    FILE and OTHER are scenario files, or names of those that come with hydroloop.
    """
    from hydroloop.errors import AskError, Problem
    from hydroloop.outputs.changed import changed_inputs, plan_facts, plan_lines
    from hydroloop.outputs.compare_words import compare_facts, compare_lines
    from hydroloop.outputs.folder import check_free
    from hydroloop.outputs.what_if_folder import check_folder_name
    from hydroloop.whatif import compare, read_plan

    is_named = other is not None or plan_file is not None
    if (other is not None and plan_file is not None) or not (is_named or sets or scales):
        raise AskError(Problem("compare", "there must be one thing to compare with.",
                               "Name OTHER, or a --plan, or changes by --set and --scale."))
    progress = Progress(verbose)
    as_read, asked = options.all_at_once(
        lambda: options.opened(file, {}, {}),
        lambda: (options.opened(other or file, sets, scales) if plan_file is None
                 else read_plan(plan_file)))
    before = options.changed(as_read, sets, scales) if is_named else as_read
    if out:
        check_folder_name(out)
        check_free(out, force=force)
    options.warn(before)
    announce_compiling()
    plan = asked if plan_file else None
    with progress.step("running both, and the changes one by one"):
        found = compare(before, asked)
    shared = changed_inputs(as_read, before, units)
    lines, facts = compare_lines(found, units, shared), compare_facts(found, shared)
    if plan:
        lines, facts = [*plan_lines(plan), "", *lines], {"plan": plan_facts(plan), **facts}
    if out:
        from hydroloop.outputs.compare_pictures import compare_found

        where = options.written(compare_found(found, lines, units), out, units, progress,
                                force=force)
        lines, facts = [*lines, "", *where.lines], {**facts, **where.facts}
    click.echo(json.dumps(facts, indent=2, ensure_ascii=False, allow_nan=False) if as_json
               else "\n".join(lines))
