"""Both plants of a town against published design rules, and how the season itself went there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from hydroloop.errors import AskError, Problem
from hydroloop.measures import Run, unmet
from hydroloop.plants import (
    Flows,
    PlantDesign,
    PlantReport,
    season_flows,
    unit_report,
    wastewater_plant,
    water_plant,
    wet_and_dry_flows,
)
from hydroloop.plants.growth import Uses
from hydroloop.record import step_days
from hydroloop.scenario import Scenario
from hydroloop.studies.capacity_years import uses_today
from hydroloop.studies.wet_weather import WetWeather, wet_weather
from hydroloop.waterworks.sizes import town_sizes


@dataclass(frozen=True)
class DesignCheck:
    """Two judgements of one season: of the plants by published rules, and of what came of it."""

    uses: Uses  # use on the season's busiest day [m3/d]
    asked: np.ndarray  # system input asked for [m3/d], shape (time,)
    plants: tuple[PlantDesign, PlantDesign]  # of water and of wastewater
    design_flow: float  # average flow that the wastewater plant is built for [m3/d]
    out: int  # units of each step of the water plant out of service
    # the plants against the season's flows, with all units and with some out
    water: PlantReport
    wastewater: PlantReport
    sewers: WetWeather  # what the sewers carry, dry and wet, with overflows and bypasses
    got: float  # share of the water asked for over the season that came to taps [-]
    short_days: int  # dates on which the town ran short of water

    @property
    def is_over(self) -> bool:
        """Whether a plant is too small by the rules, rounding forgiven."""
        return not (self.water.is_enough and self.wastewater.are_all_enough)

    @property
    def fullest(self) -> float:
        """The larger load of the two plants, that of wastewater with all units [-]."""
        return max(self.water.load, self.wastewater.load_of_all)

    @property
    def is_over_built(self) -> bool:
        """Whether more wastewater comes on average than the plant is built for."""
        return self.wastewater.demand > self.design_flow

    @property
    def went_well(self) -> bool:
        """Whether nobody ran short of water in the season, and all sewage was treated."""
        return not (self.short_days or self.sewers.overflow or self.sewers.bypass)


def design_check(
    scenario: Scenario, record: xr.Dataset, run: Run, name: str, *, out: int = 1
) -> DesignCheck:
    """The season's busiest day against every step of a town's plants, with `out` units out, beside
    what the season brought. Refused for a town that uses no water."""
    town, sizes = scenario.town[name], town_sizes(scenario.town[name])
    uses, asked = uses_today(run, name, town)
    if not asked.max() > 0.0:
        raise AskError(
            Problem(
                name,
                "uses no water in this season, so there is no demand to compare its plants with.",
                "Ask about another town.",
            )
        )
    sewers = wet_weather(scenario, record, name)
    plants = (
        water_plant(town, sizes.plant_capacity),
        wastewater_plant(town, sizes.design_flow, sizes.secondary_capacity),
    )
    flows = season_flows(asked, float(step_days(record)[0])), arriving_flows(sewers)
    water, wastewater = (
        unit_report(plant, flow, out=out) for plant, flow in zip(plants, flows, strict=True)
    )
    got, short_days = _served(record, run, name)
    return DesignCheck(
        uses=uses,
        asked=asked,
        plants=plants,
        design_flow=sizes.design_flow,
        out=out,
        water=water,
        wastewater=wastewater,
        sewers=sewers,
        got=got,
        short_days=short_days,
    )


def arriving_flows(sewers: WetWeather) -> Flows:
    """Flows that come to the wastewater plant: what people bring peaks, what seeps in does not."""
    return wet_and_dry_flows(
        sewers.homes + sewers.work,
        sewers.people,
        sewers.infiltration + sewers.washing,
        (sewers.inflow, sewers.inflow_day, sewers.inflow_peak),
        sewers.sewers,
    )


def _served(record: xr.Dataset, run: Run, name: str) -> tuple[float, int]:
    """Share of the water asked for that a town got, and on how many dates it was not all."""
    assert run.demand is not None
    missing, asked = (
        one[:, run.number(name), :, 0].sum(axis=1) for one in (unmet(run), run.demand)
    )
    dates = record["time"].values[missing > 0.0].astype("datetime64[D]")
    whole = float(run.days @ asked)
    return 1.0 - float(run.days @ missing) / whole, int(np.unique(dates).size)
