"""What a town does in a step: first what it decides from the start of the step, then its turn."""

from __future__ import annotations

from numba import njit

from hydroloop.waterworks.last_day import mean_of_day, most_of_day
from hydroloop.waterworks.linear_store import drained
from hydroloop.waterworks.plant_and_mains import (
    needed_input,
    planned_production,
    raw_for,
    shared_out,
)
from hydroloop.waterworks.wastewater import sewer_flows, wet_weather_split


@njit
def town_prepares(town, plan, asked, to_sewers, state, dt):
    """Demand, production aimed at, and reclaimed water sent out; all from the start of the step.

    `to_sewers` is infiltration over its mean [-]. Results go to the row `plan`, to the rates and to
    what arrives at reservoirs.
    """
    homes, work, yards = asked.homes, asked.work, asked.yards
    volume, rate, arriving = state.volume, state.rate, state.arriving
    left = volume[town.s_reclaimed] / dt
    to_yards = min(left, town.reuse_yards, yards)
    left -= to_yards
    plan.yards_asked = yards
    plan.homes, plan.work, plan.yards = homes, work, yards - to_yards
    mean_demand = asked.mean_indoors + mean_of_day(asked.yards_kept, asked.step, plan.yards)
    mean_need = needed_input(mean_demand, town.real_losses)
    plan.leak = mean_need - mean_demand
    plan.need = homes + work + plan.yards + plan.leak
    fullest = most_of_day(asked.tanks_kept, asked.step, volume[town.s_tanks])
    plan.aim = planned_production(
        mean_need,
        plan.need,
        (volume[town.s_tanks], fullest),
        (town.tanks_target, town.tanks_volume, town.refill),
        dt,
    )
    plan.raw = 0.0
    if town.has_plant:
        plan.raw = raw_for(min(plan.aim, town.plant_capacity), town.sludge, town.backwash)
    to_plant = min(left, town.reuse_plant, plan.raw)
    left -= to_plant
    to_dam = min(left, town.reuse_reservoir)
    left -= to_dam
    washwater = min(volume[town.s_washwater] / dt, plan.raw - to_plant)
    rate[town.f_reuse_yards] = to_yards
    rate[town.f_reuse_plant] = to_plant
    rate[town.f_reuse_reservoir] = to_dam
    rate[town.f_reuse_groundwater] = min(left, town.reuse_groundwater)
    rate[town.f_washwater] = washwater
    rate[town.f_infiltration] = to_sewers * town.infiltration
    arriving[town.s_into] += to_dam
    if town.has_pond:
        rate[town.f_outfall] = drained(volume[town.s_pond], town.pond_time, dt)
        arriving[town.s_outfall] += rate[town.f_outfall]


@njit
def town_treats(town, plan, withdrawn, ground_left, state):
    """Raw water through the plant, with wells and imports; returns the flow into the tanks and the
    wells' part [m3/d]."""
    rate, arriving = state.rate, state.arriving
    raw = withdrawn + rate[town.f_reuse_plant] + rate[town.f_washwater]
    settled = raw - town.sludge * raw
    washing = town.backwash * settled
    filtered = settled - washing
    rate[town.f_intake] = withdrawn
    rate[town.f_mix] = raw
    rate[town.f_settle] = raw
    rate[town.f_plant_sludge] = town.sludge * raw
    rate[town.f_filter] = settled
    rate[town.f_backwash] = washing
    rate[town.f_clear] = filtered
    wells = min(town.wells_capacity, max(0.0, plan.aim - filtered), ground_left)
    imported = min(town.import_limit, max(0.0, plan.aim - filtered - wells))
    rate[town.f_wells] = wells
    rate[town.f_import] = imported
    rate[town.f_supply_tanks] = filtered + wells
    if town.backwash_to == 1 and town.has_plant:
        arriving[town.s_discharge] += washing
    return filtered + wells + imported, wells


@njit
def town_uses(town, land, plan, made, state, dt):
    """Mains, leaks, homes, workplaces and yards; returns what they give to the sewers [m3/d]."""
    volume, rate = state.volume, state.rate
    supplied = min(plan.need, made + volume[town.s_tanks] / dt)
    leaked = supplied * plan.leak / plan.need if plan.need > 0.0 else 0.0
    homes, work, yards = shared_out(supplied - leaked, plan.homes, plan.work, plan.yards)
    rate[town.f_supply_mains] = supplied
    rate[town.f_leak] = leaked
    rate[town.f_yards] = yards
    applied = yards + rate[town.f_reuse_yards]
    rate[land.f_yards_sky] += (1.0 - town.yard_efficiency) * applied
    sewage = _homes_use(town, homes, rate)
    flushed = town.work_toilets * work
    sewage += _at_work(
        town,
        flushed,
        rate,
        town.f_work_toilets,
        town.f_work_toilets_sewage,
        town.f_work_toilets_sky,
    )
    sewage += _at_work(town, work - flushed, rate, town.f_work, town.f_work_sewage, town.f_work_sky)
    return sewage


@njit
def _at_work(town, used, rate, f_in, f_sewage, f_sky):
    consumed = town.work_consumed * used
    rate[f_in] = used
    rate[f_sky] = consumed
    rate[f_sewage] = used - consumed
    return used - consumed  # where all is consumed, a little other sewage stays whole


@njit
def _homes_use(town, homes, rate):
    total = 0.0
    total += _one_use(
        town,
        homes * town.toilets,
        rate,
        town.f_toilets,
        town.f_toilets_sewage,
        town.f_toilets_septic,
        town.f_toilets_sky,
    )
    total += _one_use(
        town,
        homes * town.baths,
        rate,
        town.f_baths,
        town.f_baths_sewage,
        town.f_baths_septic,
        town.f_baths_sky,
    )
    total += _one_use(
        town,
        homes * town.laundry,
        rate,
        town.f_laundry,
        town.f_laundry_sewage,
        town.f_laundry_septic,
        town.f_laundry_sky,
    )
    total += _one_use(
        town,
        homes * town.taps,
        rate,
        town.f_taps,
        town.f_taps_sewage,
        town.f_taps_septic,
        town.f_taps_sky,
    )
    return total


@njit
def _one_use(town, used, rate, f_in, f_sewage, f_septic, f_sky):
    consumed = town.homes_consumed * used
    septic = town.septic * (used - consumed)
    rate[f_in] = used
    rate[f_sky] = consumed
    rate[f_septic] = septic
    rate[f_sewage] = used - consumed - septic
    return used - consumed - septic


@njit
def town_cleans(town, land, sewage, state, dt):
    """Sewers, wastewater treatment, reclaimed water and the outfall."""
    volume, rate, arriving = state.volume, state.rate, state.arriving
    inflow = sewage + rate[town.f_infiltration] + rate[land.f_pavement_sewers]
    if town.backwash_to == 0:
        inflow += rate[town.f_backwash]
    carried, overflow = sewer_flows(
        volume[town.s_sewers], inflow, town.sewer_time, town.sewer_capacity, town.sewer_storage, dt
    )
    rate[town.f_primary] = carried
    rate[town.f_overflow] = overflow
    sludge = 0.5 * town.wastewater_sludge * carried
    rate[town.f_primary_sludge] = sludge
    full, bypass = wet_weather_split(carried - sludge, town.secondary_capacity)
    final_sludge = min(sludge, full)
    rate[town.f_aeration] = full
    rate[town.f_bypass] = bypass
    rate[town.f_final] = full
    rate[town.f_final_sludge] = final_sludge
    rate[town.f_contact] = full - final_sludge
    effluent = full - final_sludge + bypass
    sent = (
        rate[town.f_reuse_yards]
        + rate[town.f_reuse_groundwater]
        + rate[town.f_reuse_plant]
        + rate[town.f_reuse_reservoir]
    )
    room = (town.reclaimed_volume - volume[town.s_reclaimed]) / dt + sent
    reclaimed = min(effluent, max(0.0, room))
    rate[town.f_reclaimed] = reclaimed
    arriving[town.s_discharge] += overflow
    if town.has_pond:
        rate[town.f_pond] = effluent - reclaimed
    else:
        rate[town.f_outfall] = effluent - reclaimed
        arriving[town.s_outfall] += effluent - reclaimed
