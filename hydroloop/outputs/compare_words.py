"""Two runs side by side in words: what differs, what that did, and why."""

from __future__ import annotations

import math
from typing import Any

import xarray as xr

from hydroloop.charts.words import joined, place_words
from hydroloop.outputs.table import as_lines, known
from hydroloop.outputs.wording import number_of, wrap
from hydroloop.units import display_unit
from hydroloop.units.printing import System
from hydroloop.whatif import Comparison

# Measures that are shown: name, words, dimension. Shares are told in percent.
_SHOWN = (
    ("season_used_share", "used share f, season", "share"),
    ("season_mean_uses", "mean uses m, season", "number"),
    ("reliability", "reliability", "share"),
    ("unmet", "water short over the season", "volume"),
    ("mean_withdrawn", "withdrawn, mean", "flow"),
    ("mean_effluent", "effluent, mean", "flow"),
    ("days_under_minimum_flow", "river under its minimum", "days"),
)
_WHY = (("season_used_share", "used share", "share"), ("unmet", "water short", "volume"))


def compare_lines(found: Comparison, system: System) -> list[str]:
    """The comparison as lines of text: the answer first.

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
    table, parts = _with_unmet(found.table), _with_unmet(found.contributions)
    changes = [str(name) for name in parts["change"].values]
    lines = [found.before.title, "", f"What differs: {number_of(len(found.inputs), 'input')}"]
    lines += as_lines([["", "before", "after"], *(list(row) for row in found.inputs)])
    lines.append("")
    for town in map(str, table["town"].values):
        lines += wrap(_sentence(table, parts, town, system), "  ")
    for name, words, dimension in _SHOWN:
        if name in table:
            lines += ["", words[0].upper() + words[1:] + _unit(dimension, table[name], system)]
            lines += as_lines(_rows(table[name], dimension, system))
    for name, words, dimension in _WHY:
        lines += ["", f"Why: what each change adds to the {words}"
                  + _unit(dimension, parts[name], system)]
        lines += as_lines(_contributions(parts[name], changes, dimension, system))
    error = "" if found.error is None else " Orders were drawn by lot: the parts are estimates " \
        "that still add up."
    return [*lines, "", *wrap(
        "A change's part is its effect averaged over all orders in which the changes can be made; "
        f"the parts add up to the whole difference.{error}", "  ")]


def compare_facts(found: Comparison) -> dict[str, Any]:
    """The comparison as plain values, in inner units, for a script.

    Parameters
    ----------
    found : Comparison
        Two runs and the contributions of each change.

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
    table, parts = _with_unmet(found.table), _with_unmet(found.contributions)
    towns, changes = map(str, table["town"].values), [str(c) for c in parts["change"].values]
    names = [name for name, _, _ in _SHOWN if name in table]
    return {
        "title": found.before.title,
        "inputs": [{"key": key, "before": before, "after": after}
                   for key, before, after in found.inputs],
        "runs": found.runs, "exact": found.error is None,
        "towns": {town: {name: {
            "before": known(table[name].sel(town=town, run="before")),
            "after": known(table[name].sel(town=town, run="after")),
            "contributions": {change: known(parts[name].sel(town=town, change=change))
                              for change in changes},
        } for name in names} for town in towns},
    }  # fmt: skip


def _with_unmet(table: xr.Dataset) -> xr.Dataset:
    """All uses' shortage together, beside the rest."""
    if "unmet_total" not in table:
        return table
    return table.assign(unmet=table["unmet_total"].sum("purpose"))


def _scale(dimension: str, values: xr.DataArray, system: System) -> tuple[float, str]:
    """Factor to what is shown, and its unit."""
    if dimension == "share":
        return 100.0, "%"
    if dimension == "days":
        return 1.0, "days"
    if dimension == "number":
        return 1.0, ""
    largest = float(abs(values).max()) if values.size else 0.0
    unit = display_unit(dimension, system, largest=largest)
    return unit.factor, unit.name


def _unit(dimension: str, values: xr.DataArray, system: System) -> str:
    name = _scale(dimension, values, system)[1]
    return f" [{name}]" if name else ""


def _figure(value: float, *, signed: bool = False) -> str:
    if not math.isfinite(value):
        return "-"
    text = f"{value:+.3g}" if signed else f"{value:.3g}"
    return text if abs(value) > 1e-9 else "0"


def _rows(values: xr.DataArray, dimension: str, system: System) -> list[list[str]]:
    factor, _ = _scale(dimension, values, system)
    towns = [str(town) for town in values["town"].values]
    rows = [["", *(place_words(town) for town in towns)]]
    for run in ("before", "after"):
        rows.append([run, *(_figure(factor * float(values.sel(run=run, town=t))) for t in towns)])
    change = values.sel(run="after") - values.sel(run="before")
    rows.append(["change", *(_figure(factor * float(change.sel(town=t)), signed=True)
                             for t in towns)])
    return rows


def _contributions(values: xr.DataArray, changes: list[str], dimension: str,
                   system: System) -> list[list[str]]:
    factor, _ = _scale(dimension, values, system)
    towns = [str(town) for town in values["town"].values]
    rows = [["", *(place_words(town) for town in towns)]]
    for change in changes:
        rows.append([change, *(_figure(factor * float(values.sel(change=change, town=t)),
                                       signed=True) for t in towns)])
    total = values.sum("change")
    rows.append(["together", *(_figure(factor * float(total.sel(town=t)), signed=True)
                               for t in towns)])
    return rows


def _sentence(table: xr.Dataset, parts: xr.Dataset, town: str, system: System) -> str:
    """What became of a town's used share, and the changes that did most of it."""
    share = table["season_used_share"].sel(town=town)
    before, after = (100.0 * float(share.sel(run=run)) for run in ("before", "after"))
    words = f"{place_words(town)}: {before:.3g} % of its tap water was used before"
    if abs(after - before) < 5e-4:
        return f"{words}, with and without the changes{_short(table, town, system)}."
    pieces = parts["season_used_share"].sel(town=town)
    sizes = {str(c): abs(float(pieces.sel(change=c))) for c in pieces["change"].values}
    order = sorted(sizes, key=lambda change: -sizes[change])
    because = joined([f"{100.0 * float(pieces.sel(change=c)):+.2g} by {c}" for c in order[:3]
                      if sizes[c] > 1e-6])
    return f"{words}, {after:.3g} % with the changes ({because}){_short(table, town, system)}."


def _short(table: xr.Dataset, town: str, system: System) -> str:
    if "unmet" not in table:
        return ""
    values = table["unmet"].sel(town=town)
    factor, unit = _scale("volume", values, system)
    before, after = (factor * float(values.sel(run=run)) for run in ("before", "after"))
    if max(before, after) <= 0.0:
        return ""
    return f"; over the season it is short of {_figure(after)} instead of {_figure(before)} {unit}"
