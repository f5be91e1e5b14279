"""Two runs side by side in sentences: what became of a town, and what did most of it."""

from __future__ import annotations

import math

import xarray as xr

from hydroloop.charts.words import joined, place_words
from hydroloop.outputs.document.wording import figure, number_of
from hydroloop.outputs.whatif.season_measures import SHORT
from hydroloop.units.printing import System

_NAMED = 3  # changes that a sentence names, where there are many


def town_sentence(table: xr.Dataset, parts: xr.Dataset, town: str, system: System) -> str:
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
