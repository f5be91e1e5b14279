"""Capacity against demand: a town's plants now, over the years, and what buys how many years."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from hydroloop.measures import Run, river_flow, run_of
from hydroloop.placenames import place_words
from hydroloop.plants import PlantReport, sewage_flows
from hydroloop.plants.capacity import STATED
from hydroloop.plants.design import has_steps, raw_water
from hydroloop.plants.growth import Rates, Reached, reached
from hydroloop.plants.standby import Standby, with_largest_out
from hydroloop.scenario import Scenario
from hydroloop.scenario.schema_town import Town
from hydroloop.studies.capacity_years import rates_of, years_ahead
from hydroloop.studies.contact_seasons import MonthContact, contact_months
from hydroloop.studies.design_check import DesignCheck, design_check
from hydroloop.studies.remedies import bought_sewage, bought_supply, by_step, sewage_limits
from hydroloop.studies.wet_weather import WetWeather

RIVER = "river on its driest day"
"""The limit of a supply that is its river's, not its plant's."""


@dataclass(frozen=True)
class CapacityStudy:
    """What the study of one town found."""

    town: str
    place: str  # the town in words
    check: DesignCheck  # the plants against today's flows, and how the season went
    # what the steps of the wastewater plant treat of its design flow with the largest unit out
    standby: list[Standby]
    first_year: int  # year of today's flows
    rates: Rates  # how fast the town grows
    demand: np.ndarray  # system input on the maximum day of each year [m3/d], shape (year,)
    sewage: np.ndarray  # average wastewater of each year [m3/d], shape (year,)
    # what 5 and 95 % of the members of the ranges stay below in each year [m3/d], shape (2, year)
    demand_band: np.ndarray
    sewage_band: np.ndarray
    # when each limit of supply is reached with the largest unit out, and each limit of wastewater
    # with all units in use
    reached: list[Reached]
    sewage_reached: list[Reached]
    # remedies and the years that they buy the supply, and the wastewater plant
    bought: list[tuple[str, float]]
    sewage_bought: list[tuple[str, float]]
    contact: list[MonthContact]  # chlorine contact in each month of the season
    # whether the size that comes first in the water plant is worked out, and not given
    assumed: bool
    # inputs that were drawn from their ranges, and ranges that stay at their middle
    ranged: tuple[str, ...]
    not_drawn: tuple[str, ...]

    @property
    def water(self) -> PlantReport:
        """The water plant against the season's flows."""
        return self.check.water

    @property
    def wastewater(self) -> PlantReport:
        """The wastewater plant against the season's flows."""
        return self.check.wastewater

    @property
    def sewers(self) -> WetWeather:
        """What the sewers carry, dry and wet, with overflows and bypasses."""
        return self.check.sewers


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
    run = run_of(record) if run is None else run
    check = design_check(scenario, record, run, name, out=out)
    town, water, sewers = scenario.town[name], check.water, check.sewers
    years = years_ahead(scenario, name, check.uses, sewers, seed=seed)
    limits, rates = _supply_limits(run, name, town, water), rates_of(town)
    return CapacityStudy(
        town=name,
        place=place_words(name, scenario.names),
        check=check,
        standby=with_largest_out(check.plants[1], sewage_flows(check.design_flow, town.people)),
        first_year=scenario.season.start.year,
        rates=rates,
        demand=years.demand,
        sewage=years.sewage,
        demand_band=np.quantile(years.demand_members, (0.05, 0.95), axis=1),
        sewage_band=np.quantile(years.sewage_members, (0.05, 0.95), axis=1),
        reached=reached(limits, years.demand, years.demand_members),
        sewage_reached=reached(
            sewage_limits(check.wastewater.capacities), years.sewage, years.sewage_members
        ),
        bought=bought_supply(check, rates, town.growth.years, limits),
        sewage_bought=bought_sewage(check, rates, town.growth.years),
        contact=contact_months(check.plants[0], record, check.asked, out=out),
        assumed=_is_assumed(water, town),
        ranged=years.drawn,
        not_drawn=years.left,
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


def _supply_limits(run: Run, name: str, town: Town, water: PlantReport) -> dict[str, float]:
    """Plant, permit and river, as water put into supply, with what wells and bought water add to
    them [m3/d]."""
    limits = {f"plant: {step}": flow for step, flow in by_step(water.firm_capacities).items()}
    kept, beside = 1.0 / raw_water(town.plant, 1.0), water.wells + water.imported
    if town.intake is not None and town.intake.permit is not None:
        limits["permit"] = town.intake.permit * kept + beside
    flow = river_flow(run)[:, run.number(name)]
    if np.isfinite(flow).any():
        assert run.minimum_flow is not None
        free = flow - run.minimum_flow[:, run.number(name)]
        limits[RIVER] = max(0.0, float(free.min())) * kept + beside
    return limits
