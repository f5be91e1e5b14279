"""Treatment plants: whether they are big enough, by published rules, and what each step takes out.

Pure functions on plain numbers; only `design` knows a scenario.
"""

from hydroloop.plants.basins import basin_volume, given_volume
from hydroloop.plants.capacity import Capacity, capacities, deciding, weakest
from hydroloop.plants.cautions import CAUTION
from hydroloop.plants.contact import (
    available_ct,
    contact_by_season,
    contact_flow,
    log_inactivation,
    logs_left,
    required_ct,
    t10,
)
from hydroloop.plants.design import (
    Contact,
    PlantDesign,
    wastewater_plant,
    water_plant,
)
from hydroloop.plants.limits import LIMITS, Limit, broken_limits, limits_of
from hydroloop.plants.peaking import Flows, season_flows, sewage_flows, supply_flows
from hydroloop.plants.processes import UnitProcess
from hydroloop.plants.report import PlantReport, UnitRow, unit_report
from hydroloop.plants.standards import STANDARDS, Standard, standard
from hydroloop.plants.wet_and_dry import wet_and_dry_flows

__all__ = [
    "CAUTION",
    "LIMITS",
    "STANDARDS",
    "Capacity",
    "Contact",
    "Flows",
    "Limit",
    "PlantDesign",
    "PlantReport",
    "Standard",
    "UnitProcess",
    "UnitRow",
    "available_ct",
    "basin_volume",
    "broken_limits",
    "capacities",
    "contact_by_season",
    "contact_flow",
    "deciding",
    "given_volume",
    "limits_of",
    "log_inactivation",
    "logs_left",
    "required_ct",
    "season_flows",
    "sewage_flows",
    "standard",
    "supply_flows",
    "t10",
    "unit_report",
    "wastewater_plant",
    "water_plant",
    "weakest",
    "wet_and_dry_flows",
]
