"""Sizes that a scenario leaves open, worked out from a town's people."""

from __future__ import annotations

from dataclasses import dataclass

from hydroloop.plants.design import raw_water
from hydroloop.plants.peaking import FULL_TREATMENT_OVER_DESIGN
from hydroloop.scenario.built_for import AREA, DEMAND, SEWAGE, works_of
from hydroloop.scenario.schema_town import Town

# Base flow and infiltration that do not count as excessive (40 CFR 35.2120(c)), over what new
# sewers are designed for (35 Ill. Adm. Code 370.310(a)(1)): 120 and 100 gal a person and day.
_DESIGN_OVER_DRY_WEATHER = 120.0 / 100.0


@dataclass(frozen=True)
class Sizes:
    """What a town's works are built for.

    Attributes
    ----------
    mean_input : float
        System input on an average day that the works are built for [m3/d].
    plant_capacity, intake_limit : float
        Most treated water, and most raw water from river or reservoir [m3/d].
    tanks_volume, mains_volume : float
        Storage tanks and pipes [m3].
    dry_weather : float
        Wastewater on an average dry day that the works are built for, infiltration in it [m3/d].
    design_flow : float
        Average flow that the wastewater plant is built for [m3/d].
    sewer_capacity, sewer_storage, secondary_capacity : float
        Sewers [m3/d], [m3], and full treatment of wastewater [m3/d].
    storm_share : float
        Share of pavement runoff that enters the sewers [-].
    land_area : float
        Area of the town [m2].
    """

    mean_input: float
    plant_capacity: float
    intake_limit: float
    tanks_volume: float
    mains_volume: float
    dry_weather: float
    design_flow: float
    sewer_capacity: float
    sewer_storage: float
    secondary_capacity: float
    storm_share: float
    land_area: float


def town_sizes(town: Town) -> Sizes:
    """Sizes of a town's works, given or worked out from the people in the scenario's file. Each
    default is the one that the reference page prints for its key. A real town is built for its own
    past, so give what you know; changes of a run leave the works as they are."""
    built_for = works_of(town)
    mean_input, dry = built_for[DEMAND], built_for[SEWAGE]
    plant = _or(town.plant.capacity, 2.0 * mean_input)
    raw = raw_water(town.plant, plant)
    intake, permit = (town.intake.capacity, town.intake.permit) if town.intake else (None, None)
    design = _or(town.wastewater.design_flow, _DESIGN_OVER_DRY_WEATHER * dry)
    combined = town.sewers.kind == "combined"
    sewers = _or(town.sewers.capacity, (5.0 if combined else 4.0) * dry)
    return Sizes(
        mean_input=mean_input,
        plant_capacity=plant,
        intake_limit=min(_or(intake, raw), _or(permit, float("inf"))),
        tanks_volume=_or(town.tanks.volume, mean_input),
        mains_volume=_or(town.mains.volume, 0.5 * mean_input),
        dry_weather=dry,
        design_flow=design,
        sewer_capacity=sewers,
        sewer_storage=_or(town.sewers.storage, sewers * town.sewers.travel_time),
        secondary_capacity=_or(town.wastewater.capacity, FULL_TREATMENT_OVER_DESIGN * design),
        storm_share=_or(town.sewers.storm_share, 1.0 if combined else 0.02),
        land_area=built_for[AREA] * 1e6,
    )


def _or(given: float | None, otherwise: float) -> float:
    return otherwise if given is None else given
