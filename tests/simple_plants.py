"""Simple plants for tests: a clearwell, its chlorine, and the two plants of a town of 20,000."""

from __future__ import annotations

from small_scenarios import one_town

from hydroloop.plants.design import Contact, PlantDesign, wastewater_plant, water_plant
from hydroloop.plants.unit_process import UnitProcess

CAPACITY, SEWAGE = 20_000.0, 8_000.0  # [m3/d]


def clearwell(volume: float = 1000.0, count: int = 2) -> UnitProcess:
    """Equal clearwells, 4 m deep."""
    return UnitProcess("clearwell", count, volume, volume / 4.0, 4.0)


def contact(**changes: float | str) -> Contact:
    """Chlorine contact after conventional treatment, with changes."""
    usual: dict = {
        "chlorine_mg_per_l": 1.0,
        "ph": 7.5,
        "temperature_c": 5.0,
        "baffling": 0.3,
        "treatment": "conventional",
    }
    return Contact(**{**usual, **changes})


def water_of(extra: str = "", capacity: float = CAPACITY) -> PlantDesign:
    """Water plant of a town with more tables in its scenario."""
    return water_plant(one_town(extra).town["larkmill"], capacity)


def wastewater_of(extra: str = "", design_flow: float = SEWAGE) -> PlantDesign:
    """Wastewater plant of a town with more tables in its scenario."""
    return wastewater_plant(one_town(extra).town["larkmill"], design_flow)
