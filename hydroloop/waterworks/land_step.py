"""What land, groundwater and reservoirs decide from the start of a step, before any river acts."""

from __future__ import annotations

from numba import njit

from hydroloop.arguments import unchecked
from hydroloop.waterworks.land import (
    baseflow,
    is_watered,
    pavement_flows,
    soil_flows,
    storm_drain_outflow,
    yard_need,
)
from hydroloop.waterworks.last_day import latest
from hydroloop.waterworks.reservoir import controlled_release, water_surface
from hydroloop.waterworks.river import surface_evaporation
from hydroloop.weather.curve_number import runoff_depth
from hydroloop.weather.snow import melt_depth, snowfall_share

_runoff = njit(unchecked(runoff_depth))
_snowfall_share = njit(unchecked(snowfall_share))
_melt = njit(unchecked(melt_depth))

# Below this mean temperature nobody waters a lawn (common practice).
_WATERING_TEMPERATURE_C = 8.0


@njit
def land_acts(land, sky, watering, state, event_mm, dt):
    """Rain, snow, runoff, soil and yards of one piece of land.

    Parameters
    ----------
    land : record of `LAND`
    sky : tuple of float
        Rain [mm], mean temperature [degC], reference evaporation [mm], open-water evaporation [mm].
    watering : tuple
        What lawns to be watered used in the steps of the last day [mm], number of the step, and how
        much is watered at this hour over the mean of a day [-].
    state : tuple of arrays
        Volumes (store), rates (flow), and water arriving at river stores (store).
    event_mm : float
        Rain and melt of the day before this step [mm].
    dt : float
        Length of the step [d].

    Returns
    -------
    tuple of float
        Rain and melt of the day up to now [mm], and water that yards ask for [m3/d].
    """
    rain_mm, mean_c, reference_mm, open_mm = sky
    volume, rate, _ = state
    per_mm = 1.0 / (1000.0 * dt)
    snow_mm = _snowfall_share(mean_c) * rain_mm
    melt_mm = _melt(mean_c, 1000.0 * volume[land.s_snow] / land.total_area, dt)
    liquid_mm = rain_mm - snow_mm
    wet_mm = liquid_mm + melt_mm
    rate[land.f_snowfall] = snow_mm * per_mm * land.total_area

    rate[land.f_rain_pavement] = liquid_mm * per_mm * land.paved_area
    rate[land.f_melt_pavement] = melt_mm * per_mm * land.paved_area
    evaporated, runoff = pavement_flows(
        volume[land.s_pavement],
        wet_mm * per_mm * land.paved_area,
        open_mm * per_mm * land.paved_area,
        land.depression_mm / 1000.0 * land.paved_area,
        dt,
    )
    rate[land.f_pavement_sky] = evaporated
    rate[land.f_pavement_sewers] = land.storm_share * runoff
    rate[land.f_pavement_drains] = runoff - land.storm_share * runoff

    rate[land.f_rain_soil] = liquid_mm * per_mm * land.soil_area
    rate[land.f_melt_soil] = melt_mm * per_mm * land.soil_area
    runoff_mm = _runoff_of_step(event_mm, wet_mm, land.curve_number)
    evaporated, recharge = soil_flows(
        volume[land.s_soil],
        (wet_mm - runoff_mm) * per_mm * land.soil_area,
        land.crop_coefficient * reference_mm * per_mm * land.soil_area,
        land.soil_depth_mm / 1000.0 * land.soil_area,
        dt,
    )
    rate[land.f_soil_sky] = evaporated
    rate[land.f_soil_recharge] = recharge
    rate[land.f_soil_drains] = runoff_mm * per_mm * land.soil_area

    of_yards = (wet_mm, liquid_mm, melt_mm, mean_c, reference_mm)
    asked = _yards_act(land, of_yards, watering, state, event_mm, dt)
    _drains_act(land, state, dt)
    return event_mm + wet_mm, asked


@njit
def _runoff_of_step(event_mm, wet_mm, number):
    """Runoff of a step of a storm [mm]; never below zero nor above its rain, also when rounded."""
    step_mm = _runoff(event_mm + wet_mm, number) - _runoff(event_mm, number)
    return min(max(0.0, step_mm), wet_mm)


@njit
def _yards_act(land, sky, watering, state, event_mm, dt):
    wet_mm, liquid_mm, melt_mm, mean_c, reference_mm = sky
    volume, rate, _ = state
    if land.yard_area <= 0.0:
        return 0.0
    per_mm = 1.0 / (1000.0 * dt)
    rate[land.f_rain_yards] = liquid_mm * per_mm * land.yard_area
    rate[land.f_melt_yards] = melt_mm * per_mm * land.yard_area
    runoff_mm = _runoff_of_step(event_mm, wet_mm, land.yard_curve_number)
    use_mm = land.yard_crop_coefficient * reference_mm
    held = volume[land.s_yards]
    capacity = land.yard_depth_mm / 1000.0 * land.yard_area
    infiltration = (wet_mm - runoff_mm) * per_mm * land.yard_area
    evaporated, recharge = soil_flows(
        held, infiltration, use_mm * per_mm * land.yard_area, capacity, dt
    )
    rate[land.f_yards_sky] = evaporated
    rate[land.f_yards_recharge] = recharge
    rate[land.f_yards_drains] = runoff_mm * per_mm * land.yard_area
    after = held + dt * (infiltration - evaporated - recharge)
    kept, t, by_hour = watering
    is_warm = mean_c >= _WATERING_TEMPERATURE_C
    to_make_up = use_mm if is_warm and is_watered(held, capacity) else 0.0
    lacking_mm = latest(kept, t, to_make_up).mean() - wet_mm
    if not is_warm:
        return 0.0
    potential = by_hour * lacking_mm / 1000.0 * land.yard_area
    return yard_need(after, potential, capacity, land.yard_efficiency) / dt


@njit
def _drains_act(land, state, dt):
    """Storm drains hand on their water; a catchment without drains sends its runoff straight on."""
    volume, rate, arriving = state
    inflow = rate[land.f_pavement_drains] + rate[land.f_soil_drains] + rate[land.f_yards_drains]
    if land.s_drains >= 0:
        inflow = storm_drain_outflow(volume[land.s_drains], inflow, land.drain_time, dt)
        rate[land.f_drains_out] = inflow
    arriving[land.s_outlet] += inflow


@njit
def groundwater_acts(aquifer, state, dt):
    """Baseflow of one aquifer; returns what is left for sewers and wells [m3/d]."""
    volume, rate, arriving = state
    held = volume[aquifer.s_store]
    flow = baseflow(held, aquifer.drained_volume, aquifer.recession, dt)
    rate[aquifer.f_baseflow] = flow
    arriving[aquifer.s_river] += flow
    return held / dt - flow


@njit
def reservoir_opens(dam, wanted_release, open_mm, state, dt):
    """Evaporation and release of one reservoir; returns what is left for intakes [m3/d]."""
    volume, rate, _ = state
    held = volume[dam.s_store]
    area = water_surface(held, dam.capacity, dam.area)
    evaporated = surface_evaporation(open_mm, area, held, dt)
    release = controlled_release(held, dam.dead_volume, evaporated, wanted_release, dt)
    rate[dam.f_sky] = evaporated
    rate[dam.f_release] = release
    return max(0.0, (held - dam.dead_volume) / dt - evaporated - release)
