"""Bands instead of numbers, as tables and words."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop.charts.words import key_words, place_words
from hydroloop.outputs.held import held_over
from hydroloop.outputs.place import season_words
from hydroloop.outputs.season_measures import (
    EVERY,
    USED,
    Told,
    amount,
    figure,
    folded,
    stage_lines,
    still,
    told_in,
    varies,
    with_unmet,
)
from hydroloop.outputs.table import as_lines, known
from hydroloop.outputs.wording import wrap
from hydroloop.scenario import Scenario
from hydroloop.units.printing import System
from hydroloop.whatif import bands, rank_correlations

FEWEST, FOR_BANDS = 3, 20
"""With fewer runs there are no correlations, and no bands."""
NO_MORE = "A band shows what the ranges given do, not what the model leaves out."


def spread_lines(scenario: Scenario, table: xr.Dataset, system: System = "us") -> list[str]:
    """Bands of every town's measures, and the inputs they hang on most.

    Parameters
    ----------
    scenario : Scenario
        What was run.
    table : xarray.Dataset
        From `hydroloop.whatif.spread`.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    list of str
        Lines of text.
    """
    found, hangs = bands(with_unmet(table)), correlations(table)
    drawn = "drawn from the ranges of the inputs" if table.sizes.get("key", 0) else (
        "without a range among the inputs: only generated weather, or years by lot, can differ")
    lines = [scenario.title, season_words(scenario.season),
             f"{table.sizes['member']} members {drawn}", *held_over(scenario.ranges), ""]
    for town in map(str, table["town"].values):
        lines += wrap(used_sentence(table, town), "  ")
        lines += wrap(f"  {words}", "  ") if (words := hangs_sentence(table, town, hangs)) else []
    whole, shown = with_unmet(table), []
    for told in told_in(whole):
        factor, unit = told.shown(found[told.name], system)
        shown.append((still(told, whole[told.name].values, system),
                      [told.heading(unit), *as_lines(_rows(found[told.name], factor))]))
    stages = stage_lines(found.drop_dims("town"), lambda days: _rows(days, 1.0))
    return [*lines, *folded(shown), *stages, "", *wrap(
        f"{bands_sentence(table.sizes['member'])} {NO_MORE}", "  ")]


def spread_facts(table: xr.Dataset) -> dict[str, Any]:
    """The same as plain values in inner units for a script, shares from 0 to 1.

    Parameters
    ----------
    table : xarray.Dataset
        From `hydroloop.whatif.spread`.

    Returns
    -------
    dict
        Bands by town and measure, and rank correlations with the inputs drawn.
    """
    found, hangs = bands(with_unmet(table)), correlations(table)
    towns: dict[str, Any] = {}
    for town in map(str, table["town"].values):
        towns[town] = {
            name: {"levels": {f"{level:g}": known(value) for level, value in zip(
                found["level"].values, found[name].sel(town=town).values, strict=True)},
                "rank_correlation": {} if hangs is None or name not in hangs else {
                    str(key): known(hangs[name].sel(key=key, town=town))
                    for key in hangs["key"].values}}
            for name, *_ in EVERY if name in found}
    return {"members": int(table.sizes["member"]), **_stage_facts(found), "towns": towns}


def _stage_facts(found: xr.Dataset) -> dict[str, Any]:
    if "days_in_stage" not in found:
        return {}
    days = found["days_in_stage"]
    return {"days_in_stage": {str(stage): {f"{level:g}": known(days.sel(stage=stage, level=level))
                                           for level in days["level"].values}
                              for stage in days["stage"].values}}


def correlations(table: xr.Dataset) -> xr.Dataset | None:
    """Rank correlations with the keys drawn; None where none was, or members are too few."""
    if not table.sizes.get("key", 0) or table.sizes["member"] < FEWEST:
        return None
    return rank_correlations(with_unmet(table))


def strongest(table: xr.Dataset, hangs: xr.Dataset | None, told: Told,
              town: str) -> list[tuple[str, float]]:
    """The keys that a town's measure hangs on, the strongest first; what is chance is left out.

    Parameters
    ----------
    table : xarray.Dataset
        From `hydroloop.whatif.spread`.
    hangs : xarray.Dataset or None
        From `correlations`.
    told : Told
        The measure.
    town : str
        The town.

    Returns
    -------
    list of (str, float)
        Key and rank correlation [-].
    """
    if hangs is None or told.name not in hangs:
        return []
    sizes = {str(key): float(hangs[told.name].sel(key=key, town=town))
             for key in hangs["key"].values}
    least = 2.0 / np.sqrt(table.sizes["member"])
    return sorted(((key, size) for key, size in sizes.items() if abs(size) >= least),
                  key=lambda pair: -abs(pair[1]))


def used_sentence(table: xr.Dataset, town: str) -> str:
    """The band of a town's used share in words."""
    share = 100.0 * bands(table[[USED.name]])[USED.name].sel(town=town)
    low, middle, high = (float(share.sel(level=level)) for level in (0.05, 0.5, 0.95))
    words = f"{place_words(town)}: {amount(middle, '%')} of its tap water was used before"
    values = 100.0 * table[USED.name].sel(town=town).values
    if not varies(values):
        return f"{words}, whatever was drawn."
    ends = f"between {figure(float(values.min()))} and {amount(float(values.max()), '%')}"
    if len(values) < FOR_BANDS:
        return f"{words}; {ends} in {len(values)} members."
    if figure(low) == figure(high):
        return f"{words} in nine runs of ten; {ends} in all."
    return (f"{words} in the middle run; nine runs in ten lie between {figure(low)} and "
            f"{amount(high, '%')}.")


def bands_sentence(members: int) -> str:
    """What bands are of, or why they are none."""
    if members < FOR_BANDS:
        return (f"{members} members are too few for bands: draw {FOR_BANDS} or more to tell where "
                "nine tenths lie.")
    return "Half of the members lie between 25 and 75 %, nine tenths between 5 and 95 %."


def hangs_sentence(table: xr.Dataset, town: str, hangs: xr.Dataset | None, *,
                   plain: bool = False) -> str:
    """What a town's used share hangs on most; empty where nothing stands out from chance."""
    found = strongest(table, hangs, USED, town)
    if not found or not varies(table[USED.name].sel(town=town).values):
        return ""
    key, strength = found[0]
    more = "more" if strength > 0 else "less"
    return (f"It depends most on {key_words(key) if plain else key}: where that is higher, {more} "
            f"was used before (rank correlation {strength:+.2f}).")


def _rows(values: xr.DataArray, factor: float) -> list[list[str]]:
    towns = [str(town) for town in values["town"].values]
    rows = [["", *(place_words(town) for town in towns)]]
    for level in values["level"].values:
        name = "median" if level == 0.5 else f"{100 * level:g} %"
        rows.append([name, *(figure(factor * float(values.sel(level=level, town=town)))
                             for town in towns)])
    return rows
