"""Basins of a plant: how many, and how large, as given or as the time of a step asks for."""

from __future__ import annotations

import math

from hydroloop.scenario.schema_supply import Plant
from hydroloop.scenario.schema_town import Wastewater
from hydroloop.scenario.schema_units import LARGEST_UNIT, LEAST_COUNT, Basin

_FOOT = 0.3048
_USUAL_DEPTH_M = 12 * _FOOT
_FILTER_DEPTH_M = 8 * _FOOT
SPARE = ("flocculation", "sedimentation", "filters")
"""Steps that keep their time with one unit out, where the scenario gives no volumes: filters by 35
Ill. Adm. Code 604.605(d)(2), the basins before them by common practice."""


def given_volume(basin: Basin) -> float | None:
    """Volume of all units of a step [m3], where the scenario gives it or number and sizes of its
    basins."""
    if basin.count is None:
        return None
    if basin.volume is not None:
        return basin.count * basin.volume
    area = given_area(basin)
    return None if area is None else basin.count * area * (basin.depth or usual_depth(basin))


def basin_volume(basin: Basin, otherwise: float) -> float:
    """Volume of all units of a step [m3]: as given, else `otherwise`, which is from the time of the
    step."""
    given = given_volume(basin)
    return otherwise if given is None else given


def step_volume(works: Plant | Wastewater, step: str, flow: float) -> float:
    """Volume of all units of a step of a plant [m3]: as its basins are given, or as its residence
    time asks for, before the clearwell with one unit to spare. The account and the report both go
    by it."""
    basin, needed = getattr(works.basins, step), getattr(works, step) * flow
    count = unit_count(step, basin, needed)
    return basin_volume(basin, needed * count / units_at_work(step, count))


def unit_count(step: str, basin: Basin, needed: float) -> int:
    """Number of units, given or as the volume needed asks for, with one to spare."""
    spare = 1 if step in SPARE else 0
    return basin.count or max(LEAST_COUNT, math.ceil(needed / LARGEST_UNIT[step]) + spare)


def units_at_work(step: str, count: int) -> int:
    """Units that a step's sizes are worked out for: all, or all but one."""
    return max(1, count - 1) if step in SPARE else count


def given_area(basin: Basin) -> float | None:
    if basin.diameter is not None:
        return math.pi * basin.diameter * basin.diameter / 4.0
    if basin.length is not None and basin.width is not None:
        return basin.length * basin.width
    return None


def usual_depth(basin: Basin) -> float:
    return _FILTER_DEPTH_M if hasattr(basin, "media") else _USUAL_DEPTH_M
