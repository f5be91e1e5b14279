"""Bands instead of numbers, and grids of runs, as tables and words."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.charts.words import place_words
from hydroloop.outputs.table import as_lines, known
from hydroloop.outputs.wording import wrap
from hydroloop.whatif import bands, rank_correlations

# Measures that are told: name, words, factor to what is shown, unit.
TOLD = (
    ("season_used_share", "used share f, season", 100.0, "%"),
    ("season_mean_uses", "mean uses m, season", 1.0, ""),
    ("reliability", "reliability", 100.0, "%"),
    ("days_under_minimum_flow", "river under its minimum", 1.0, "days"),
)
_WEAK = 0.1  # a rank correlation below this is chance with some hundred members


def spread_lines(title: str, table: xr.Dataset) -> list[str]:
    """Bands of every town's measures, and the inputs they hang on most.

    Parameters
    ----------
    title : str
        Of the scenario.
    table : xarray.Dataset
        From `hydroloop.whatif.spread`.

    Returns
    -------
    list of str
        Lines of text.
    """
    found, hangs = bands(table), _correlations(table)
    lines = [title, f"{table.sizes['member']} members drawn from the ranges of the inputs", ""]
    for town in map(str, table["town"].values):
        lines += wrap(_sentence(found, hangs, town), "  ")
    for name, words, factor, unit in TOLD:
        if name in found:
            lines += ["", words[0].upper() + words[1:] + (f" [{unit}]" if unit else "")]
            lines += as_lines(_rows(found[name], factor))
    return [*lines, "", *wrap(
        "Half of the members lie between 25 and 75 %, nine tenths between 5 and 95 %. A band shows "
        "what the ranges given do, not what the model leaves out.", "  ")]


def spread_facts(table: xr.Dataset) -> dict[str, Any]:
    """The same as plain values for a script, shares from 0 to 1.

    Parameters
    ----------
    table : xarray.Dataset
        From `hydroloop.whatif.spread`.

    Returns
    -------
    dict
        Bands by town and measure, and rank correlations with the inputs drawn.
    """
    found, hangs = bands(table), _correlations(table)
    towns: dict[str, Any] = {}
    for town in map(str, table["town"].values):
        towns[town] = {
            name: {"levels": {f"{level:g}": known(value) for level, value in zip(
                found["level"].values, found[name].sel(town=town).values, strict=True)},
                "rank_correlation": {} if hangs is None or name not in hangs else {
                    str(key): known(hangs[name].sel(key=key, town=town))
                    for key in hangs["key"].values}}
            for name, *_ in TOLD if name in found}
    return {"members": int(table.sizes["member"]), "towns": towns}


def sweep_lines(title: str, grid: xr.Dataset, keys: list[str]) -> list[str]:
    """Used share and reliability over a grid, a row for each point.

    Parameters
    ----------
    title : str
        Of the scenario.
    grid : xarray.Dataset
        From `hydroloop.whatif.sweep`.
    keys : list of str
        Keys that were varied.

    Returns
    -------
    list of str
        Lines of text.
    """
    towns = [str(town) for town in grid["town"].values]
    lines = [title, f"{math.prod(grid.sizes[key] for key in keys)} runs over {', '.join(keys)}"]
    for name, words, factor, unit in TOLD:
        if name not in grid:
            continue
        lines += ["", words[0].upper() + words[1:] + (f" [{unit}]" if unit else "")]
        rows = [[*keys, *(place_words(town) for town in towns)]]
        stacked = grid[name].stack(point=keys).transpose("point", "town")
        for point, values in zip(stacked["point"].values, stacked.values, strict=True):
            told = point if isinstance(point, tuple) else (point,)
            rows.append([*(_key(one) for one in told), *(_figure(factor * v) for v in values)])
        lines += as_lines(rows)
    return lines


def sweep_records(grid: xr.Dataset, keys: list[str]) -> list[dict[str, Any]]:
    """The grid as a list of points for a script, shares from 0 to 1.

    Parameters
    ----------
    grid : xarray.Dataset
        From `hydroloop.whatif.sweep`.
    keys : list of str
        Keys that were varied.

    Returns
    -------
    list of dict
        For each point and town the values of the keys and of the measures.
    """
    names = [name for name, *_ in TOLD if name in grid]
    frame = grid[names].to_dataframe().reset_index()
    return [{str(name): known(value) if isinstance(value, float | np.floating) else _key(value)
             for name, value in row.items()}
            for row in frame[[*keys, "town", *names]].to_dict("records")]


def _correlations(table: xr.Dataset) -> xr.Dataset | None:
    return rank_correlations(table) if table.sizes.get("key", 0) else None


def _sentence(found: xr.Dataset, hangs: xr.Dataset | None, town: str) -> str:
    share = 100.0 * found["season_used_share"].sel(town=town)
    low, middle, high = (float(share.sel(level=level)) for level in (0.05, 0.5, 0.95))
    words = f"{place_words(town)}: {middle:.3g} % of its tap water was used before"
    if high - low < 1e-3:
        return f"{words}, whatever was drawn."
    words += f", most likely between {low:.3g} and {high:.3g} %"
    if hangs is None:
        return words + "."
    sizes = hangs["season_used_share"].sel(town=town).fillna(0.0)
    first = max(map(str, sizes["key"].values), key=lambda key: abs(float(sizes.sel(key=key))))
    strength = float(sizes.sel(key=first))
    if abs(strength) < _WEAK:
        return words + "."
    more = "more" if strength > 0 else "less"
    return f"{words}. It hangs most on {first}: where that is higher, {more} was used before " \
           f"(rank correlation {strength:+.2f})."


def _rows(values: xr.DataArray, factor: float) -> list[list[str]]:
    towns = [str(town) for town in values["town"].values]
    rows = [["", *(place_words(town) for town in towns)]]
    for level in values["level"].values:
        name = "median" if level == 0.5 else f"{100 * level:g} %"
        rows.append([name, *(_figure(factor * float(values.sel(level=level, town=town)))
                             for town in towns)])
    return rows


def _figure(value: float) -> str:
    return f"{value:.3g}" if math.isfinite(value) else "-"


def _key(value: Any) -> str:
    return f"{value:.6g}" if isinstance(value, float | np.floating) else str(value)
