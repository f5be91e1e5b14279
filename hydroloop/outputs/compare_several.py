"""Several runs against one: side by side, and each with what differs and why."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import chain
from typing import Any, NamedTuple

import xarray as xr

from hydroloop.charts.words import joined, place_words
from hydroloop.outputs.changed import changed_lines, plan_facts, plan_lines
from hydroloop.outputs.compare_pictures import (
    changed_table,
    measures_table,
    parts_table,
    steps_pictures,
)
from hydroloop.outputs.compare_words import (
    compare_facts,
    differs_lines,
    how_lines,
    measures_lines,
    seasons_line,
    why_lines,
)
from hydroloop.outputs.season_measures import figure, with_unmet
from hydroloop.outputs.table import Column, Table
from hydroloop.outputs.what_if_folder import WhatIf
from hydroloop.outputs.wording import wrap
from hydroloop.units.printing import System
from hydroloop.whatif import Comparison, Plan, at_places

BEFORE = "before"
"""What the run is called that all others are held against."""


class Against(NamedTuple):
    """A run that is held against the one before.

    Attributes
    ----------
    name : str
        What it is called.
    found : Comparison
        The run before and this one.
    plan : Plan or None
        The plan that leads to it.
    """

    name: str
    found: Comparison
    plan: Plan | None


def several_lines(runs: Sequence[Against], system: System,
                  shared: Sequence[Sequence[str]] = ()) -> list[str]:
    """All runs side by side, and then each with what differs from the run before, and why.

    Parameters
    ----------
    runs : sequence of Against
        Two or more, all against the same run.
    system : str
        ``"us"`` or ``"metric"``.
    shared : sequence
        What was changed in all runs, as from `changed_inputs`.

    Returns
    -------
    list of str
        Lines of text.
    """
    names = [run.name for run in runs]
    lines = [runs[0].found.before.title, seasons_line([run.found for run in runs]), ""]
    lines += [*changed_lines(shared, "All runs"), ""] if shared else []
    lines += wrap(f"{len(runs) + 1} runs: {joined([BEFORE, *names])}.", "  ")
    lines += measures_lines(side_by_side(runs), _rows, system)
    reasons = [why_lines(run.found, system) for run in runs]
    for run, why in zip(runs, reasons, strict=True):
        lines += ["", f"{run.name}, against {BEFORE}", *(plan_lines(run.plan) if run.plan else [])]
        lines += [*(differs_lines(run.found, system) or ["Nothing differs."]), *why]
    return [*lines, *how_lines([run.found for run in runs])] if any(reasons) else lines


def several_facts(runs: Sequence[Against], shared: Sequence[Sequence[str]] = ()) -> dict[str, Any]:
    """Each run against the one before as plain values, in inner units, for a script.

    Parameters
    ----------
    runs : sequence of Against
        Two or more.
    shared : sequence
        What was changed in all runs, as from `changed_inputs`.

    Returns
    -------
    dict
        Title, and under ``against`` by name what `compare_facts` tells of each, with its plan.
    """
    return {"title": runs[0].found.before.title, "against": {
        run.name: {**({"plan": plan_facts(run.plan)} if run.plan else {}),
                   **compare_facts(run.found, shared)} for run in runs}}


def several_found(runs: Sequence[Against], lines: Sequence[str], system: System) -> WhatIf:
    """What several comparisons came to: in words, in tables, and as a picture of each.

    Parameters
    ----------
    runs : sequence of Against
        Two or more.
    lines : sequence of str
        The answer, as on screen.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    WhatIf
        Ready to be written.
    """
    scenarios = {f"{BEFORE}.toml": runs[0].found.before,
                 **{f"{run.name}.toml": run.found.after for run in runs}}
    tables = [_under_each_other({run.name: changed_table(run.found, system) for run in runs}),
              measures_table(side_by_side(runs)),
              _under_each_other({run.name: parts_table(run.found) for run in runs})]
    figures = {f"{run.name}_{name}": picture for run in runs
               for name, picture in steps_pictures(run.found, system).items()}
    return WhatIf(lines, scenarios, tables, figures)


def side_by_side(runs: Sequence[Against]) -> xr.Dataset:
    """Season measures of all runs.

    Parameters
    ----------
    runs : sequence of Against
        Two or more.

    Returns
    -------
    xarray.Dataset
        With the dim run: the run before, and the others by name. Towns and drought stages are
        those of all, in the order in which they first come.
    """
    each = [runs[0].found.table.sel(run=[BEFORE]),
            *(run.found.table.sel(run=["after"]).assign_coords(run=[run.name]) for run in runs)]
    scenarios = [runs[0].found.before, *(run.found.after for run in runs)]
    towns, stages = (list(dict.fromkeys(chain.from_iterable(places))) for places in (
        (one.town for one in scenarios), (one.stage for one in scenarios)))
    return with_unmet(xr.concat([at_places(table, towns, stages) for table in each], "run"))


def _rows(values: xr.DataArray) -> list[list[str]]:
    """A row for each run, from values as they are shown."""
    towns = [str(town) for town in values["town"].values]
    return [["", *(place_words(town) for town in towns)],
            *([str(run), *(figure(float(values.sel(run=run, town=town))) for town in towns)]
              for run in values["run"].values)]


def _under_each_other(tables: dict[str, Table]) -> Table:
    """Tables of the same columns as one, with the run in the first column."""
    first, *_ = tables.values()
    names = [name for name, table in tables.items() for _ in table.columns[0].values]
    columns = [Column(column.name, list(chain.from_iterable(
        table.columns[place].values for table in tables.values())), column.dimension)
        for place, column in enumerate(first.columns)]
    return Table(first.name, first.title, [Column("run", names), *columns])
