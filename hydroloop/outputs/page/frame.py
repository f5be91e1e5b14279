"""What is the same at every setting of the dials: places, words, units, dials and cautions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import xarray as xr

from hydroloop import __version__
from hydroloop.charts.because_words import CAME, LAST
from hydroloop.charts.colours import (
    AIR,
    EFFLUENT,
    GROUND,
    RECLAIMED,
    RIVER,
    SEWAGE,
    STORM,
    TAP,
    UNKNOWN,
    USES,
    ink_on,
    shade,
)
from hydroloop.charts.river_map import laid_out
from hydroloop.charts.words import place_words, use_words
from hydroloop.gates import USES as GATES
from hydroloop.measures import find_towns
from hydroloop.outputs.document.cautions import LONG
from hydroloop.outputs.page.dials import Dial, plan_head
from hydroloop.outputs.page.walks import maps_of
from hydroloop.placenames import names_of, possessive
from hydroloop.scenario import Scenario
from hydroloop.units import display_unit
from hydroloop.units.printing import System

MOST_USES = 5
"""Highest use class of the glass."""
_SYSTEMS: tuple[System, ...] = ("us", "metric")
_SOURCES = (
    "Use shares, times and the account: the equations of hydroloop, explained in its documentation "
    "(Explanation: the daily balance; the operator).",
    "Reliability: Hashimoto, Stedinger and Loucks 1982, Water Resources Research 18:14.",
    "Turnover time: Bolin and Rodhe 1973, Tellus 25.",
    "Defaults of a scenario: each has its source in the reference, and hydroloop explain KEY tells "
    "it.",
)


def frame(
    scenario: Scenario, record: xr.Dataset, dials: Sequence[Dial], system: System = "us"
) -> dict[str, Any]:
    """What the page shows around a run of the scenario with all dials at their first position."""
    found = {town.name: town for town in find_towns(record)}
    return {
        "version": __version__,
        "title": scenario.title,
        "about": " ".join(scenario.about.split()),
        "season": [str(scenario.season.start), str(scenario.season.end)],
        "gate": scenario.season.count_as,
        "gates": {name: use._asdict() for name, use in GATES.items()},
        "ways": CAME,
        "last": LAST,
        "classes": [use_words(times, MOST_USES) for times in range(MOST_USES + 1)],
        "towns": [
            {
                "name": name,
                "label": place_words(name, scenario.names),
                "whose": possessive(place_words(name, scenario.names)),
                "intake": found[name].water_source,
                "outfall": found[name].outlet,
            }
            for name, town in scenario.town.items()
        ],
        "river": _river(record),
        "dials": [
            {
                "name": dial.name,
                "label": dial.label,
                "about": dial.about,
                "positions": [{"label": one.label, "steps": one.steps} for one in dial.positions],
            }
            for dial in dials
        ],
        "plan_head": plan_head(f"{scenario.title}: a setting of the page"),
        "units": {one: _units(one) for one in _SYSTEMS},
        "system": system,
        "colours": _colours(),
        "cautions": list(LONG),
        "sources": list(_SOURCES),
    }


def _river(record: xr.Dataset) -> list[dict[str, Any]]:
    """Stores of the rivers from the head down, with their row and place on the map."""
    drawn = laid_out(record, xr.Dataset())
    found, charts = [], maps_of(record)
    for row, chain in enumerate([drawn.stem, *drawn.branches]):
        for place, store in enumerate(chain):
            step = drawn.x[chain[1]] - drawn.x[chain[0]] if len(chain) > 1 else drawn.step
            here = record.sel(store=store)
            found.append(
                {
                    "store": store,
                    "row": row,
                    "x": round(drawn.x[store], 4),
                    "wide": round(step, 4),
                    "river": place_words(str(here["place"].values), names_of(record)),
                    "label": dict(zip(_SYSTEMS, (one.label(store) for one in charts), strict=True)),
                    "role": str(here["role"].values),
                    "is_last": place == len(chain) - 1,
                }
            )
    return found


def _units(system: System) -> dict[str, list[dict[str, Any]]]:
    """Units of each dimension that the page shows, for small and for large numbers."""
    found = {}
    for dimension in ("flow", "river_flow", "volume"):
        steps: dict[str, dict[str, Any]] = {}
        for tenth in range(-30, 100):
            size = 10.0 ** (tenth / 10)
            unit = display_unit(dimension, system, largest=size)
            steps.setdefault(unit.name, {"name": unit.name, "factor": unit.factor, "from": size})
        found[dimension] = list(steps.values())
    return found


def _colours() -> dict[str, Any]:
    waters = {
        "river": RIVER,
        "tap": TAP,
        "sewage": SEWAGE,
        "effluent": EFFLUENT,
        "reclaimed": RECLAIMED,
        "air": AIR,
        "ground": GROUND,
        "storm": STORM,
    }
    return {
        "uses": list(USES),
        "ink": [ink_on(one) for one in USES],
        "unknown": UNKNOWN,
        "waters": waters,
        "shades": [shade(k / 40) for k in range(41)],
    }
