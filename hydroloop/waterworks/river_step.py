"""What river cells and reservoirs do when their turn comes in a step."""

from __future__ import annotations

from numba import njit

from hydroloop.waterworks.reservoir import spill, water_surface
from hydroloop.waterworks.river import reach_outflow, surface_evaporation


@njit
def cell_fills(cell, sky, head_inflow, state, dt):
    """Flow that reaches the lower end of a river cell, before any intake there [m3/d]."""
    volume, rate, arriving = state.volume, state.rate, state.arriving
    rain = sky.rain_mm / (1000.0 * dt) * cell.area
    if cell.f_head >= 0:
        rate[cell.f_head] = head_inflow
        arriving[cell.s_store] += head_inflow
    water = volume[cell.s_store] + dt * (arriving[cell.s_store] + rain)
    evaporated = surface_evaporation(sky.open_water_mm, cell.area, water, dt)
    rate[cell.f_rain] = rain
    rate[cell.f_sky] = evaporated
    return reach_outflow(
        water - dt * evaporated,
        dt,
        cell.storage_factor,
        cell.speed_exponent,
        volume[cell.s_store],
    )


@njit
def cell_empties(cell, passing, state):
    """Hands on what the intakes left."""
    state.rate[cell.f_out] = passing
    if cell.s_next >= 0:
        state.arriving[cell.s_next] += passing


@njit
def reservoir_acts(dam, withdrawn, sky, state, dt):
    """Rain and spill of a reservoir once all that flows in and is withdrawn is known."""
    rate, arriving, held = state.rate, state.arriving, state.volume[dam.s_store]
    rain = sky.rain_mm / (1000.0 * dt) * water_surface(held, dam.capacity, dam.area)
    rate[dam.f_rain] = rain
    net = arriving[dam.s_store] + rain - rate[dam.f_sky] - rate[dam.f_release] - withdrawn
    over = spill(held, net, dam.capacity, dt)
    rate[dam.f_spill] = over
    arriving[dam.s_next] += rate[dam.f_release] + over
