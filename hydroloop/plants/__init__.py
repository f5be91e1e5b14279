"""Treatment plants: whether they are big enough, by published rules, and what each step takes out.

Pure functions on plain numbers; only `design` knows a scenario.
"""

from hydroloop.plants.basins import basin_volume, given_volume
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
from hydroloop.plants.dosing import (
    chlorine_demand,
    dose_for,
    dose_from,
    feed_for,
    mass_for,
    product_for,
    saturated_fluoride_dose,
    saturated_solution_for,
    solution_mass,
)
from hydroloop.plants.filtration import backwash_share, backwash_volume, drop_test_rate, filter_rate
from hydroloop.plants.growth import (
    Rates,
    Reached,
    Uses,
    bought,
    reached,
    sewage_by_year,
    supply_by_year,
    years_until,
)
from hydroloop.plants.hydraulics import (
    area_for,
    detention_time,
    horizontal_velocity,
    overflow_rate,
    pipe_volume,
    round_area,
    surface_area,
    volume_for,
    weir_for,
    weir_load,
)
from hydroloop.plants.limits import LIMITS, Limit, broken_limits, limits_of
from hydroloop.plants.peaking import (
    Flows,
    peak_hour_ratio,
    season_flows,
    sewage_flows,
    supply_flows,
)
from hydroloop.plants.processes import Measure, UnitProcess, flow_at, measured, measures_of
from hydroloop.plants.readings import Flag, flags
from hydroloop.plants.report import PlantReport, UnitRow, unit_report
from hydroloop.plants.sludge import (
    alum_sludge,
    alum_solids_mg_per_l,
    removed_share,
    sludge_solids,
    solids_removed,
    water_in_sludge,
)
from hydroloop.plants.standards import STANDARDS, Standard, finished_storage_days, standard
from hydroloop.plants.standby import Standby, with_largest_out
from hydroloop.plants.storage import day_equalising_volumes, equalising_volume
from hydroloop.plants.tracer import TracerCurve, pulse_test, step_test, tanks_in_series_time
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
    "Measure",
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
    "alum_sludge",
    "alum_solids_mg_per_l",
    "area_for",
    "available_ct",
    "backwash_share",
    "backwash_volume",
    "basin_volume",
    "bought",
    "broken_limits",
    "capacities",
    "chlorine_demand",
    "contact_by_season",
    "contact_flow",
    "day_equalising_volumes",
    "deciding",
    "detention_time",
    "dose_for",
    "dose_from",
    "drop_test_rate",
    "equalising_volume",
    "feed_for",
    "filter_rate",
    "finished_storage_days",
    "flags",
    "flow_at",
    "giardia_table",
    "given_volume",
    "horizontal_velocity",
    "limits_of",
    "log_inactivation",
    "logs_left",
    "mass_for",
    "measured",
    "measures_of",
    "overflow_rate",
    "peak_hour_ratio",
    "pipe_volume",
    "product_for",
    "pulse_test",
    "reached",
    "removed_share",
    "required_ct",
    "round_area",
    "saturated_fluoride_dose",
    "saturated_solution_for",
    "season_flows",
    "sewage_by_year",
    "sewage_flows",
    "sludge_solids",
    "solids_removed",
    "solution_mass",
    "standard",
    "step_test",
    "supply_by_year",
    "supply_flows",
    "surface_area",
    "t10",
    "table_entry",
    "tanks_in_series_time",
    "unit_report",
    "volume_for",
    "wastewater_plant",
    "water_in_sludge",
    "water_plant",
    "weakest",
    "weir_for",
    "weir_load",
    "wet_and_dry_flows",
    "with_largest_out",
    "years_until",
]
