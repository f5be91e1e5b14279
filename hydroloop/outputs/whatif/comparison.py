"""Runs that are compared with one, as a document: what differs, what that did, and why."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import partial
from itertools import chain
from typing import NamedTuple

import xarray as xr

from hydroloop.charts.changed_words import changed_sentence
from hydroloop.charts.contributions import WITH, WITHOUT
from hydroloop.charts.words import joined
from hydroloop.outputs.document import (
    Block,
    Document,
    Fact,
    Paragraph,
    Picture,
    Ran,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.cautions import SHORT as SHORT_CAUTIONS
from hydroloop.outputs.document.table import Column, Cross, Table
from hydroloop.outputs.document.wording import number_of
from hydroloop.outputs.run.place import season_words
from hydroloop.outputs.whatif.changed import (
    changed_block,
    changed_inputs,
    changed_table,
    plan_facts,
    plan_section,
    plan_sentence,
)
from hydroloop.outputs.whatif.compare_cause import parts_of_both
from hydroloop.outputs.whatif.compare_pictures import (
    drawn_of,
    droughts,
    glass_of_both,
    line_of,
    steps_picture,
)
from hydroloop.outputs.whatif.compare_words import told_words
from hydroloop.outputs.whatif.held import works_block
from hydroloop.outputs.whatif.season_measures import (
    CUT,
    SHORT,
    SHOWN,
    USED,
    measures_of,
    run_column,
    stages_block,
    told_in,
    towns_column,
    with_unmet,
)
from hydroloop.placenames import names_of
from hydroloop.units.printing import System
from hydroloop.whatif import Comparison, Plan, at_places

BEFORE, AFTER = "before", "after"
"""What the run is called that all others are compared with, and the other where there is one."""
WHY = (USED, SHORT, CUT)
"""Measures that are split over the changes."""
_NOTHING = 1e-9
_LINES = 3  # sentences on each of several runs in the short answer


class Against(NamedTuple):
    """A run that is compared with the one before; its plan, if one leads to it."""

    name: str
    found: Comparison
    plan: Plan | None


def comparison(
    runs: Sequence[Against], system: System, shared: Sequence[Sequence[str]] = ()
) -> Document:
    """One run or several against the run before; `shared` is what was changed in all of them."""
    first, names = runs[0].found, [run.name for run in runs]
    changed = [changed_inputs(run.found.before, run.found.after, system) for run in runs]
    parts, whole, last = parts_table(runs), side_by_side(runs), because_table(runs)
    inputs = changed_table(
        [row for rows in changed for row in rows],
        (WITHOUT, WITH),
        [run.name for run, rows in zip(runs, changed, strict=True) for _ in rows],
    )
    blocks: list[Block] = list(
        changed_block(shared, first.names, "Both runs" if len(runs) == 1 else "All runs")
    )
    if len(runs) == 1:
        blocks += (
            [
                *_differs(runs[0], changed[0], system),
                *_measures(whole, has_change=True),
                *_why(runs[0], inputs, parts, last, changed[0]),
            ]
            if changed[0]
            else [
                Paragraph("Nothing differs between the two runs."),
                TableBlock(last, where="values"),
            ]
        )
    else:
        blocks += [
            *_several(runs, changed, whole, system),
            *(
                Section(
                    f"{run.name}, against the run {WITHOUT}",
                    [
                        *map(Paragraph, told_words(run.found, system)),
                        *_why(run, inputs, parts, last, rows),
                    ],
                    short=False,
                )
                for run, rows in zip(runs, changed, strict=True)
                if rows
            ),
        ]
    if any(why_blocks(run, parts) for run in runs):
        lot = (
            ""
            if all(run.found.error is None for run in runs)
            else " Orders were drawn at random: the parts are estimates that still add up."
        )
        blocks.append(
            Paragraph(
                "A change's part is its effect averaged over all orders in which "
                "the changes can be made; the parts add up to the whole "
                f"difference.{lot}",
                short=False,
            )
        )
    blocks += _pictures(runs, system, shared)
    plans = [{"run": run.name, **plan_facts(run.plan)} for run in runs if run.plan]
    return Document(
        "compare",
        first.before.title,
        blocks,
        system,
        ran=Ran(
            first.before.title,
            (first.before.season.start, first.before.season.end),
            shared,
            plans=plans,
        ),
        facts={
            "runs": Fact([BEFORE, *names]),
            "made": Fact({run.name: run.found.runs for run in runs}),
            "exact": Fact({run.name: run.found.error is None for run in runs}),
        },
        cautions=SHORT_CAUTIONS,
    )


def _differs(run: Against, rows: Sequence[Sequence[str]], system: System) -> list[Block]:
    """What was changed, what that left as it is, and what came of it."""
    after, before = run.found.after, run.found.before
    is_same = after.title == before.title
    if run.plan:
        said = plan_sentence(run.plan)
    elif not is_same:
        said = (
            f"Against {after.title}: {number_of(len(rows), 'input')} differ."
            if len(rows) != 1
            else f"Against {after.title}: 1 input differs."
        )
    else:
        said = changed_sentence(rows, run.found.names)
    return [
        Paragraph(said),
        *works_block(before if is_same else after, after, system),
        *map(Paragraph, told_words(run.found, system)),
        *([plan_section(run.plan)] if run.plan else []),
    ]


def _several(
    runs: Sequence[Against],
    changed: Sequence[Sequence[Sequence[str]]],
    whole: xr.Dataset,
    system: System,
) -> list[Block]:
    """Each run in a sentence or two, then all of them in one table."""
    seasons = ", then ".join(
        dict.fromkeys(
            season_words(run.season)
            for run in (runs[0].found.before, *(run.found.after for run in runs))
        )
    )
    when = f" {seasons}." if ", then " in seasons else ""
    return [
        Paragraph(f"{len(runs) + 1} runs: {joined([WITHOUT, *(run.name for run in runs)])}.{when}"),
        *(
            Paragraph(
                f"{run.name}: "
                + (" ".join(told_words(run.found, system)[:_LINES]) if rows else "Nothing differs.")
            )
            for run, rows in zip(runs, changed, strict=True)
        ),
        *_measures(whole, has_change=False),
    ]


def _measures(table: xr.Dataset, *, has_change: bool) -> list[Block]:
    """Tables of the measures of all runs; of several runs the first two are in the short answer."""
    shown = [told.name for told in told_in(table, SHOWN)]
    made = _measures_table(table, has_change=has_change)
    first = [] if has_change else [name for name in shown if name in (USED.name, SHORT.name)]
    rest = [name for name in shown if name not in first]
    stages = stages_block(table, run_column([str(run) for run in table["run"].values]))
    return [
        *([TableBlock(_viewed(made, first))] if first else []),
        Section(
            "The season in all runs"
            if not has_change
            else "The season without and with the change",
            [TableBlock(_viewed(made, rest)), *stages],
            short=False,
        ),
    ]


def _viewed(table: Table, measures: Sequence[str]) -> Table:
    assert isinstance(table.view, Cross)
    return replace(table, view=replace(table.view, measures=measures))


def _why(
    run: Against, inputs: Table, parts: Table, last: Table, rows: Sequence[Sequence[str]]
) -> list[Block]:
    """The inputs that differ, what each change adds, and where the used water was used last."""
    shown = Table(
        inputs.name,
        f"What differs: {number_of(len(rows), 'input')}",
        inputs.columns,
        only=("run", run.name),
    )
    return [
        TableBlock(shown, short=False),
        *why_blocks(run, parts),
        TableBlock(replace(last, only=("run", run.name)), short=False),
    ]


def _pictures(
    runs: Sequence[Against], system: System, shared: Sequence[Sequence[str]]
) -> list[Picture]:
    lines = {run.name: line_of(run.found, run.plan, shared, system) for run in runs}
    made = [
        Picture(
            f"{run.name}_{told.name}" if len(runs) > 1 else told.name,
            partial(steps_picture, run.found, told, system, lines[run.name]),
        )
        for run in runs
        for told in drawn_of(run.found, WHY)
    ]
    for run in runs:
        start = f"{run.name}_" if len(runs) > 1 else ""
        if drawn_of(run.found, (USED,)):
            made.append(
                Picture(f"{start}glass", partial(glass_of_both, run.found, lines[run.name]))
            )
        made += [
            Picture(f"{start}{name}", draw)
            for name, draw in droughts(run.found, system, lines[run.name])
        ]
    return made


def side_by_side(runs: Sequence[Against]) -> xr.Dataset:
    """Season measures of all runs, along the dim run; towns and drought stages are those of all."""
    each = [
        runs[0].found.table.sel(run=[BEFORE]),
        *(run.found.table.sel(run=["after"]).assign_coords(run=[run.name]) for run in runs),
    ]
    scenarios = [runs[0].found.before, *(run.found.after for run in runs)]
    towns, stages = (
        list(dict.fromkeys(chain.from_iterable(places)))
        for places in ((one.town for one in scenarios), (one.stage for one in scenarios))
    )
    return with_unmet(xr.concat([at_places(table, towns, stages) for table in each], "run"))


def _measures_table(table: xr.Dataset, *, has_change: bool) -> Table:
    """A row for each town and run."""
    towns, runs = ([str(name) for name in table[dim].values] for dim in ("town", "run"))
    columns = [
        towns_column(towns, names_of(table), len(runs)),
        run_column(runs * len(towns)),
        *measures_of(table, ("town", "run")),
    ]
    view = Cross(
        ("run",),
        "town",
        [told.name for told in told_in(table, SHOWN)],
        "change" if has_change else "",
    )
    return Table("measures", "All runs", columns, view)


def parts_table(runs: Sequence[Against]) -> Table:
    """A row for each run, town and change."""
    each = []
    for run in runs:
        parts = with_unmet(run.found.contributions)
        towns, changes = ([str(name) for name in parts[dim].values] for dim in ("town", "change"))
        each.append(
            [
                run_column([run.name] * len(towns) * len(changes)),
                towns_column(towns, run.found.names, len(changes)),
                Column("change", changes * len(towns)),
                *measures_of(parts, ("town", "change")),
            ]
        )
    shared = [
        [column for own in each for column in own if column.known_as == first.known_as]
        for first in each[0]
        if all(first.known_as in {one.known_as for one in own} for own in each)
    ]
    return Table(
        "contributions",
        "What each change adds",
        [
            Column(
                first.name,
                [value for one in same for value in one.values],
                first.dimension,
                first.key,
                first.words and [word for one in same for word in one.words or ()],
            )
            for same in shared
            for first in same[:1]
        ],
    )


def because_table(runs: Sequence[Against]) -> Table:
    """The used share in parts, in both runs, of each that is compared with the first."""
    each = [parts_of_both(run.found, run.name) for run in runs]
    columns = [
        replace(
            same[0],
            values=[value for one in same for value in one.values],
            words=same[0].words and [word for one in same for word in one.words or ()],
        )
        for same in zip(*(one.columns for one in each), strict=True)
    ]
    return replace(each[0], columns=columns)


def why_blocks(run: Against, parts: Table) -> list[Block]:
    """What each change adds to what is split over the changes; none where it adds nothing."""
    own = with_unmet(run.found.contributions)
    moved = [
        told.name
        for told in WHY
        if told.name in own and bool((abs(own[told.name]) > _NOTHING).any())
    ]
    if not moved:
        return []
    view = Cross(
        ("change",),
        "town",
        moved,
        "together",
        is_signed=True,
        title="Why: what each change adds to the ",
    )
    return [
        TableBlock(
            Table(parts.name, parts.title, parts.columns, view, only=("run", run.name)), short=False
        )
    ]
