"""Treatment plants: whether they are big enough, by published rules, and what each step takes out.

Pure functions on plain numbers; only `design` knows a scenario.
"""

from hydroloop.plants.capacity import Capacity, capacities, deciding, weakest
from hydroloop.plants.cautions import CAUTION
from hydroloop.plants.contact import (
    SeasonContact,
    available_ct,
    contact_by_season,
    contact_flow,
    log_inactivation,
    logs_left,
    required_ct,
    t10,
)
from hydroloop.plants.contact_tables import giardia_table, table_entry
from hydroloop.plants.design import Contact, PlantDesign, wastewater_plant, water_plant
from hydroloop.plants.growth import (
    Rates,
    Reached,
    Uses,
    reached,
    sewage_by_year,
    supply_by_year,
    years_until,
)
from hydroloop.plants.peaking import (
    Flows,
    peak_hour_ratio,
    season_flows,
    sewage_flows,
)
from hydroloop.plants.plant_report import PlantReport, UnitRow, unit_report
from hydroloop.plants.readings import Flag, flags
from hydroloop.plants.standards import STANDARDS, Standard, finished_storage_days, standard
from hydroloop.plants.standby import Standby, with_largest_out
from hydroloop.plants.storage import day_equalising_volumes, equalising_volume
from hydroloop.plants.tap_limits import LIMITS, Limit, broken_limits, limits_of
from hydroloop.plants.tracer import TracerCurve, pulse_test, step_test, tanks_in_series_time
from hydroloop.plants.unit_process import UnitProcess
from hydroloop.plants.wet_and_dry import wet_and_dry_flows

__all__ = [
    "CAUTION",
    "LIMITS",
    "STANDARDS",
    "Capacity",
    "Contact",
    "Flag",
    "Flows",
    "Limit",
    "PlantDesign",
    "PlantReport",
    "Rates",
    "Reached",
    "SeasonContact",
    "Standard",
    "Standby",
    "TracerCurve",
    "UnitProcess",
    "UnitRow",
    "Uses",
    "available_ct",
    "broken_limits",
    "capacities",
    "contact_by_season",
    "contact_flow",
    "day_equalising_volumes",
    "deciding",
    "equalising_volume",
    "finished_storage_days",
    "flags",
    "giardia_table",
    "limits_of",
    "log_inactivation",
    "logs_left",
    "peak_hour_ratio",
    "pulse_test",
    "reached",
    "required_ct",
    "season_flows",
    "sewage_by_year",
    "sewage_flows",
    "standard",
    "step_test",
    "supply_by_year",
    "t10",
    "table_entry",
    "tanks_in_series_time",
    "unit_report",
    "wastewater_plant",
    "water_plant",
    "weakest",
    "wet_and_dry_flows",
    "with_largest_out",
    "years_until",
]
