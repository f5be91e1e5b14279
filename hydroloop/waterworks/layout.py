"""The tables that the stepping loop reads: one row a town, a land unit, a river cell, a reservoir.

They are structured arrays, so that compiled code can say ``town.sludge``. Fields that begin with
``s_`` hold the number of a store and those with ``f_`` the number of a flow. A part that a town
does not have points to one spare store or flow behind the last; the loop must leave those at zero,
and `simulate` checks that it did. What the loop is handed and hands on has names, too.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np


def _table(numbers: str, whole: str) -> np.dtype:
    fields = [(name, "f8") for name in numbers.split()] + [(name, "i8") for name in whole.split()]
    return np.dtype(fields)


TOWN = _table(
    # m3/d, m3, d and shares
    "homes_demand work_demand intake_limit plant_capacity sludge backwash "
    "wells_capacity import_limit tanks_volume tanks_target refill real_losses "
    "toilets baths taps laundry homes_consumed septic work_consumed work_toilets yard_efficiency "
    "infiltration sewer_capacity sewer_storage sewer_time secondary_capacity "
    "wastewater_sludge pond_time "
    "reuse_yards reuse_groundwater reuse_plant reuse_reservoir reclaimed_volume",
    # what it stands on and takes from
    "land aquifer wells_aquifer intake_cell intake_reservoir backwash_to has_plant has_pond "
    "s_washwater s_tanks s_sewers s_into s_reclaimed s_pond s_outfall s_discharge s_yards "
    "f_intake f_wells f_import f_mix f_settle f_filter f_plant_sludge f_backwash f_washwater "
    "f_clear f_supply_tanks f_supply_mains f_leak "
    "f_toilets f_baths f_taps f_laundry f_work f_work_toilets f_yards "
    "f_toilets_sewage f_baths_sewage f_taps_sewage f_laundry_sewage "
    "f_work_sewage f_work_toilets_sewage "
    "f_toilets_septic f_baths_septic f_taps_septic f_laundry_septic "
    "f_toilets_sky f_baths_sky f_taps_sky f_laundry_sky f_work_sky f_work_toilets_sky f_yards_sky "
    "f_infiltration f_overflow f_primary f_aeration f_bypass f_final f_contact f_primary_sludge "
    "f_final_sludge f_outfall f_pond f_reclaimed f_reuse_yards f_reuse_groundwater f_reuse_plant "
    "f_reuse_reservoir",
)

LAND = _table(
    # m2, mm, shares
    "total_area paved_area soil_area yard_area soil_depth_mm yard_depth_mm depression_mm "
    "curve_number yard_curve_number crop_coefficient yard_crop_coefficient yard_efficiency "
    "storm_share drain_time",
    "s_snow s_pavement s_soil s_yards s_drains s_outlet "
    "f_snowfall f_rain_pavement f_rain_soil f_rain_yards f_melt_pavement f_melt_soil f_melt_yards "
    "f_pavement_sky f_soil_sky f_yards_sky f_pavement_drains f_pavement_sewers f_soil_drains "
    "f_yards_drains f_soil_percolation f_yards_percolation f_drains_out",
)

# Groundwater and the subsoil above it, which feeds it and gives interflow. `infiltration` is that
# of all sewers over it, `artificial` what leaks and on-site systems add in the long run [m3/d], and
# `mean_active` the long-run mean of what lies above `drained_volume` [m3].
AQUIFER = _table(
    "drained_volume recession mean_active infiltration artificial interflow_share "
    "interflow_recession",
    "s_store s_subsoil s_river f_baseflow f_interflow f_recharge",
)

# Streams of a catchment, and their mouths: which share of their flow joins the river where.
STREAMS = _table("recession", "s_store")
MOUTH = _table("share", "streams s_river f_flow")

# Water that joins a river along its length: what share of the lateral inflow that is given, or of
# the inflow at the head, joins where.
LATERAL = _table("share", "river of_head s_river f_flow")

PLAN = _table("homes work yards yards_asked leak need aim raw", "")

CELL = _table(
    "storage_factor speed_exponent area",
    "s_store s_next f_out f_rain f_sky f_head river",
)

STAGE = _table("begins_below ends_above hold homes work yards capacity", "cell s_reservoir")

RESERVOIR = _table(
    "capacity dead_volume area",
    "s_store s_next f_rain f_sky f_release f_spill",
)

# What an entry of the order of events asks for.
CELL_FILLS, TOWN_ACTS, CELL_EMPTIES, RESERVOIR_ACTS = range(4)

# Where wash water goes.
TO_SEWER, TO_RIVER, TO_PLANT = range(3)


class Tables(NamedTuple):
    """What a scenario is drawn up as: one table of each kind of part, and what acts when."""

    towns: np.ndarray
    lands: np.ndarray
    aquifers: np.ndarray
    streams: np.ndarray
    mouths: np.ndarray
    laterals: np.ndarray
    cells: np.ndarray
    reservoirs: np.ndarray
    order: np.ndarray  # (event, 2): what acts, and its number
    stages: np.ndarray
    follows: np.ndarray  # (stage, town)


class Ends(NamedTuple):
    """Source and target store of each flow, -1 for the spare one; which stores are always full."""

    source: np.ndarray
    target: np.ndarray
    full: np.ndarray


class Series(NamedTuple):
    """What drives the steps from outside."""

    sky: np.ndarray  # (time, 4), the fields of `Sky`
    head_inflow: np.ndarray  # (time, river) [m3/d]
    lateral_inflow: np.ndarray  # (time, river) [m3/d]
    release: np.ndarray  # (time, reservoir) [m3/d]
    factors: np.ndarray  # (time, 3): homes, workplaces and yards over the day's mean [-]
    begins: np.ndarray  # (time,): whether a day begins
    minimum_flow: np.ndarray  # (time, town): to be left at the intake [m3/d]


class Season(NamedTuple):
    """What the steps come to; the last store and flow are the spare ones and stay at zero."""

    volume: np.ndarray  # (edge, store + 1) [m3]
    rate: np.ndarray  # (time, flow + 1) [m3/d]
    demand: np.ndarray  # (time, town, 3) [m3/d]
    cut: np.ndarray  # (time, town, 3): what drought stages cut of it [m3/d]
    in_force: np.ndarray  # (time, stage): days that a stage has been in force [d]


class Means(NamedTuple):
    """Means of some steps, and the volumes at their end."""

    end: np.ndarray  # (store,) [m3]
    rate: np.ndarray  # (flow,) [m3/d]
    volume: np.ndarray  # (store,) [m3]


class Between(NamedTuple):
    """What the parts leave for each other in a step, and for the steps of the day after it."""

    arriving: np.ndarray  # (store + 1,): water on its way there [m3/d]
    net: np.ndarray  # (store + 1,): what came less what left [m3/d]
    ground_left: np.ndarray  # (aquifer + 1,) [m3/d]
    dam_left: np.ndarray  # (reservoir + 1,) [m3/d]
    withdrawn: np.ndarray  # (reservoir + 1,) [m3/d]
    passing: np.ndarray  # (cell + 1,) [m3/d]
    asked_by_yards: np.ndarray  # (land + 1,) [m3/d]
    to_sewers: np.ndarray  # (aquifer + 1,) [m3/d]
    storm: np.ndarray  # (land, 3): what is wet so far [mm], and the day's curve numbers
    cut_share: np.ndarray  # (town, 3): what drought stages cut [-]
    standing: np.ndarray  # (stage,): days that each has been in force [d]
    lawns_kept: np.ndarray  # (land, step of a day) [mm]
    yards_kept: np.ndarray  # (town, step of a day) [m3/d]
    tanks_kept: np.ndarray  # (town, step of a day) [m3]


class State(NamedTuple):
    """A step as it stands: volumes at its start, rates so far, and water arriving at stores."""

    volume: np.ndarray  # (store + 1,) [m3]
    rate: np.ndarray  # (flow + 1,) [m3/d]
    arriving: np.ndarray  # (store + 1,) [m3/d]


class Sky(NamedTuple):
    """Weather of a step."""

    rain_mm: float
    mean_c: float
    reference_mm: float
    open_water_mm: float


class Watering(NamedTuple):
    """What lawns to be watered used in the steps of the last day, and how much this hour waters."""

    used_mm: np.ndarray  # (step of a day,)
    step: int
    by_hour: float  # over the mean of a day [-]


class Asked(NamedTuple):
    """What a town asks for in a step [m3/d], and what it knows of the last day."""

    homes: float
    work: float
    yards: float
    mean_indoors: float
    yards_kept: np.ndarray  # (step of a day,)
    tanks_kept: np.ndarray  # (step of a day,)
    step: int


class Left(NamedTuple):
    """What is left for intakes and wells in a step [m3/d], and what must pass the intake."""

    passing: np.ndarray  # (cell + 1,)
    dam: np.ndarray  # (reservoir + 1,)
    withdrawn: np.ndarray  # (reservoir + 1,): taken from it so far
    ground: np.ndarray  # (aquifer + 1,)
    minimum_flow: float
