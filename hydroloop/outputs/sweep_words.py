"""Grids of runs, as tables and words."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.charts.varied import FACTOR, Varied
from hydroloop.charts.words import key_words, place_words
from hydroloop.outputs.held import held_over
from hydroloop.outputs.inputs import value_at
from hydroloop.outputs.place import season_words
from hydroloop.outputs.season_measures import (
    EVERY,
    figure,
    folded,
    stage_lines,
    still,
    told_in,
    with_unmet,
)
from hydroloop.outputs.table import Column, Table, as_lines, known
from hydroloop.scenario import Scenario
from hydroloop.scenario.tree import find
from hydroloop.units import display_unit
from hydroloop.units.printing import System


def varied(grid: xr.Dataset, key: str, system: System,
           scenario: Scenario | None = None) -> Varied:
    """A key of a grid as it is shown: its words, its unit, its values in that unit.

    Parameters
    ----------
    grid : xarray.Dataset
        From `hydroloop.whatif.sweep`.
    key : str
        One of its keys.
    system : str
        ``"us"`` or ``"metric"``.
    scenario : Scenario, optional
        What was varied, for the key's value in it.

    Returns
    -------
    Varied
        Values in the order of the grid.
    """
    along = grid[key]
    if along.dtype.kind not in "fiu":
        return Varied(key_words(key), "", tuple(map(str, along.values)))
    values = along.values.astype(float)
    if str(along.attrs.get("long_name")).startswith("factor of"):
        return Varied(key_words(key), FACTOR, tuple(values), 1.0)
    now = None if scenario is None else value_at(scenario, key)
    here = find(key.replace("*", "any").split("."))
    if here is None or not here.dimension:
        return Varied(key_words(key), "", tuple(values), now)
    unit = display_unit(here.dimension, system, largest=float(np.abs(values).max(initial=0.0)))
    return Varied(key_words(key), unit.name, tuple(values * unit.factor + unit.offset),
                  None if now is None else now * unit.factor + unit.offset)


def sweep_lines(scenario: Scenario, grid: xr.Dataset, keys: list[str],
                system: System = "us") -> list[str]:
    """Each measure over a grid, a row for each point.

    Parameters
    ----------
    scenario : Scenario
        What was varied.
    grid : xarray.Dataset
        From `hydroloop.whatif.sweep`.
    keys : list of str
        Keys that were varied.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    list of str
        Lines of text.
    """
    grid = with_unmet(grid)
    points = math.prod(grid.sizes[key] for key in keys)
    lines = [scenario.title, season_words(scenario.season),
             f"{points} runs over {', '.join(keys)}", *held_over(keys)]
    along = [varied(grid, key, system) for key in keys]
    heads = [one.heading(key, one.unit) for key, one in zip(keys, along, strict=True)]

    def rows(values: xr.DataArray) -> list[list[str]]:
        columns = [str(town) for town in values["town"].values]
        every = values.transpose(*keys, "town").values.reshape(points, len(columns))
        return [[*heads, *map(place_words, columns)], *(
            [*(one.text(place) for one, place in zip(along, at, strict=True)), *map(figure, row)]
            for at, row in zip(np.ndindex(*(grid.sizes[key] for key in keys)), every, strict=True))]

    found = []
    for told in told_in(grid):
        factor, unit = told.shown(grid[told.name], system)
        found.append((still(told, grid[told.name].values, system),
                      [told.heading(unit), *as_lines(rows(factor * grid[told.name]))]))
    return [*lines, *folded(found), *stage_lines(grid.drop_dims("town"), rows)]


def sweep_records(grid: xr.Dataset, keys: list[str]) -> list[dict[str, Any]]:
    """The grid in inner units as a list of points for a script, shares from 0 to 1.

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
    grid = with_unmet(grid)
    names = [told.name for told in EVERY if told.name in grid]
    frame = grid[names].to_dataframe().reset_index()
    return [{str(name): known(value) if isinstance(value, float | np.floating) else str(value)
             for name, value in row.items()}
            for row in frame[[*keys, "town", *names]].to_dict("records")]


def grid_table(grid: xr.Dataset, keys: list[str], system: System) -> Table:
    """The grid as a table: a row for each point and town, in the units asked for.

    Parameters
    ----------
    grid : xarray.Dataset
        From `hydroloop.whatif.sweep`.
    keys : list of str
        Keys that were varied.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    Table
        Ready to be written.
    """
    grid = with_unmet(grid)
    sizes = [grid.sizes[key] for key in keys]
    places = list(np.ndindex(*sizes))
    towns = [str(town) for town in grid["town"].values]
    columns = []
    for k, key in enumerate(keys):
        one = varied(grid, key, system)
        head = one.heading(key, one.unit)
        columns.append(Column(head, [one.values[at[k]] for at in places for _ in towns]))
    columns.append(Column("town", towns * len(places)))
    for told in EVERY:
        if told.name in grid:
            values = grid[told.name].transpose(*keys, "town").values.ravel()
            columns.append(told.column(values))
    return Table("grid", "Season measures over the grid", columns)
