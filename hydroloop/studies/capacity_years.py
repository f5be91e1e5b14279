"""Demand and wastewater of a town over the years: today's use, members of the ranges."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from hydroloop.measures import PURPOSES, Run
from hydroloop.plants.growth import Rates, Uses, sewage_by_year, supply_by_year
from hydroloop.scenario import Scenario
from hydroloop.scenario.schema_town import Town
from hydroloop.studies.wet_weather import WetWeather

MEMBERS = 1000
"""Members drawn from the ranges of the inputs."""

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
    middle = town.sewers.infiltration
    more = value["sewers.infiltration"] / middle - 1.0 if middle else 0.0
    years = town.growth.years
    return Years(
        demand=supply_by_year(uses, rates, years),
        demand_members=supply_by_year(member_uses, member_rates, years),
        sewage=sewage_by_year(sewers.homes, sewers.work, sewers.seeping, rates, years),
        sewage_members=sewage_by_year(
            sewers.homes * homes,
            sewers.work * work,
            sewers.seeping + more * sewers.infiltration,
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
