"""Demand and wastewater of a town over the years: today's use, members of the ranges, remedies."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from hydroloop.measures import PURPOSES, Run
from hydroloop.plants import Capacity, PlantReport
from hydroloop.plants.capacity import RATED, STATED
from hydroloop.plants.growth import Rates, Uses, sewage_by_year, supply_by_year
from hydroloop.scenario import Scenario
from hydroloop.scenario.schema_town import Town
from hydroloop.studies.wet_weather import WetWeather

MEMBERS = 1000
"""Members drawn from the ranges of the inputs."""

# Home use with all fixtures efficient, over that of 2016 (DeOreo et al. 2016: 110 and 138 gal a
# household and day).
_EFFICIENT = 110.0 / 138.0
# Limits so near to the lowest are reached together, and only relieved together [-].
_TOGETHER = 1.01
_DRAWN = (
    "people",
    "homes.use_per_person",
    "workplaces.use_per_person",
    "yards.area_per_person",
    "mains.real_losses",
    "growth.people_per_year",
    "growth.jobs_per_year",
    "growth.use_falls_per_year",
    "sewers.infiltration",
)


@dataclass(frozen=True)
class Years:
    """Supply and wastewater of each year, at the middle of all ranges and for every member."""

    demand: np.ndarray  # system input on the busiest day [m3/d], shape (year,)
    demand_members: np.ndarray  # the same [m3/d], shape (year, member)
    sewage: np.ndarray  # average wastewater [m3/d], shape (year,)
    sewage_members: np.ndarray  # the same [m3/d], shape (year, member)
    # ranges of the town that members draw from, and those that stay at their middle here
    drawn: tuple[str, ...]
    left: tuple[str, ...]


def uses_today(run: Run, name: str, town: Town) -> tuple[Uses, np.ndarray]:
    """Use on the season's busiest day, and system input asked for, (time) [m3/d]."""
    assert run.demand is not None
    use, step = run.demand[:, run.number(name), :, 0], float(run.days[0])
    days = use.reshape(-1, max(1, round(1.0 / step)), len(PURPOSES)).mean(axis=1)
    homes, work, yards = days[days.sum(axis=1).argmax()].tolist()
    losses = town.mains.real_losses
    return Uses(homes, work, yards, losses), use.sum(axis=1) / (1.0 - losses)


def rates_of(town: Town) -> Rates:
    """How fast a town grows, by its scenario; jobs follow people unless they are given."""
    growth = town.growth
    jobs = growth.people_per_year if growth.jobs_per_year is None else growth.jobs_per_year
    return Rates(growth.people_per_year, jobs, growth.use_falls_per_year)


def years_ahead(
    scenario: Scenario, name: str, uses: Uses, sewers: WetWeather, *, seed: int = 1
) -> Years:
    """Supply and wastewater of the years ahead, this year first, with members drawn evenly from the
    town's ranges. Sizes of plants stay at the middle of their ranges."""
    town, rates = scenario.town[name], rates_of(scenario.town[name])
    value, drawn, left = _drawn(scenario, name, seed)
    ratio = {key: value[key] / _middle(town, key) for key in _DRAWN[:4]}
    homes, work = (
        ratio["people"] * ratio[f"{use}.use_per_person"] for use in ("homes", "workplaces")
    )
    people = value["growth.people_per_year"]
    jobs = people if town.growth.jobs_per_year is None else value["growth.jobs_per_year"]
    member_rates = Rates(people, jobs, value["growth.use_falls_per_year"])
    member_uses = Uses(
        uses.homes * homes,
        uses.work * work,
        uses.yards * ratio["people"] * ratio["yards.area_per_person"],
        value["mains.real_losses"],
    )
    seeping = sewers.mean - sewers.homes - sewers.work
    middle = town.sewers.infiltration
    more = value["sewers.infiltration"] / middle - 1.0 if middle else 0.0
    years = town.growth.years
    return Years(
        demand=supply_by_year(uses, rates, years),
        demand_members=supply_by_year(member_uses, member_rates, years),
        sewage=sewage_by_year(sewers.homes, sewers.work, seeping, rates, years),
        sewage_members=sewage_by_year(
            sewers.homes * homes,
            sewers.work * work,
            seeping + more * sewers.infiltration,
            member_rates,
            years,
        ),
        drawn=drawn,
        left=left,
    )


def _drawn(
    scenario: Scenario, name: str, seed: int
) -> tuple[dict[str, np.ndarray], tuple[str, ...], tuple[str, ...]]:
    """Values of each key for each member, and the ranges that are and are not among them."""
    start, town = f"town.{name}.", scenario.town[name]
    ranges = {key: scenario.ranges.get(start + key, (_middle(town, key),) * 2) for key in _DRAWN}
    lot = _lot(len(ranges), seed)
    if all(low == high for low, high in ranges.values()):
        lot = lot[:1]  # all members are the same
    value = {
        key: low + (high - low) * lot[:, column]
        for column, (key, (low, high)) in enumerate(ranges.items())
    }
    drawn = tuple(start + key for key, (low, high) in ranges.items() if high > low)
    left = tuple(key for key in scenario.ranges if key.startswith(start) and key not in drawn)
    return value, drawn, left


@lru_cache(maxsize=4)
def _lot(keys: int, seed: int) -> np.ndarray:
    """Places of each member within the ranges, shape (member, key) [-]."""
    from scipy.stats import qmc

    return np.asarray(qmc.LatinHypercube(keys, seed=np.random.default_rng(seed)).random(MEMBERS))


def _middle(town: Town, key: str) -> float:
    found: object = town
    for part in key.split("."):
        found = getattr(found, part)
    return 0.0 if found is None else float(found)  # type: ignore[arg-type]


def remedies(
    uses: Uses, limits: Mapping[str, float], water: PlantReport
) -> list[tuple[str, Uses, dict[str, float]]]:
    """What a council could do about its supply: name, use and limits with it [m3/d].
    Steps that reach their limit together are enlarged together: one of them alone buys nothing."""
    same = dict(limits)
    found = [
        ("repair half of the leaks", replace(uses, losses=0.5 * uses.losses), same),
        ("efficient fixtures in all homes", replace(uses, homes=_EFFICIENT * uses.homes), same),
        ("half as much yard watering", replace(uses, yards=0.5 * uses.yards), same),
    ]
    # Rows with units out come after those with all of them in service.
    first, left = _first_steps(water), {row.process: row.units for row in water.rows}
    is_rated = any(one.process == STATED for one in _at_first(water))
    if first:
        words = " and ".join(step.replace("_", " ") for step in first)
        more = {step: (left[step] + 1) / left[step] for step in first}
        words += ", and the plant rated for it" if is_rated else ""
        rated = {RATED: min(more.values())} if is_rated else {}
        found.append((f"one more unit of {words}", uses, _enlarged(limits, water, more | rated)))
    elif is_rated:
        found.append(
            ("a rated capacity half as large again", uses, _enlarged(limits, water, {RATED: 1.5}))
        )
    if left.get("filters") and first != ["filters"]:
        more = {"filters": (left["filters"] + 1) / left["filters"]}
        found.append(("one more filter", uses, _enlarged(limits, water, more)))
    if "clearwell" in left:
        bigger = _enlarged(limits, water, {"clearwell": 1.5})
        found.append(("a clearwell half as large again", uses, bigger))
    return found


def _first_steps(water: PlantReport) -> list[str]:
    """Steps that reach their limit first, with the largest unit out and some left of each."""
    return list(
        dict.fromkeys(
            one.process for one in _at_first(water) if one.process != STATED and one.units
        )
    )


def _at_first(water: PlantReport) -> list[Capacity]:
    """Capacities that are reached first, together or nearly so."""
    return [one for one in water.firm_capacities if one.compared <= _TOGETHER * water.firm_capacity]


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
