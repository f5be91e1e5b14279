"""Capacity against demand: a town's plants now, over the years, and what buys how many years."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from hydroloop.errors import AskError, Problem
from hydroloop.measures import Run, river_flow, run_of
from hydroloop.placenames import place_words
from hydroloop.plants import (
    Capacity,
    Flows,
    PlantReport,
    season_flows,
    sewage_flows,
    unit_report,
    wastewater_plant,
    water_plant,
    wet_and_dry_flows,
)
from hydroloop.plants.capacity import RATED, STATED
from hydroloop.plants.design import has_steps, raw_water
from hydroloop.plants.growth import Reached, bought, reached
from hydroloop.plants.standby import Standby, with_largest_out
from hydroloop.record import step_days
from hydroloop.scenario import Scenario
from hydroloop.scenario.schema_town import Town
from hydroloop.studies.capacity_years import rates_of, remedies, uses_today, years_ahead
from hydroloop.studies.contact_seasons import MonthContact, contact_months
from hydroloop.studies.wet_weather import WetWeather, wet_weather
from hydroloop.waterworks.sizes import town_sizes


@dataclass(frozen=True)
class CapacityStudy:
    """What the study of one town found."""

    town: str
    place: str  # the town in words
    # the plants against today's flows, with all units and with the largest out
    water: PlantReport
    wastewater: PlantReport
    # what the steps of the wastewater plant treat of its design flow with the largest unit out
    standby: list[Standby]
    first_year: int  # year of today's flows
    demand: np.ndarray  # system input on the maximum day of each year [m3/d], shape (year,)
    sewage: np.ndarray  # average wastewater of each year [m3/d], shape (year,)
    # what 5 and 95 % of the members of the ranges stay below in each year [m3/d], shape (2, year)
    demand_band: np.ndarray
    sewage_band: np.ndarray
    # when each limit of supply is reached with the largest unit out, and each limit of wastewater
    # with all units in use
    reached: list[Reached]
    sewage_reached: list[Reached]
    bought: list[tuple[str, float]]  # remedies and the years they buy
    sewers: WetWeather  # what the sewers carry, dry and wet, with overflows and bypasses
    contact: list[MonthContact]  # chlorine contact in each month of the season
    # whether the size that comes first in the water plant is worked out, and not given
    assumed: bool
    # inputs that were drawn from their ranges, and ranges that stay at their middle
    ranged: tuple[str, ...]
    not_drawn: tuple[str, ...]


def capacity_study(
    scenario: Scenario,
    record: xr.Dataset,
    name: str,
    *,
    out: int = 1,
    seed: int = 1,
    run: Run | None = None,
) -> CapacityStudy:
    """Capacity against demand for one town: the season's busiest day against every step of the
    plants, with `out` units out, and growth followed to the year in which each limit is reached.
    `run` is the record as measures take it, where that is at hand."""
    town, sizes = scenario.town[name], town_sizes(scenario.town[name])
    run = run_of(record) if run is None else run
    uses, asked = uses_today(run, name, town)
    if not asked.max() > 0.0:
        raise AskError(
            Problem(
                name,
                "uses no water in this season, so there is no demand to compare its plants with.",
                "Ask about another town.",
            )
        )
    design = water_plant(town, sizes.plant_capacity)
    water = unit_report(design, season_flows(asked, float(step_days(record)[0])), out=out)
    sewers = wet_weather(scenario, record, name)
    treating = wastewater_plant(town, sizes.design_flow, sizes.secondary_capacity)
    works = unit_report(treating, _sewage_flows(sewers), out=out)
    years = years_ahead(scenario, name, uses, sewers, seed=seed)
    limits = _supply_limits(run, name, town, water)
    return CapacityStudy(
        town=name,
        place=place_words(name, scenario.names),
        water=water,
        wastewater=works,
        standby=with_largest_out(treating, sewage_flows(sizes.design_flow, town.people)),
        first_year=scenario.season.start.year,
        demand=years.demand,
        sewage=years.sewage,
        demand_band=np.quantile(years.demand_members, (0.05, 0.95), axis=1),
        sewage_band=np.quantile(years.sewage_members, (0.05, 0.95), axis=1),
        reached=reached(limits, years.demand, years.demand_members),
        sewage_reached=reached(
            {f"wastewater: {one}": flow for one, flow in _by_step(works.capacities).items()},
            years.sewage,
            years.sewage_members,
        ),
        bought=bought(
            uses, rates_of(town), limits, town.growth.years, remedies(uses, limits, water)
        ),
        sewers=sewers,
        contact=contact_months(design, record, asked, out=out),
        assumed=_is_assumed(water, town),
        ranged=years.drawn,
        not_drawn=years.left,
    )


def _sewage_flows(sewers: WetWeather) -> Flows:
    return wet_and_dry_flows(
        sewers.homes + sewers.work,
        sewers.people,
        sewers.infiltration + sewers.washing,
        (sewers.inflow, sewers.inflow_day, sewers.inflow_peak),
        sewers.sewers,
    )


def _is_assumed(water: PlantReport, town: Town) -> bool:
    """Whether what the plant runs into first depends on a size that the scenario does not give."""
    first = water.firm_limited_by
    if first.process == STATED:
        return town.plant.capacity is None and has_steps(town)
    return any(
        row.assumed
        for row in water.rows
        if (row.process, row.what, row.out) == (first.process, first.what, first.out)
    )


def _by_step(capacities: tuple[Capacity, ...]) -> dict[str, float]:
    """Least capacity of each step, in terms of the plant's basis [m3/d]."""
    found: dict[str, float] = {}
    for one in capacities:
        step = _step(one)
        found[step] = min(found.get(step, np.inf), one.compared)
    return found


def _step(one: Capacity) -> str:
    """A step as it is named among the limits."""
    step = RATED if one.process == STATED else one.process.replace("_", " ")
    return f"{step}, chlorine contact" if one.what.startswith("contact") else step


def _supply_limits(run: Run, name: str, town: Town, water: PlantReport) -> dict[str, float]:
    """Plant, permit and river, as water put into supply, with what wells and bought water add to
    them [m3/d]."""
    limits = {f"plant: {step}": flow for step, flow in _by_step(water.firm_capacities).items()}
    kept, beside = 1.0 / raw_water(town.plant, 1.0), water.wells + water.imported
    if town.intake is not None and town.intake.permit is not None:
        limits["permit"] = town.intake.permit * kept + beside
    flow = river_flow(run)[:, run.number(name)]
    if np.isfinite(flow).any():
        assert run.minimum_flow is not None
        free = flow - run.minimum_flow[:, run.number(name)]
        limits["river on its driest day"] = max(0.0, float(free.min())) * kept + beside
    return limits
