"""A plant as a scenario has it: its unit processes with what is given, and the rest worked out.

The only part of the package that knows a scenario.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydroloop.plants.basins import (
    given_area,
    step_volume,
    unit_count,
    units_at_work,
    usual_depth,
)
from hydroloop.plants.contact import BAFFLING
from hydroloop.plants.peaking import FULL_TREATMENT_OVER_DESIGN, sewage_flows
from hydroloop.plants.standards import At, standard
from hydroloop.plants.unit_process import UnitProcess
from hydroloop.scenario.schema_supply import Plant
from hydroloop.scenario.schema_town import Town, Wastewater
from hydroloop.scenario.schema_units import Basin


@dataclass(frozen=True)
class Contact:
    """Chlorine contact in the clearwell.

    Attributes
    ----------
    chlorine_mg_per_l, ph, temperature_c : float
        Free chlorine [mg/L], pH [-] and coldest water [degC] where it leaves.
    baffling : float
        T10 over mean time [-].
    treatment : str
        What comes before: conventional, direct, groundwater or none.
    """

    chlorine_mg_per_l: float
    ph: float
    temperature_c: float
    baffling: float
    treatment: str


@dataclass(frozen=True)
class PlantDesign:
    """A treatment plant: its steps, and the most it is said to carry.

    Attributes
    ----------
    kind : str
        ``"water"`` or ``"wastewater"``.
    processes : tuple of UnitProcess
        In the order of the water.
    capacity : float
        Capacity as the scenario has it [m3/d].
    capacity_at, basis : str
        Flow that this capacity is meant for, and flow in which capacities are compared: water
        plants are built for the maximum day, wastewater plants for the average day and its peak
        hour.
    contact : Contact or None
        Chlorine contact; None for wastewater.
    wells : float
        Most that wells bring to the clearwell past the steps before it; in `capacity` too [m3/d].
    imported : float
        Most that comes treated from outside, past the whole plant; in `capacity` too [m3/d].
    """

    kind: str
    processes: tuple[UnitProcess, ...]
    capacity: float
    capacity_at: At
    basis: At
    contact: Contact | None = None
    wells: float = 0.0
    imported: float = 0.0


def has_steps(town: Town) -> bool:
    """Whether a town's water passes rapid mix to filters before the clearwell: where there is an
    intake, or reclaimed water comes to the plant. Well water goes straight to the clearwell."""
    return town.intake is not None or town.reuse.plant > 0.0


def raw_water(plant: Plant, treated: float) -> float:
    """Raw water for a flow of treated water [m3/d], as in the water account: raw = treated / ((1 -
    sludge) (1 - backwash))."""
    return treated / ((1.0 - plant.sludge) * (1.0 - plant.backwash))


def water_plant(town: Town, capacity: float) -> PlantDesign:
    """The water-treatment plant of a town, with all that is put into supply.

    Steps before the clearwell only where there is an intake, or reclaimed water comes to the plant;
    none at all where all water is bought.
    Steps that the scenario does not size follow from their times at capacity.

    Parameters
    ----------
    town : Town
        As the scenario has it
    capacity : float
        Most treated water the plant makes [m3/d]

    Returns
    -------
    PlantDesign
        Judged at the maximum day

    Notes
    -----
    Basins are sized for raw water at capacity, the clearwell for treated water. Their flow is taken
    as raw water up to the filters (at the filters that is more by the sludge, 0.3 %). Wells flow
    straight to the clearwell, as in the water account, and come in when the plant cannot; bought
    water comes treated, straight to the tanks, and last.

    Examples
    --------
    >>> mouth = {"river": "wren", "at": "16 km"}
    >>> town = Town(people=24000, intake={"river": "wren", "at": "12 km"}, outfall=mouth)
    >>> [unit.process for unit in water_plant(town, 20000.0).processes]
    ['rapid_mix', 'flocculation', 'sedimentation', 'filters', 'clearwell']
    """
    plant = town.plant
    is_whole = has_steps(town)
    treatment = plant.disinfection.treatment or ("conventional" if is_whole else "groundwater")
    raw = raw_water(plant, capacity)
    steps = ["rapid_mix", "flocculation", "sedimentation", "filters"] if is_whole else []
    if treatment == "direct" and "sedimentation" in steps:
        steps.remove("sedimentation")
    processes = [_process(plant, step, (raw, raw), through=raw_water(plant, 1.0)) for step in steps]
    wells = 0.0 if town.wells is None else town.wells.capacity
    if is_whole or wells:
        processes.append(_process(plant, "clearwell", (capacity, capacity)))
    stated = (capacity if is_whole else 0.0) + wells + town.imported
    return PlantDesign(
        "water",
        tuple(processes),
        stated,
        "maximum_day",
        "maximum_day",
        _contact(town, treatment),
        wells if is_whole else 0.0,
        town.imported,
    )


def _contact(town: Town, treatment: str) -> Contact:
    dose, well = town.plant.disinfection, town.plant.basins.clearwell
    measured = well.baffling_factor
    return Contact(
        dose.chlorine_mg_per_l,
        dose.ph,
        dose.temperature,
        BAFFLING[well.baffling] if measured is None else measured,
        treatment,
    )


def wastewater_plant(town: Town, design_flow: float, capacity: float | None = None) -> PlantDesign:
    """The wastewater-treatment plant of a town.

    Steps that the scenario does not size follow from their times at design flow.
    An average: storms come in peaks, and what is beyond the capacity bypasses aeration.

    Parameters
    ----------
    town : Town
        As the scenario has it
    design_flow : float
        Average flow that the plant is built for, above zero [m3/d]
    capacity : float, optional
        Most that gets the full treatment; 2.7 times the design flow if left out [m3/d]

    Returns
    -------
    PlantDesign
        Compared at the average day

    Raises
    ------
    AskError
        If the flow is not above zero.

    Examples
    --------
    >>> town = Town(people=24000, wells={"capacity": "12 ML/day"},
    ...     outfall={"river": "wren", "at": "16 km"})
    >>> wastewater_plant(town, 8000.0).capacity
    21600.0
    """
    works = town.wastewater
    design = sewage_flows(design_flow, town.people)
    steps = ("primary", "aeration", "final_settling", "contact")
    processes = tuple(_process(works, step, (design_flow, design.peak_hour)) for step in steps)
    stated = FULL_TREATMENT_OVER_DESIGN * design_flow if capacity is None else capacity
    return PlantDesign("wastewater", processes, stated, "peak_hour", "average")


def _process(
    works: Plant | Wastewater, step: str, built_for: tuple[float, float], through: float = 1.0
) -> UnitProcess:
    """A step with what is given, and the rest worked out; `built_for` is its mean and peak flow."""
    basin, total = getattr(works.basins, step), step_volume(works, step, built_for[0])
    count = unit_count(step, basin, getattr(works, step) * built_for[0])
    volume = max(total / count, 1e-9)  # a step of no time at all is passed through at once
    area = _area(step, basin, volume, count, built_for)
    return UnitProcess(
        process=step,
        count=count,
        volume=volume,
        area_m2=area,
        depth_m=volume / area,
        through=through,
        width_m=basin.width,
        weir_m=_weir(step, basin, built_for[1] / units_at_work(step, count)),
        kind=getattr(basin, "media", ""),
        given=_given(basin),
    )


def _given(basin: Basin) -> frozenset[str]:
    """What the scenario says of a step: count, volume, area, weir; the rest is worked out."""
    has_area = given_area(basin) is not None
    said = {
        "count": basin.count is not None,
        "volume": basin.volume is not None or (has_area and basin.depth is not None),
        "area": has_area or (basin.volume is not None and basin.depth is not None),
        "weir": getattr(basin, "weir", None) is not None or basin.diameter is not None,
    }
    return frozenset(name for name, is_said in said.items() if is_said)


def _area(
    step: str, basin: Basin, volume: float, count: int, built_for: tuple[float, float]
) -> float:
    """Surface of each unit: given, or from the depth; settling tanks as the standard asks."""
    given = given_area(basin)
    if given is not None:
        return given
    if basin.depth is not None:
        return volume / basin.depth
    area = volume / usual_depth(basin)
    for flow, kind, at in _surface_rules(step, *built_for):
        each = flow / units_at_work(step, count)
        area = max(area, each / _highest(step, "overflow rate", kind, at))
    return area


def _surface_rules(step: str, mean: float, peak: float) -> list[tuple[float, str, At]]:
    """Flows and conditions for which a standard asks a settling tank for its surface."""
    if step == "sedimentation":
        return [(peak, "in place of the detention time", "maximum_day")]
    if step in ("primary", "final_settling"):
        kind = "activated sludge" if step == "final_settling" else ""
        return [(mean, kind, "average"), (peak, kind, "peak_hour")]
    return []


def _highest(step: str, what: str, kind: str = "", at: At | None = None) -> float:
    highest = standard(step, what, kind, at).held_high
    return math.inf if highest is None else highest


def _weir(step: str, basin: Basin, flow: float) -> float | None:
    """Weir of each unit: given, or round a round basin, or as the standard asks."""
    if step != "sedimentation":
        return None
    given = getattr(basin, "weir", None)
    if given is not None:
        return given
    if basin.diameter is not None:
        return math.pi * basin.diameter
    return flow / _highest("sedimentation", "weir load")
