"""Grids of runs as pictures."""

from __future__ import annotations

from typing import Any

import numpy as np
import xarray as xr

from hydroloop import charts
from hydroloop.charts.heat_map import MOST_TOWNS as MAPS
from hydroloop.charts.lines import MOST_TOWNS as LINES
from hydroloop.charts.varied import FACTOR, Drawn, Varied
from hydroloop.charts.words import joined, place_words
from hydroloop.outputs.document.wording import amount, number_of, sentence, varies
from hydroloop.outputs.whatif.season_measures import (
    SHORT,
    USED,
    Told,
    told_in,
    with_unmet,
)
from hydroloop.outputs.whatif.sweep_words import varied
from hydroloop.placenames import Names, names_of
from hydroloop.scenario import Scenario
from hydroloop.units.printing import System

_TOLD_TOWNS = 3  # of more than these a caption would be no caption


def measures_drawn(grid: xr.Dataset, how_many: str) -> list[Told]:
    """Measures that are drawn; if neither of the first two changes, the first that does."""
    whole = with_unmet(grid)
    moving = [told for told in told_in(whole) if _moving(whole, told)]
    few = [told for told in moving if told in (USED, SHORT)] or moving[:1]
    return moving if how_many == "all" else few


def _moving(grid: xr.Dataset, told: Told) -> list[str]:
    """Towns whose measure changes over the grid, the most first."""
    values = {str(town): grid[told.name].sel(town=town).values for town in grid["town"].values}
    towns = [town for town, own in values.items() if varies(own)]
    return sorted(towns, key=lambda town: -np.ptp(values[town][np.isfinite(values[town])]))


def grid_picture(
    grid: xr.Dataset,
    keys: list[str],
    told: Told,
    system: System,
    *,
    scenario: Scenario | None = None,
) -> charts.Picture:
    """A measure over a grid: lines over one key, maps over two."""
    whole = with_unmet(grid)
    axes = [key for key in keys if grid.sizes[key] > 1]
    single = {key: 0 for key in keys if key not in axes}
    # The key with more values goes across, where there is more room.
    order = sorted(axes, key=lambda key: grid.sizes[key])
    values = whole[told.name].isel(single).transpose(*order, "town")
    factor, unit = told.shown(values.values, system)
    moving = _moving(whole, told)
    towns = _shown_towns(whole, told, moving, len(axes))
    along = [varied(grid, key, system, scenario) for key in order]
    fixed = [varied(grid, key, system) for key in single]
    drawn = Drawn(told.plain, unit)
    names = names_of(grid)
    caption = _caption(factor * values, along, fixed, drawn, moving, names)
    shown = factor * values.sel(town=towns).values
    called = [place_words(town, names) for town in towns]
    if len(along) == 1:
        return charts.lines(shown, called, along[0], drawn, caption=caption)
    return charts.heat_map(shown, called, along[0], along[1], drawn, caption=caption)


def _shown_towns(grid: xr.Dataset, told: Told, moving: list[str], keys: int) -> list[str]:
    """Towns in the order of the scenario: all as lines, as maps those that change most."""
    towns = [
        str(town)
        for town in grid["town"].values
        if np.isfinite(grid[told.name].sel(town=town).values).any()
    ]
    if keys == 1:
        still = [town for town in towns if town not in moving]
        chosen = [*moving, *still][:LINES]
    else:
        chosen = moving[:MAPS]
    return [town for town in towns if town in chosen]


def _caption(
    values: xr.DataArray,
    along: list[Varied],
    fixed: list[Varied],
    drawn: Drawn,
    moving: list[str],
    names: Names,
) -> str:
    """Lowest and highest of each town, and where; then the towns that do not move."""
    runs = int(np.prod([len(key.values) for key in along]))
    over = joined(
        [f"{key.words} ({key.unit})" if key.unit == FACTOR else key.words for key in along]
    )
    parts = [f"{sentence(drawn.words)}, in {number_of(runs, 'run')} over {over}."]
    for town in moving[:_TOLD_TOWNS]:
        own = values.sel(town=town)
        ends = [float(extreme(own.values)) for extreme in (np.nanmin, np.nanmax)]
        least, most = (amount(end, drawn.unit) for end in ends)
        if least == most:
            parts.append(f"{place_words(town, names)}: about {most} in every run.")
            continue
        low, high = (
            _at(own, np.isclose(own.values, end, rtol=1e-9, atol=0.0), along, drawn) for end in ends
        )
        parts.append(f"{place_words(town, names)}: lowest {low}; highest {high}.")
    others = [place_words(town, names) for town in moving[_TOLD_TOWNS:]]
    if others:
        parts.append(f"It changes less in {joined(others)}.")
    still = [
        (str(town), own)
        for town, own in zip(values["town"].values, np.moveaxis(values.values, -1, 0), strict=True)
        if np.isfinite(own).all() and not varies(own)
    ]
    if still:
        told = [
            f"{place_words(town, names)} ({amount(float(own.ravel()[0]), drawn.unit)})"
            for town, own in still
        ]
        parts.append(f"The same in every run: {joined(told)}.")
    if len(along) == 2 and all(key.place_now is not None for key in along):
        parts.append("The framed cell is the scenario as it is.")
    parts += [f"All with {key.told(0)}." for key in fixed]
    return " ".join([*parts, "All else stays as the scenario has it."])


def _at(own: xr.DataArray, there: np.ndarray, along: list[Varied], drawn: Drawn) -> str:
    """A value of a town, and where in the grid it is; in how many runs, if it is in several."""
    at: tuple[Any, ...] = tuple(int(place[0]) for place in np.nonzero(there))
    value = amount(float(own.values[at]), drawn.unit)
    if there.sum() > 1:
        return f"{value} in {int(there.sum())} of them"
    where = joined(
        [key.told(place, alone=len(along) == 1) for key, place in zip(along, at, strict=True)]
    )
    return f"{value} with {where}"
