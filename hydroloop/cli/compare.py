"""``hydroloop compare``: two runs side by side, and why they differ."""

from __future__ import annotations

from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from hydroloop.cli import options
from hydroloop.cli.again import quoted, words_again
from hydroloop.cli.progress import Progress, announce_compiling
from hydroloop.cli.showing import show, written

if TYPE_CHECKING:
    from hydroloop.outputs.document import Ask
    from hydroloop.outputs.whatif.comparison import Against
    from hydroloop.scenario import Scenario
    from hydroloop.units.printing import System
    from hydroloop.whatif import Change


@click.command(name="compare")
@options.scenario_file
@click.argument("others", nargs=-1, metavar="[OTHER]...")
@click.option(
    "--plan",
    "plan_files",
    multiple=True,
    metavar="FILE",
    help="Plan of changes, a TOML file with steps, reasons and points. May be given several times.",
)
@options.changes
@options.count_as
@options.full
@options.no_pictures
@options.units
@options.out("The picture of what each change adds, tables, the answer.")
@options.force
@options.as_json
@options.verbose
def command(
    file: str,
    others: tuple[str, ...],
    plan_files: tuple[str, ...],
    sets: dict[str, str],
    scales: dict[str, str],
    units: System,
    full: bool,
    out: str | None,
    force: bool,
    as_json: bool,
    verbose: bool,
) -> None:
    """Two runs or more side by side: what differs in the inputs, what that did, and why.

    FILE is the run without changes. The run with them is OTHER, or FILE with a --plan, or with
    --set and --scale. Of several, each is compared with FILE. Beside OTHER or a --plan, --set and
    --scale change all runs: does the plan help in a drought too? The difference is split over the
    changes, and the parts add up. With --out they are drawn as steps from one run to the other.

    FILE and OTHER are scenario files, or names of those that come with hydroloop.
    """
    from hydroloop.outputs.document.writing import Beside, check_target
    from hydroloop.outputs.whatif.changed import changed_inputs
    from hydroloop.outputs.whatif.comparison import AFTER, comparison

    names = _names(others, plan_files, is_changed=bool(sets or scales))
    progress = Progress(verbose)
    as_read, *asked = options.all_at_once(
        partial(options.opened, file, {}, {}),
        *(partial(options.opened, other, sets, scales) for other in others),
        *(partial(options.read_plan, path) for path in plan_files),
    )
    before = options.changed(as_read, sets, scales) if names else as_read
    there = check_target(out, force=force)
    options.warn(before)
    announce_compiling()
    with progress.step("running all, and the changes one by one"):
        runs = _compared(
            before,
            names if len(names) > 1 else [AFTER],
            asked if names else [options.changed(before, sets, scales)],
            [] if names else options.asked_changes(sets, scales),
        )
    options.note_middles(
        key for run in runs for one in (run.found.before, run.found.after) for key in one.ranges
    )
    document = comparison(runs, units, changed_inputs(as_read, before, units))
    document = replace(
        document,
        ask_next=_next(
            runs,
            " ".join(map(quoted, (file, *others))),
            words_again(sets, scales, plan_files),
            {*sets, *scales},
            is_full=full,
            are_shared=bool(names),
        ),
    )
    scenarios = {f"{run.name}.toml": run.found.after for run in runs}
    beside = Beside({"before.toml": runs[0].found.before, **scenarios})
    show(
        written(document, out, progress, beside, force=force, before=there),
        as_json=as_json,
        full=full,
    )


def _next(
    runs: list[Against],
    files: str,
    changes: str,
    given: set[str],
    *,
    is_full: bool,
    are_shared: bool,
) -> list[Ask]:
    """All of the tables, and a change that goes on from the last run, of no key that is `given`."""
    from hydroloop.cli.again import command as again
    from hydroloop.outputs.document import Ask
    from hydroloop.outputs.whatif.ask_of_many import further_changes

    if not any(run.found.inputs for run in runs):
        return []
    whole = Ask("the same with --full", "all tables, and each change's part")
    shared = [runs[0].found.before, *(run.found.after for run in runs)] if are_shared else []
    more = further_changes(runs[-1].found, given, shared)
    return [
        *([] if is_full else [whole]),
        *(Ask(again("compare", files, changes, option), what) for option, what in more[:1]),
    ]


def _names(others: tuple[str, ...], plan_files: tuple[str, ...], *, is_changed: bool) -> list[str]:
    """What the runs after are called; none where --set and --scale lead to the only one."""
    from hydroloop.errors import AskError, Problem

    if (others and plan_files) or not (others or plan_files or is_changed):
        raise AskError(
            Problem(
                "compare",
                "there must be one thing to compare with.",
                "Name OTHER, or a --plan, or changes by --set and --scale; several "
                "of one kind are compared with FILE one by one.",
            )
        )
    names = [Path(name).stem for name in (*others, *plan_files)]
    twice = [name for name in dict.fromkeys(names) if names.count(name) > 1]
    if len(names) > 1 and "before" in names:
        twice.append("before")
    if twice:
        raise AskError(
            [
                Problem(
                    "compare",
                    f'two runs would be called "{name}".',
                    "Give the files different names.",
                )
                for name in twice
            ]
        )
    return names


def _compared(
    before: Scenario, names: list[str], asked: list[Any], changes: list[Change]
) -> list[Against]:
    """Each run against the one before; what is wrong with any plan is told before any run."""
    from hydroloop.outputs.whatif.comparison import Against
    from hydroloop.whatif import Plan, compare

    plans = [one if isinstance(one, Plan) else None for one in asked]
    options.all_at_once(*(partial(plan.taken, before) for plan in plans if plan))
    return [
        Against(name, compare(before, one, asked=changes), plan)
        for name, one, plan in zip(names, asked, plans, strict=True)
    ]
