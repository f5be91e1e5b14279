"""What land, groundwater and reservoirs decide from the start of a step, before any river acts."""

from __future__ import annotations

from numba import njit

from hydroloop.arguments import unchecked
from hydroloop.waterworks.land import (
    groundwater_flows,
    is_watered,
    pavement_flows,
    soil_flows,
    storm_drain_outflow,
    yard_need,
)
from hydroloop.waterworks.last_day import mean_of_day
from hydroloop.waterworks.linear_store import drained, streams_outflow
from hydroloop.waterworks.reservoir import controlled_release, water_surface
from hydroloop.waterworks.river import surface_evaporation
from hydroloop.weather.antecedent import curve_number_at
from hydroloop.weather.curve_number import runoff_depth
from hydroloop.weather.snow import melt_depth, snowfall_share

runoff = njit(unchecked(runoff_depth))
curve_number = njit(unchecked(curve_number_at))
snowfall = njit(unchecked(snowfall_share))
melt = njit(unchecked(melt_depth))

# Below this mean temperature nobody waters a lawn (common practice).
_WATERING_TEMPERATURE_C = 8.0


@njit
def storm_begins(land, storm, volume):
    """A day's storm meets the soil as it stands at the first step of the day."""
    storm[0] = 0.0
    storm[1] = curve_number(
        _wetness(volume[land.s_soil], land.soil_depth_mm, land.soil_area), land.curve_number
    )
    storm[2] = curve_number(
        _wetness(volume[land.s_yards], land.yard_depth_mm, land.yard_area), land.yard_curve_number
    )


@njit
def _wetness(volume, depth_mm, area):
    held = depth_mm / 1000.0 * area
    return min(1.0, volume / held) if held > 0.0 else 0.5


@njit
def land_acts(land, sky, watering, state, storm, dt):
    """Rain, snow, runoff, soil and yards of one piece of land; returns what yards ask for [m3/d].

    `storm` holds rain and melt of the day before this step [mm], to which those of the step are
    added, and the curve numbers of soil and yards when the day began [-].
    """
    rain_mm, mean_c, reference_mm = sky.rain_mm, sky.mean_c, sky.reference_mm
    volume, rate = state.volume, state.rate
    per_mm = 1.0 / (1000.0 * dt)
    snow_mm = snowfall(mean_c) * rain_mm
    melt_mm = melt(mean_c, snow_mm + 1000.0 * volume[land.s_snow] / land.total_area, dt)
    liquid_mm = rain_mm - snow_mm
    wet_mm = liquid_mm + melt_mm
    rate[land.f_snowfall] = snow_mm * per_mm * land.total_area

    rate[land.f_rain_pavement] = liquid_mm * per_mm * land.paved_area
    rate[land.f_melt_pavement] = melt_mm * per_mm * land.paved_area
    evaporated, run_off = pavement_flows(
        volume[land.s_pavement],
        wet_mm * per_mm * land.paved_area,
        sky.open_water_mm * per_mm * land.paved_area,
        land.depression_mm / 1000.0 * land.paved_area,
        dt,
    )
    rate[land.f_pavement_sky] = evaporated
    rate[land.f_pavement_sewers] = land.storm_share * run_off
    rate[land.f_pavement_drains] = run_off - land.storm_share * run_off

    rate[land.f_rain_soil] = liquid_mm * per_mm * land.soil_area
    rate[land.f_melt_soil] = melt_mm * per_mm * land.soil_area
    runoff_mm = _runoff_of_step(storm[0], wet_mm, storm[1])
    evaporated, percolation = soil_flows(
        volume[land.s_soil],
        (wet_mm - runoff_mm) * per_mm * land.soil_area,
        land.crop_coefficient * reference_mm * per_mm * land.soil_area,
        land.soil_depth_mm / 1000.0 * land.soil_area,
        dt,
    )
    rate[land.f_soil_sky] = evaporated
    rate[land.f_soil_percolation] = percolation
    rate[land.f_soil_drains] = runoff_mm * per_mm * land.soil_area

    asked = _yards_act(land, sky, (liquid_mm, melt_mm), watering, state, storm, dt)
    _drains_act(land, state, dt)
    storm[0] += wet_mm
    return asked


@njit
def _runoff_of_step(event_mm, wet_mm, number):
    """Runoff of a step of a storm [mm]; never below zero nor above its rain, also when rounded."""
    step_mm = runoff(event_mm + wet_mm, number) - runoff(event_mm, number)
    return min(max(0.0, step_mm), wet_mm)


@njit
def _yards_act(land, sky, wetting, watering, state, storm, dt):
    liquid_mm, melt_mm = wetting
    wet_mm = liquid_mm + melt_mm
    volume, rate = state.volume, state.rate
    if land.yard_area <= 0.0:
        return 0.0
    per_mm = 1.0 / (1000.0 * dt)
    rate[land.f_rain_yards] = liquid_mm * per_mm * land.yard_area
    rate[land.f_melt_yards] = melt_mm * per_mm * land.yard_area
    runoff_mm = _runoff_of_step(storm[0], wet_mm, storm[2])
    use_mm = land.yard_crop_coefficient * sky.reference_mm
    held = volume[land.s_yards]
    capacity = land.yard_depth_mm / 1000.0 * land.yard_area
    infiltration = (wet_mm - runoff_mm) * per_mm * land.yard_area
    evaporated, percolation = soil_flows(
        held, infiltration, use_mm * per_mm * land.yard_area, capacity, dt
    )
    rate[land.f_yards_sky] = evaporated
    rate[land.f_yards_percolation] = percolation
    rate[land.f_yards_drains] = runoff_mm * per_mm * land.yard_area
    after = held + dt * (infiltration - evaporated - percolation)
    is_warm = sky.mean_c >= _WATERING_TEMPERATURE_C
    to_make_up = use_mm if is_warm and is_watered(held, capacity) else 0.0
    lacking_mm = mean_of_day(watering.used_mm, watering.step, to_make_up) - wet_mm
    if not is_warm:
        return 0.0
    potential = watering.by_hour * lacking_mm / 1000.0 * land.yard_area
    return yard_need(after, potential, capacity, land.yard_efficiency) / dt


@njit
def _drains_act(land, state, dt):
    """Storm drains hand on their water; a catchment without drains sends its runoff straight on."""
    volume, rate, arriving = state.volume, state.rate, state.arriving
    inflow = rate[land.f_pavement_drains] + rate[land.f_soil_drains] + rate[land.f_yards_drains]
    if land.s_drains >= 0:
        inflow = storm_drain_outflow(volume[land.s_drains], inflow, land.drain_time, dt)
        rate[land.f_drains_out] = inflow
    arriving[land.s_outlet] += inflow


@njit
def ground_acts(aquifer, state, dt):
    """Interflow, recharge and baseflow of one piece of ground.

    Returns what is left for wells [m3/d], and infiltration into sewers over its mean [-].
    """
    volume, rate, arriving = state.volume, state.rate, state.arriving
    draining = drained(volume[aquifer.s_subsoil], aquifer.interflow_recession, dt)
    interflow = aquifer.interflow_share * draining
    rate[aquifer.f_interflow] = interflow
    rate[aquifer.f_recharge] = draining - interflow
    held = volume[aquifer.s_store]
    flow, to_sewers = groundwater_flows(
        held - aquifer.drained_volume,
        aquifer.recession,
        (aquifer.infiltration, aquifer.mean_active),
        dt,
    )
    rate[aquifer.f_baseflow] = flow
    arriving[aquifer.s_river] += interflow + flow
    return max(0.0, held / dt - flow - to_sewers * aquifer.infiltration), to_sewers


@njit
def rivers_gain(tables, inflows, state, dt):
    """Streams hand on what they gathered, and water joins the rivers along their length.

    `inflows` are those at the heads, and those along the rivers that are given [m3/d].
    """
    volume, rate, arriving = state.volume, state.rate, state.arriving
    head_inflow, lateral_inflow = inflows
    for i in range(len(tables.mouths)):
        mouth = tables.mouths[i]
        gathered = tables.streams[mouth.streams]
        flow = mouth.share * streams_outflow(
            volume[gathered.s_store], arriving[gathered.s_store], gathered.recession, dt
        )
        rate[mouth.f_flow] = flow
        arriving[mouth.s_river] += flow
    for i in range(len(tables.laterals)):
        lateral = tables.laterals[i]
        given = head_inflow if lateral.of_head > 0 else lateral_inflow
        flow = lateral.share * given[lateral.river]
        rate[lateral.f_flow] = flow
        arriving[lateral.s_river] += flow


@njit
def reservoir_opens(dam, wanted_release, open_mm, state, dt):
    """Evaporation and release of one reservoir; returns what is left for intakes [m3/d]."""
    rate, held = state.rate, state.volume[dam.s_store]
    area = water_surface(held, dam.capacity, dam.area)
    evaporated = surface_evaporation(open_mm, area, held, dt)
    release = controlled_release(held, dam.dead_volume, evaporated, wanted_release, dt)
    rate[dam.f_sky] = evaporated
    rate[dam.f_release] = release
    return max(0.0, (held - dam.dead_volume) / dt - evaporated - release)
