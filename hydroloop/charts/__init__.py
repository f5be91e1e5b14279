"""Charts: pictures drawn from measures, each with its caption in words.

They are loaded when first used: words and colours serve answers that draw nothing.
"""

from __future__ import annotations

import importlib
import sys
from types import ModuleType
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:  # the same names for editors and type checkers
    from hydroloop.charts.bands import bands
    from hydroloop.charts.because import because
    from hydroloop.charts.capacity import capacity
    from hydroloop.charts.capacity_years import capacity_years
    from hydroloop.charts.contributions import contributions
    from hydroloop.charts.drought import drought
    from hydroloop.charts.glass import glass, glass_pair
    from hydroloop.charts.heat_map import heat_map
    from hydroloop.charts.lines import lines
    from hydroloop.charts.loop import loop
    from hydroloop.charts.parcel import parcel
    from hydroloop.charts.picture import Picture
    from hydroloop.charts.river_map import river_map
    from hydroloop.charts.saving import save
    from hydroloop.charts.season import season
    from hydroloop.charts.week import week

_HOME = {
    "Picture": "picture",
    "bands": "bands",
    "because": "because",
    "capacity": "capacity",
    "capacity_years": "capacity_years",
    "contributions": "contributions",
    "drought": "drought",
    "glass": "glass",
    "glass_pair": "glass",
    "heat_map": "heat_map",
    "lines": "lines",
    "loop": "loop",
    "parcel": "parcel",
    "river_map": "river_map",
    "save": "saving",
    "season": "season",
    "week": "week",
}

__all__ = [
    "Picture",
    "bands",
    "because",
    "capacity",
    "capacity_years",
    "contributions",
    "drought",
    "glass",
    "glass_pair",
    "heat_map",
    "lines",
    "loop",
    "parcel",
    "river_map",
    "save",
    "season",
    "week",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'hydroloop.charts' has no attribute {name!r}")
    value = getattr(importlib.import_module(f"hydroloop.charts.{_HOME[name]}"), name)
    globals()[name] = value
    return value


class _Front(ModuleType):
    """The package as its users see it: `charts.glass` is the function, not the module of its name,
    whichever was imported first."""

    def __setattr__(self, name: str, value: Any) -> None:
        if not (name in _HOME and isinstance(value, ModuleType)):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Front
