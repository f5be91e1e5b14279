"""Capacity against demand: a town's plants now, over the years, and what buys how many years."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.measures import river_flow
from hydroloop.outputs.table import known
from hydroloop.plants import (
    Capacity,
    Flows,
    PlantReport,
    season_flows,
    sewage_flows,
    unit_report,
    wastewater_plant,
    water_plant,
)
from hydroloop.plants.capacity import STATED
from hydroloop.plants.design import raw_water
from hydroloop.plants.growth import Rates, Reached, Uses, bought, reached, supply_by_year
from hydroloop.plants.standby import Standby, with_largest_out
from hydroloop.record import flow_mask, flow_total, step_days
from hydroloop.scenario import Scenario
from hydroloop.scenario.schema_town import Town
from hydroloop.waterworks.sizes import town_sizes

MEMBERS = 1000
"""Members drawn from the ranges of the inputs."""

# Home use with all fixtures efficient, over that of 2016 (DeOreo et al. 2016: 110 and 138 gal a
# household and day).
_EFFICIENT = 110.0 / 138.0


@dataclass(frozen=True)
class CapacityStudy:
    """What the study of one town found.

    Attributes
    ----------
    town : str
        Its name.
    water, wastewater : PlantReport
        The plants against today's flows, with all units and with the largest out.
    standby : list of Standby
        What the steps of the wastewater plant treat of its design flow with the largest unit out.
    first_year : int
        Year of today's flows.
    demand : ndarray of shape (year,)
        System input on the maximum day of each year [m3/d].
    sewage : ndarray of shape (year,)
        Average wastewater of each year [m3/d].
    reached, sewage_reached : list of Reached
        When each limit of supply is reached with the largest unit out, and each limit of wastewater
        with all units in use.
    bought : list of (str, float)
        Remedies and the years they buy.
    overflow_hours, bypass_hours : float
        Time of the season with an overflow, and with a wet-weather bypass [h].
    ranged : tuple of str
        Inputs that were drawn from their ranges.
    """

    town: str
    water: PlantReport
    wastewater: PlantReport
    standby: list[Standby]
    first_year: int
    demand: np.ndarray
    sewage: np.ndarray
    reached: list[Reached]
    sewage_reached: list[Reached]
    bought: list[tuple[str, float]]
    overflow_hours: float
    bypass_hours: float
    ranged: tuple[str, ...]


def capacity_study(scenario: Scenario, record: xr.Dataset, name: str, *, out: int = 1,
                   seed: int = 1) -> CapacityStudy:
    """Capacity against demand for one town.

    Holds the season's busiest day against every step of the plants, and follows growth to the year
    in which each limit is reached. A teaching model: engineers size real plants.

    Parameters
    ----------
    scenario : Scenario
        What was run.
    record : xarray.Dataset
        Its water record.
    name : str
        Name of the town.
    out : int
        Units out of service in each step [-].
    seed : int
        Seed of the members drawn from ranges [-].

    Returns
    -------
    CapacityStudy
        Reports, years and remedies.

    Raises
    ------
    AskError
        If more units are out than there are, or chlorine, pH or temperature lie outside the
        published contact tables.

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> study = capacity_study(scenario, hl.simulate(scenario), "larkmill")
    >>> study.water.load < 1.5
    True
    """
    town, sizes = scenario.town[name], town_sizes(scenario.town[name])
    uses, flows = _today(record, name, town)
    water = unit_report(water_plant(town, sizes.plant_capacity), flows, out=out)
    sewage = _sewage_today(record, name, town)
    treating = wastewater_plant(town, sizes.design_flow, sizes.secondary_capacity)
    works = unit_report(treating, sewage, out=out)
    rates, years = _rates(town), town.growth.years
    demand = supply_by_year(uses, rates, years)
    drawn_uses, drawn_rates, ranged = _members(scenario, name, uses, seed)
    members = supply_by_year(drawn_uses, drawn_rates, years)
    limits = _supply_limits(record, name, town, water)
    share = _sewage_share(town, uses)
    return CapacityStudy(
        town=name, water=water, wastewater=works,
        standby=with_largest_out(treating, sewage_flows(sizes.design_flow, town.people)),
        first_year=scenario.season.start.year,
        demand=demand, sewage=_sewage_by_year(sewage, demand, share),
        reached=reached(limits, demand, members.reshape(years + 1, -1)),
        sewage_reached=reached(
            {f"wastewater: {one}": flow for one, flow in _by_step(works.capacities).items()},
            _sewage_by_year(sewage, demand, share),
            _sewage_by_year(sewage, members.reshape(years + 1, -1), share)),
        bought=bought(uses, rates, limits, years, _remedies(uses, limits, water)),
        overflow_hours=_hours(record, name, "overflow"),
        bypass_hours=_hours(record, name, "bypass"), ranged=ranged)


def _today(record: xr.Dataset, name: str, town: Town) -> tuple[Uses, Flows]:
    """Use on the season's busiest day, and the flows the water plant has to meet."""
    asked = record["demand"].sel(town=name)
    step = float(step_days(record)[0])
    use = asked.transpose("time", "purpose").sel(purpose=["homes", "workplaces", "yards"]).values
    days = use.reshape(-1, max(1, round(1.0 / step)), 3).mean(axis=1)
    homes, work, yards = days[days.sum(axis=1).argmax()].tolist()
    losses = town.mains.real_losses
    needed = asked.sum("purpose").values / (1.0 - losses)
    return Uses(homes, work, yards, losses), season_flows(needed, step)


def _sewage_today(record: xr.Dataset, name: str, town: Town) -> Flows:
    arriving = flow_total(record, flow_mask(record, target=f"{name}/primary"))
    return sewage_flows(float(arriving.mean()), town.people)


def _rates(town: Town) -> Rates:
    growth = town.growth
    jobs = growth.people_per_year if growth.jobs_per_year is None else growth.jobs_per_year
    return Rates(growth.people_per_year, jobs, growth.use_falls_per_year)


def _by_step(capacities: tuple[Capacity, ...]) -> dict[str, float]:
    """Least capacity of each step, in terms of the plant's basis [m3/d]."""
    found: dict[str, float] = {}
    for one in capacities:
        step = "capacity as given" if one.process == STATED else one.process.replace("_", " ")
        step = f"{step}, chlorine contact" if one.what.startswith("contact") else step
        found[step] = min(found.get(step, np.inf), one.compared)
    return found


def _supply_limits(record: xr.Dataset, name: str, town: Town,
                   water: PlantReport) -> dict[str, float]:
    """Plant, permit and river, as water put into supply, with what wells add to them [m3/d]."""
    limits = {f"plant: {step}": flow for step, flow in _by_step(water.firm_capacities).items()}
    kept = 1.0 / raw_water(town.plant, 1.0)
    if town.intake is not None and town.intake.permit is not None:
        limits["permit"] = town.intake.permit * kept + water.wells
    intake = flow_mask(record, kind="intake", to_place=name, from_role="reach")
    if intake.any():
        free = river_flow(record, intake).values - record["minimum_flow"].sel(town=name).values
        limits["river on its driest day"] = max(0.0, float(free.min())) * kept + water.wells
    return limits


def _members(scenario: Scenario, name: str, uses: Uses,
             seed: int) -> tuple[Uses, Rates, tuple[str, ...]]:
    """Uses and growth of members drawn evenly from the ranges of the town's inputs."""
    from scipy.stats import qmc

    town = scenario.town[name]
    keys = {
        "homes.use_per_person": town.homes.use_per_person,
        "workplaces.use_per_person": town.workplaces.use_per_person,
        "mains.real_losses": town.mains.real_losses,
        "growth.people_per_year": town.growth.people_per_year,
        "growth.use_falls_per_year": town.growth.use_falls_per_year,
    }
    ranges = {key: scenario.ranges.get(f"town.{name}.{key}", (middle, middle))
              for key, middle in keys.items()}
    drawn = qmc.LatinHypercube(len(ranges), rng=seed).random(MEMBERS)
    value = {key: low + (high - low) * drawn[:, column]
             for column, (key, (low, high)) in enumerate(ranges.items())}
    homes = uses.homes * value["homes.use_per_person"] / town.homes.use_per_person
    work = uses.work * value["workplaces.use_per_person"] / town.workplaces.use_per_person
    jobs = value["growth.people_per_year"] if town.growth.jobs_per_year is None else (
        town.growth.jobs_per_year)
    rates = Rates(value["growth.people_per_year"], jobs, value["growth.use_falls_per_year"])
    ranged = tuple(f"town.{name}.{key}" for key, (low, high) in ranges.items() if high > low)
    return Uses(homes, work, uses.yards, value["mains.real_losses"]), rates, ranged


def _sewage_share(town: Town, uses: Uses) -> float:
    """Part of the wastewater that grows with use; the rest seeps in."""
    homes = float(uses.homes) * (1.0 - town.homes.consumed) * (1.0 - town.homes.septic)
    work = float(uses.work) * (1.0 - town.workplaces.consumed)
    seeping = town.people * town.sewers.infiltration
    return (homes + work) / (homes + work + seeping)


def _sewage_by_year(sewage: Flows, demand: np.ndarray, share: float) -> np.ndarray:
    return np.asarray(sewage.average * (1.0 - share + share * demand / demand[0]))


def _remedies(uses: Uses, limits: Mapping[str, float],
              water: PlantReport) -> list[tuple[str, Uses, dict[str, float]]]:
    """What a council could do, as use and limits with it."""
    limiting = water.firm_limited_by
    grown = dict(limits)
    larger = dict(limits)
    for name, flow in limits.items():
        if name.startswith(f"plant: {limiting.process.replace('_', ' ')}") and limiting.units:
            past = 0.0 if limiting.process == "clearwell" else water.wells
            grown[name] = past + (flow - past) * (limiting.units + 1) / limiting.units
        if name.startswith("plant: clearwell"):
            larger[name] = 1.5 * flow
    same = dict(limits)
    more = f"one more unit of {limiting.process.replace('_', ' ')}"
    return [
        ("repair half of the leaks", replace(uses, losses=0.5 * uses.losses), same),
        ("efficient fixtures in all homes", replace(uses, homes=_EFFICIENT * uses.homes), same),
        ("half as much yard watering", replace(uses, yards=0.5 * uses.yards), same),
        (more, uses, grown),
        ("a clearwell half as large again", uses, larger),
    ]


def _hours(record: xr.Dataset, name: str, kind: str) -> float:
    """Hours of the season in which a kind of flow runs; a step counts whole."""
    running = flow_total(record, flow_mask(record, kind=kind, from_place=name)).values > 1e-6
    return float(24.0 * step_days(record)[running].sum())


def facts(study: CapacityStudy) -> dict[str, Any]:
    """The study as plain values, for a script [m3/d, a, h].

    Examples
    --------
    >>> import hydroloop as hl
    >>> scenario = hl.read_scenario("first_town")
    >>> found = facts(capacity_study(scenario, hl.simulate(scenario), "larkmill"))
    >>> found["town"]
    'larkmill'
    """
    def rows(found: list[Reached]) -> list[dict[str, Any]]:
        return [{"limit": one.limit, "flow_m3_per_d": known(one.flow), "years": known(one.years),
                 "early": known(one.early), "late": known(one.late)} for one in found]

    def plant(report: PlantReport) -> dict[str, Any]:
        return {"demand_m3_per_d": known(report.demand),
                "capacity_m3_per_d": known(report.capacity),
                "firm_capacity_m3_per_d": known(report.firm_capacity), "load": known(report.load),
                "limited_by": report.firm_limited_by.process,
                "units": [{"process": row.process, "what": row.what, "at": row.at,
                           "units": row.units, "out": row.out,
                           "value": None if row.value is None else known(row.value),
                           "unit": row.unit, "rule": row.rule, "source": row.source,
                           "verdict": row.verdict} for row in report.rows]}

    return {"town": study.town, "first_year": study.first_year, "water": plant(study.water),
            "wastewater": plant(study.wastewater),
            "standby": [asdict(one) for one in study.standby], "reached": rows(study.reached),
            "sewage_reached": rows(study.sewage_reached),
            "bought": [{"remedy": name, "years": known(years)} for name, years in study.bought],
            "overflow_hours": study.overflow_hours, "bypass_hours": study.bypass_hours,
            "ranged": list(study.ranged)}
