"""Keys of a grid of runs, as they are shown."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.charts.varied import FACTOR, Varied
from hydroloop.charts.words import key_words
from hydroloop.outputs.scenario.inputs import value_at
from hydroloop.scenario import Scenario
from hydroloop.scenario.tree import find
from hydroloop.units import display_unit
from hydroloop.units.printing import System


def varied(grid: xr.Dataset, key: str, system: System,
           scenario: Scenario | None = None) -> Varied:
    """A key of a grid as it is shown: its words, its unit, its values in that unit."""
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
