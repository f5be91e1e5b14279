"""What a town's works are built for: its own people, as they stand in the scenario's file."""

from __future__ import annotations

import math
from collections.abc import Mapping

from hydroloop.scenario.schema import ScenarioFile
from hydroloop.scenario.schema_town import PEOPLE_PER_KM2, Town
from hydroloop.scenario.tree import Path

DEMAND, SEWAGE, AREA = ("built_for", "demand"), ("built_for", "sewage"), ("land", "area")
DIMENSION = {DEMAND: "flow", SEWAGE: "flow", AREA: "area"}
SIZING = (
    ".people",
    ".homes.use_per_person",
    ".homes.consumed",
    ".homes.septic",
    ".workplaces.use_per_person",
    ".workplaces.consumed",
    ".yards.area_per_person",
    ".yards.efficiency",
    ".mains.real_losses",
    ".sewers.infiltration",
)
"""Ends of the keys of a town that its works are sized by."""
# Water yards use on average over a year, for sizing only: 1.5 mm a day (common practice).
_YARD_DEPTH_FOR_SIZING = 0.0015

Works = Mapping[Path, float]
"""What the works of towns are built for, by path: demand and sewage [m3/d], area [km2]."""


def own_works(town: Town) -> dict[tuple[str, str], float]:
    """What works for a town's present people would be built for."""
    yards = town.yards.area_per_person * _YARD_DEPTH_FOR_SIZING / town.yards.efficiency
    used = town.homes.use_per_person + town.workplaces.use_per_person + yards
    homes = town.homes.use_per_person * (1.0 - town.homes.consumed) * (1.0 - town.homes.septic)
    work = town.workplaces.use_per_person * (1.0 - town.workplaces.consumed)
    return {
        DEMAND: town.people * used / (1.0 - town.mains.real_losses),
        SEWAGE: town.people * (homes + work + town.sewers.infiltration),
        AREA: town.people / PEOPLE_PER_KM2,
    }


def works_of(town: Town) -> dict[tuple[str, str], float]:
    """What a town's works are built for: as given or held, else for its present people."""
    known = {DEMAND: town.built_for.demand, SEWAGE: town.built_for.sewage, AREA: town.land.area}
    own = own_works(town)
    return {key: own[key] if value is None else value for key, value in known.items()}


def works(model: ScenarioFile) -> dict[Path, float]:
    """The same for all towns, by path."""
    return {
        ("town", name, *key): value
        for name, town in model.town.items()
        for key, value in works_of(town).items()
    }


def holding(model: ScenarioFile, before: Works) -> ScenarioFile:
    """A model whose works are those of before (held at, by path), where they are not given."""
    towns = {
        name: _held(
            town,
            {key: before[path] for key in DIMENSION if (path := ("town", name, *key)) in before},
        )
        for name, town in model.town.items()
    }
    if all(towns[name] is model.town[name] for name in towns):
        return model
    return model.model_copy(update={"town": towns})


def _held(town: Town, before: Mapping[tuple[str, str], float]) -> Town:
    own, now = (
        own_works(town),
        {DEMAND: town.built_for.demand, SEWAGE: town.built_for.sewage, AREA: town.land.area},
    )
    held = {
        key: value
        for key, value in before.items()
        if now[key] is None and not math.isclose(value, own[key], rel_tol=1e-12)
    }
    if not held:
        return town
    tables = {
        table: getattr(town, table).model_copy(
            update={key[1]: value for key, value in held.items() if key[0] == table}
        )
        for table in {key[0] for key in held}
    }
    return town.model_copy(update=tables)
