"""A grid of runs in sentences, and its keys as they are shown."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import xarray as xr

from hydroloop.charts.varied import FACTOR, Varied
from hydroloop.charts.words import joined, key_words, percent, place_words
from hydroloop.outputs.document.wording import figure
from hydroloop.outputs.scenario.inputs import value_at
from hydroloop.outputs.whatif.season_measures import SHORT, USED, by_range, matters, two_shown
from hydroloop.placenames import names_of
from hydroloop.scenario import Scenario
from hydroloop.scenario.tree import find
from hydroloop.units import display_unit
from hydroloop.units.printing import System


def varied(grid: xr.Dataset, key: str, system: System, scenario: Scenario | None = None) -> Varied:
    """A key of a grid as it is shown: its words, its unit, its values in that unit."""
    along, words = grid[key], key_words(key, names_of(grid))
    if along.dtype.kind not in "fiu":
        return Varied(words, "", tuple(map(str, along.values)))
    values = along.values.astype(float)
    if str(along.attrs.get("long_name")).startswith("factor of"):
        return Varied(words, FACTOR, tuple(values), 1.0)
    now = None if scenario is None else value_at(scenario, key)
    here = find(key.replace("*", "any").split("."))
    if here is None or not here.dimension:
        return Varied(words, "", tuple(values), now)
    unit = display_unit(here.dimension, system, largest=float(np.abs(values).max(initial=0.0)))
    return Varied(
        words,
        unit.name,
        tuple(values * unit.factor + unit.offset),
        None if now is None else now * unit.factor + unit.offset,
    )


def over_words(along: Sequence[Varied]) -> str:
    """The keys that a grid goes over, with their values where they are few."""
    said = []
    for key in along:
        values = [key.text(place) for place in range(len(key.values))]
        unit = f" {key.unit}" if key.unit not in ("", "people", FACTOR) else ""
        times = "times " if key.unit == FACTOR else ""
        some = values if len(values) <= _MOST_VALUES else [values[0], "...", values[-1]]
        said.append(f"{key.words} {times}{', '.join(some)}{unit}")
    return "; ".join(said)


def told_words(
    grid: xr.Dataset, along: Sequence[Varied], system: System, *, has_table: bool
) -> list[str]:
    """The answer of a grid: lowest and highest of what differs by enough to matter, and where; with
    a table beside it not what stays."""
    keys = [str(dim) for dim in grid[USED.name].dims if dim != "town"]
    least, most = grid[USED.name].min(keys), grid[USED.name].max(keys)
    ends = {
        str(town): (float(least.sel(town=town)), float(most.sel(town=town)))
        for town in grid["town"].values
    }
    told, others, quiet = by_range(least, most)
    said, names = [], names_of(grid)
    for town in told:
        own = grid[USED.name].sel(town=town).transpose(*keys).values
        (low, high), (lower, higher) = ends[town], two_shown(*ends[town])
        said.append(
            f"{place_words(town, names)}: of its tap water {lower} was used before with "
            f"{_where(own, low, along)}, and {higher} with {_where(own, high, along)}."
        )
    less = [
        f"{place_words(town, names)} ({' to '.join(two_shown(*ends[town]))})" for town in others
    ]
    still = [f"{place_words(town, names)} ({percent(ends[town][1])})" for town in quiet]
    if less:
        said.append(f"The used share changes less in {joined(less)}.")
    if still and not (said and has_table):
        said.append(f"The used share hardly changes in {joined(still)}.")
    return [*said, *_short_words(grid, keys, along, system)]


def _short_words(
    grid: xr.Dataset, keys: Sequence[str], along: Sequence[Varied], system: System
) -> list[str]:
    """In how many runs towns lack water, and where most; the same in every run together."""
    said, always = list[str](), list[str]()
    for town in map(str, grid["town"].values) if SHORT.name in grid else ():
        own = grid[SHORT.name].sel(town=town).transpose(*keys).values
        if not (own > 0.0).any():
            continue
        high, some = float(np.nanmax(own)), int((own > 0.0).sum())
        factor, unit = SHORT.shown(own, system)
        name, amount = place_words(town, names_of(grid)), f"{figure(factor * high)} {unit}"
        if some == own.size and not matters(SHORT, float(np.nanmin(own)), high):
            always.append(f"{name} ({amount})")
        else:
            said.append(
                f"{name} runs short of water in {some} of {own.size} runs: at most it "
                f"lacks {amount}, with {_where(own, high, along)}."
            )
    return said + (
        [f"Short of water over the season in every run: {joined(always)}."] if always else []
    )


def _where(own: np.ndarray, value: float, along: Sequence[Varied]) -> str:
    """Where in the grid a town has a value: the first point that has it."""
    place = np.argwhere(np.isclose(own, value, rtol=1e-9, atol=0.0))[0]
    return joined(
        [key.told(int(at), alone=len(along) == 1) for key, at in zip(along, place, strict=True)]
    )


_MOST_VALUES = 8  # values of a key that are listed
