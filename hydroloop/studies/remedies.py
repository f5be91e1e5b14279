"""What a council could do for supply and wastewater, and the years that it buys."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

import numpy as np

from hydroloop.plants import Capacity, PlantDesign, PlantReport, capacities, deciding
from hydroloop.plants.capacity import RATED, STATED
from hydroloop.plants.growth import (
    Rates,
    Remedy,
    Uses,
    bought,
    sewage_by_year,
    supply_by_year,
)
from hydroloop.studies.design_check import DesignCheck, arriving_flows
from hydroloop.studies.wet_weather import WetWeather

CONTACT = ", chlorine contact"
"""Stands behind the step of which chlorine contact is the limit."""

# Home use with all fixtures efficient, over that of 2016 (DeOreo et al. 2016: 110 and 138 gal a
# household and day).
_EFFICIENT = 110.0 / 138.0
# Limits so near to the lowest are reached together, and only relieved together [-].
_TOGETHER = 1.01
_LARGER = 1.5
_LEAKS, _FIXTURES, _YARDS = (
    "repair half of the leaks",
    "efficient fixtures in all homes",
    "half as much yard watering",
)


def bought_supply(
    check: DesignCheck, rates: Rates, years: int, limits: Mapping[str, float]
) -> list[tuple[str, float]]:
    """Years that each remedy buys the water supply [a], the most first. Steps that reach their
    limit together are enlarged together: one of them alone buys nothing."""
    uses, water = check.uses, check.water

    def with_uses(words: str, changed: Uses) -> Remedy:
        return Remedy(words, supply_by_year(changed, rates, years), limits)

    def with_steps(words: str, factors: Mapping[str, float]) -> Remedy:
        return Remedy(words, now, _enlarged(limits, water, factors))

    now = supply_by_year(uses, rates, years)
    found = [
        with_uses(_LEAKS, replace(uses, losses=0.5 * uses.losses)),
        with_uses(_FIXTURES, replace(uses, homes=_EFFICIENT * uses.homes)),
        with_uses(_YARDS, replace(uses, yards=0.5 * uses.yards)),
    ]
    # Rows with units out come after those with all of them in service.
    left = {row.process: row.units for row in water.rows}
    first, is_rated = _first(water.firm_capacities)
    if first:
        more = {step: (left[step] + 1) / left[step] for step in first}
        rated = {RATED: min(more.values())} if is_rated else {}
        found.append(with_steps(_one_more(first, is_rated=is_rated), more | rated))
    elif is_rated:
        found.append(with_steps("a rated capacity half as large again", {RATED: _LARGER}))
    if left.get("filters") and first != ["filters"]:
        found.append(
            with_steps("one more filter", {"filters": (left["filters"] + 1) / left["filters"]})
        )
    if "clearwell" in left:
        found.append(with_steps("a clearwell half as large again", {"clearwell": _LARGER}))
    return bought(now, limits, found)


def bought_sewage(check: DesignCheck, rates: Rates, years: int) -> list[tuple[str, float]]:
    """Years that each remedy buys the wastewater plant [a], the most first; what leaks from mains
    or waters yards does not come to it."""
    sewers, plant = check.sewers, check.plants[1]

    def remedy(words: str, came: WetWeather, built: PlantDesign = plant) -> Remedy:
        flow = sewage_by_year(came.homes, came.work, came.seeping, rates, years)
        able = deciding(capacities(built, arriving_flows(came), 0))
        return Remedy(words, flow, sewage_limits(able))

    now = remedy("", sewers)
    more_words, more = _with_one_more(plant, *_first(check.wastewater.capacities))
    return bought(
        now.demand,
        now.limits,
        [
            now._replace(words=_LEAKS),
            now._replace(words=_YARDS),
            remedy(_FIXTURES, replace(sewers, homes=_EFFICIENT * sewers.homes)),
            remedy(
                "half of what seeps into the sewers kept out",
                replace(sewers, infiltration=0.5 * sewers.infiltration),
            ),
            remedy(
                "half of the rain kept out of the sewers",
                replace(
                    sewers,
                    inflow=0.5 * sewers.inflow,
                    inflow_day=0.5 * sewers.inflow_day,
                    inflow_peak=0.5 * sewers.inflow_peak,
                ),
            ),
            remedy(more_words, sewers, more),
            remedy("a wastewater plant half as large again", sewers, _larger(plant)),
        ],
    )


def sewage_limits(found: Iterable[Capacity]) -> dict[str, float]:
    """Least capacity of each step of a wastewater plant, as an average flow [m3/d]."""
    return {f"wastewater: {step}": flow for step, flow in by_step(found).items()}


def by_step(found: Iterable[Capacity]) -> dict[str, float]:
    """Least capacity of each step, in terms of the plant's basis [m3/d]."""
    least: dict[str, float] = {}
    for one in found:
        step = RATED if one.process == STATED else one.process.replace("_", " ")
        step += CONTACT if one.is_contact else ""
        least[step] = min(least.get(step, np.inf), one.compared)
    return least


def _first(found: Sequence[Capacity]) -> tuple[list[str], bool]:
    """Steps that reach their limit first, together or nearly so, of which units are left, and
    whether the rated capacity is reached with them."""
    least = min(one.compared for one in found)
    near = [one for one in found if one.compared <= _TOGETHER * least]
    steps = dict.fromkeys(one.process for one in near if one.process != STATED and one.units)
    return list(steps), any(one.process == STATED for one in near)


def _one_more(steps: list[str], *, is_rated: bool) -> str:
    words = " and ".join(step.replace("_", " ") for step in steps)
    return f"one more unit of {words}{', and the plant rated for it' if is_rated else ''}"


def _with_one_more(plant: PlantDesign, steps: list[str], is_rated: bool) -> tuple[str, PlantDesign]:
    """A wastewater plant with one more unit of some steps, or rated for more if there are none."""
    if not steps:
        words = "a wastewater plant rated for half as much again"
        return words, replace(plant, capacity=_LARGER * plant.capacity)
    units = tuple(
        replace(unit, count=unit.count + 1) if unit.process in steps else unit
        for unit in plant.processes
    )
    more = min((unit.count + 1) / unit.count for unit in plant.processes if unit.process in steps)
    rated = more * plant.capacity if is_rated else plant.capacity
    words = _one_more(steps, is_rated=is_rated)
    return words, replace(plant, processes=units, capacity=rated)


def _larger(plant: PlantDesign) -> PlantDesign:
    units = tuple(
        replace(unit, volume=_LARGER * unit.volume, area_m2=_LARGER * unit.area_m2)
        for unit in plant.processes
    )
    return replace(plant, processes=units, capacity=_LARGER * plant.capacity)


def _enlarged(
    limits: Mapping[str, float], water: PlantReport, factors: Mapping[str, float]
) -> dict[str, float]:
    """Limits with some steps larger by a factor; what comes past a step stays as it is."""
    grown = dict(limits)
    for step, factor in factors.items():
        past = (
            0.0 if step == RATED else water.imported + (0.0 if step == "clearwell" else water.wells)
        )
        for name, flow in limits.items():
            if name.startswith(f"plant: {step.replace('_', ' ')}"):
                grown[name] = past + factor * (flow - past)
    return grown
