"""Two runs side by side in words: what differs, what that did, and why."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Any

import xarray as xr

from hydroloop.charts.words import joined, place_words
from hydroloop.outputs.changed import changed_inputs, changed_lines, changed_rows
from hydroloop.outputs.held import held_lines
from hydroloop.outputs.place import season_words
from hydroloop.outputs.season_measures import (
    CUT,
    EFFLUENT,
    EVERY,
    SHORT,
    TOLD,
    USED,
    WITHDRAWN,
    figure,
    folded,
    stage_lines,
    still,
    told_in,
    with_unmet,
)
from hydroloop.outputs.table import as_lines, known
from hydroloop.outputs.wording import number_of, wrap
from hydroloop.units.printing import System
from hydroloop.whatif import Comparison

SHOWN = (*TOLD, WITHDRAWN, EFFLUENT)
"""Measures that are shown of both runs."""
_NAMED = 3  # changes that a sentence names, where there are many
WHY = (USED, SHORT, CUT)
"""Those that are split over the changes."""
_NOTHING = 1e-9


def compare_lines(found: Comparison, system: System,
                  shared: Sequence[Sequence[str]] = ()) -> list[str]:
    """The comparison as lines of text: the answer first.

    Parameters
    ----------
    found : Comparison
        Two runs and the contributions of each change.
    system : str
        ``"us"`` or ``"metric"``.
    shared : sequence
        What was changed in both runs, as from `changed_inputs`.

    Returns
    -------
    list of str
        Lines of text.
    """
    head = [found.before.title, seasons_line([found]), ""]
    if shared:
        head += [*changed_lines(shared, "Both runs"), ""]
    differs = differs_lines(found, system)
    if not differs:
        return [*head, "Nothing differs between the two runs."]
    why = why_lines(found, system)
    return [*head, *differs, *measures_lines(with_unmet(found.table), _rows, system), *why,
            *(how_lines([found]) if why else [])]


def differs_lines(found: Comparison, system: System) -> list[str]:
    """The inputs that differ, and a sentence on each town; none where nothing differs.

    Parameters
    ----------
    found : Comparison
        Two runs and the contributions of each change.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    list of str
        Lines of text.
    """
    inputs = changed_inputs(found.before, found.after, system)
    if not inputs:
        return []
    table, parts = with_unmet(found.table), with_unmet(found.contributions)
    lines = [f"What differs: {number_of(len(inputs), 'input')}",
             *as_lines([["", "before", "after"], *changed_rows(inputs)]),
             *held_lines(found.after, system), ""]
    for town in map(str, table["town"].values):
        lines += wrap(_sentence(table, parts, town, system), "  ")
    return lines


def measures_lines(table: xr.Dataset, rows: Callable[[xr.DataArray], list[list[str]]],
                   system: System) -> list[str]:
    """Every measure of all runs, each in its table.

    Parameters
    ----------
    table : xarray.Dataset
        Season measures with the dims run and town.
    rows : callable
        Takes values as they are shown and returns the rows of the table.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    list of str
        Lines of text.
    """
    shown = []
    for told in told_in(table, SHOWN):
        values = table[told.name]
        factor, unit = told.shown(values, system)
        shown.append((still(told, values.values, system),
                      [told.heading(unit), *as_lines(rows(factor * values))]))
    return [*folded(shown), *stage_lines(table, rows)]


def why_lines(found: Comparison, system: System) -> list[str]:
    """What each change adds to what is split over the changes; none where it adds nothing.

    Parameters
    ----------
    found : Comparison
        Two runs and the contributions of each change.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    list of str
        Lines of text.
    """
    parts, lines = with_unmet(found.contributions), list[str]()
    changes = [str(name) for name in parts["change"].values]
    for told in (told for told in WHY if told.name in parts
                 and bool((abs(parts[told.name]) > _NOTHING).any())):
        factor, unit = told.shown(parts[told.name], system)
        lines += ["", f"Why: what each change adds to the {told.words}"
                  + (f" [{unit}]" if unit else ""),
                  *as_lines(_contributions(factor * parts[told.name], changes))]
    return lines


def seasons_line(compared: Sequence[Comparison]) -> str:
    """First and last days of the runs; each season once."""
    runs = [compared[0].before, *(one.after for one in compared)]
    return ", then ".join(dict.fromkeys(season_words(run.season) for run in runs))


def how_lines(compared: Sequence[Comparison]) -> list[str]:
    """How the parts are worked out, after a blank line."""
    error = "" if all(one.error is None for one in compared) else " Orders were drawn by lot: " \
        "the parts are estimates that still add up."
    return ["", *wrap(
        "A change's part is its effect averaged over all orders in which the changes can be made; "
        f"the parts add up to the whole difference.{error}", "  ")]


def compare_facts(found: Comparison, shared: Sequence[Sequence[str]] = ()) -> dict[str, Any]:
    """The comparison as plain values, in inner units, for a script.

    Parameters
    ----------
    found : Comparison
        Two runs and the contributions of each change.
    shared : sequence
        What was changed in both runs, as from `changed_inputs`.

    Returns
    -------
    dict
        Inputs, measures of both runs, differences and contributions by town.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.whatif import compare
    >>> before = hl.read_scenario("first_town")
    >>> after = before.changed({"town.larkmill.people": 30000})
    >>> compare_facts(compare(before, after))["inputs"][0]["key"]
    'town.larkmill.people'
    """
    table, parts = with_unmet(found.table), with_unmet(found.contributions)
    towns, changes = map(str, table["town"].values), [str(c) for c in parts["change"].values]
    names = [told.name for told in EVERY if told.name in table]
    return {
        "title": found.before.title,
        "inputs": [{"key": key, "before": before, "after": after}
                   for key, before, after in found.inputs],
        "both": [{"key": key, "before": before, "after": after}
                 for key, before, after in shared],
        **_stage_facts(table),
        "runs": found.runs, "exact": found.error is None,
        "towns": {town: {name: {
            "before": known(table[name].sel(town=town, run="before")),
            "after": known(table[name].sel(town=town, run="after")),
            "contributions": {change: known(parts[name].sel(town=town, change=change))
                              for change in changes},
        } for name in names} for town in towns},
    }  # fmt: skip


def _stage_facts(table: xr.Dataset) -> dict[str, Any]:
    if "days_in_stage" not in table:
        return {}
    days = table["days_in_stage"]
    return {"days_in_stage": {str(stage): {run: known(days.sel(stage=stage, run=run))
                                           for run in ("before", "after")}
                              for stage in days["stage"].values}}


def _rows(values: xr.DataArray) -> list[list[str]]:
    """Both runs and the change, from values as they are shown."""
    towns = [str(town) for town in values["town"].values]
    rows = [["", *(place_words(town) for town in towns)]]
    for run in ("before", "after"):
        rows.append([run, *(figure(float(values.sel(run=run, town=town))) for town in towns)])
    change = values.sel(run="after") - values.sel(run="before")
    return [*rows, ["change", *(figure(float(change.sel(town=town)), signed=True)
                                for town in towns)]]


def _contributions(values: xr.DataArray, changes: list[str]) -> list[list[str]]:
    """What each change adds, from values as they are shown."""
    towns = [str(town) for town in values["town"].values]
    rows = [["", *(place_words(town) for town in towns)]]
    for change in changes:
        rows.append([change, *(figure(float(values.sel(change=change, town=town)), signed=True)
                               for town in towns)])
    total = values.sum("change", skipna=False)
    return [*rows, ["together", *(figure(float(total.sel(town=town)), signed=True)
                                  for town in towns)]]


def _sentence(table: xr.Dataset, parts: xr.Dataset, town: str, system: System) -> str:
    """What became of a town's used share, and the changes that did most of it."""
    share = table["season_used_share"].sel(town=town)
    before, after = (100.0 * float(share.sel(run=run)) for run in ("before", "after"))
    if math.isnan(before) or math.isnan(after):
        run, value = ("after", after) if math.isnan(before) else ("before", before)
        if math.isnan(value):
            return f"{place_words(town)}: no water reaches its homes."
        return f"{place_words(town)}: only in the run {run}, with {value:.3g} % of its tap water " \
               "used before."
    words = f"{place_words(town)}: {before:.3g} % of its tap water was used before"
    if abs(after - before) < 5e-4:
        return f"{words}, with and without the changes{_short(table, parts, town, system)}."
    because = _because(100.0 * parts["season_used_share"].sel(town=town), 1e-4)
    return f"{words}, {after:.3g} % with the changes{because}{_short(table, parts, town, system)}."


def _because(pieces: xr.DataArray, least: float) -> str:
    """The three changes that did most of it and the rest, in brackets; nothing where none did."""
    parts = {str(c): float(pieces.sel(change=c)) for c in pieces["change"].values}
    order = [c for c in sorted(parts, key=lambda change: -abs(parts[change]))
             if abs(parts[c]) > least]
    first, rest = (order, []) if len(order) <= _NAMED + 1 else (order[:_NAMED], order[_NAMED:])
    told = [f"{figure(parts[c], signed=True)} by {c}" for c in first]
    if rest:
        left = figure(sum(parts[c] for c in rest), signed=True)
        told.append(f"{left} by {number_of(len(rest), 'other change')}")
    return f" ({joined(told)})" if told else ""


def _short(table: xr.Dataset, parts: xr.Dataset, town: str, system: System) -> str:
    if "unmet" not in table:
        return ""
    values = table["unmet"].sel(town=town)
    factor, unit = SHORT.shown(values, system)
    before, after = (factor * float(values.sel(run=run)) for run in ("before", "after"))
    if max(before, after) <= 0.0:
        return ""
    because = _because(factor * parts["unmet"].sel(town=town), 1e-4 * max(before, after))
    if not because and figure(before) == figure(after):
        return f"; over the season it is short of {figure(after)} {unit} in both"
    return (f"; over the season it is short of {figure(after)} instead of {figure(before)} {unit}"
            f"{because}")
