"""The stepping loop: every step, each part decides in turn, and the volumes follow."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
from numba import njit

from hydroloop.compiling import compiled, forget_stale
from hydroloop.waterworks.drought_step import stages_act
from hydroloop.waterworks.land_step import (
    ground_acts,
    land_acts,
    reservoir_opens,
    rivers_gain,
    storm_begins,
)
from hydroloop.waterworks.layout import CELL_EMPTIES, CELL_FILLS, PLAN, TOWN_ACTS
from hydroloop.waterworks.river import allowed_withdrawal
from hydroloop.waterworks.river_step import cell_empties, cell_fills, reservoir_acts
from hydroloop.waterworks.town_step import (
    town_cleans,
    town_prepares,
    town_treats,
    town_uses,
)
from hydroloop.weather import antecedent, curve_number, snow

RULES = (*Path(__file__).parent.glob("*.py"),
          *(Path(str(rules.__file__)) for rules in (antecedent, curve_number, snow)))  # fmt: skip


def run_season(tables, forcing, ends, first_volume, dt):
    """Volumes, rates and demand of a whole season.

    Parameters
    ----------
    tables : tuple
        Towns, lands, aquifers, streams, mouths, laterals, cells, reservoirs (tables of `layout`),
        the acting order, drought stages, and which town keeps to which stage (stage, town).
    forcing : tuple of ndarray
        Weather of shape (time, 4), head and lateral inflow (time, river) [m3/d], release (time,
        reservoir) [m3/d], factors of homes, workplaces and yards (time, 3) [-], 1 where a day
        begins (time,), and the flow to be left at each town's intake (time, town) [m3/d].
    ends : tuple of ndarray
        Source and target store of each flow (flow,), and whether a store is always full (store,).
    first_volume : ndarray of shape (store,)
        Volumes at the first edge [m3].
    dt : float
        Length of a step [d].

    Returns
    -------
    tuple of ndarray
        Volume (edge, store + 1) [m3], rate (time, flow + 1) [m3/d], demand and what drought stages
        cut of it (time, town, 3) [m3/d], and days that each stage has been in force (time, stage)
        [d]. The last store and flow are the spare ones and stay at zero.
    """
    steps, flows, stores = len(forcing[0]), len(ends[0]), len(first_volume)
    volume = np.zeros((steps + 1, stores + 1))
    volume[0, :-1] = first_volume
    rate = np.zeros((steps, flows + 1))
    demand = np.zeros((steps, len(tables[0]), 3))
    cut = np.zeros_like(demand)
    in_force = np.zeros((steps, len(tables[-2])))
    results = (volume, rate, demand, cut, in_force)
    _forget_stale_once()
    sums = np.zeros(0), np.zeros(0)
    _step_through(tables, _by_day(forcing), ends, (*results, _plans(tables)), sums, dt)
    return results


def run_past(tables, forcing, ends, first_volume, dt):
    """Last volumes of a time before the season, and means over it: nothing else is kept.

    Parameters
    ----------
    tables, forcing, ends, first_volume, dt
        As `run_season` takes them.

    Returns
    -------
    tuple of ndarray
        Volume at the end (store) [m3], mean rate (flow) [m3/d] and mean volume (store) [m3].
    """
    steps, flows, stores = len(forcing[0]), len(ends[0]), len(first_volume)
    volume = np.zeros((2, stores + 1))
    volume[0, :-1] = first_volume
    demand, in_force = np.zeros((1, len(tables[0]), 3)), np.zeros((1, len(tables[-2])))
    results = (volume, np.zeros((1, flows + 1)), demand, demand.copy(), in_force, _plans(tables))
    sums = np.zeros(flows + 1), np.zeros(stores + 1)
    _forget_stale_once()
    _step_through(tables, _by_day(forcing), ends, results, sums, dt)
    moved, held = (total[:-1] / steps for total in sums)
    return volume[steps % 2, :-1], moved, held


def _plans(tables):
    return np.zeros(max(1, len(tables[0])), dtype=PLAN)


def _by_day(forcing):
    """The forcing with the day's mean temperature in all its steps: snow goes by degree-days."""
    weather, begins = np.array(forcing[0]), forcing[-2]
    days = np.flatnonzero(begins)
    steps = np.diff(np.append(days, len(begins)))
    weather[:, 1] = np.repeat(np.add.reduceat(weather[:, 1], days) / steps, steps)
    return weather, *forcing[1:]


@cache
def _forget_stale_once() -> None:
    forget_stale(_step_through, RULES)


@compiled
def _step_through(tables, forcing, ends, results, sums, dt):
    # Results hold every step, or, where only the sums and the last volumes are wanted, so few rows
    # that they are used in turn.
    towns, lands, aquifers, streams, mouths, laterals, cells, reservoirs = tables[:8]
    order, stages, follows = tables[8:]
    weather, head_inflow, lateral_inflow, release, factors, begins, minimum_flow = forcing
    volume, rate, demand, cut, in_force, plans = results
    stores = volume.shape[1]
    arriving = np.zeros(stores)
    ground_left = np.zeros(len(aquifers) + 1)
    dam_left = np.zeros(len(reservoirs) + 1)
    withdrawn = np.zeros(len(reservoirs) + 1)
    passing = np.zeros(len(cells) + 1)
    asked_by_yards = np.zeros(len(lands) + 1)
    to_sewers = np.zeros(len(aquifers) + 1)
    storm = np.zeros((len(lands), 3))
    cut_share = np.zeros((len(towns), 3))
    standing = np.zeros(len(stages))
    per_day = max(1, round(1.0 / dt))
    lawns_kept = np.zeros((len(lands), per_day))
    yards_kept = np.zeros((len(towns), per_day))
    tanks_kept = np.zeros((len(towns), per_day))
    passing[:] = np.inf  # before the first step no river is known to be low
    for t in range(len(weather)):
        sky = (weather[t, 0], weather[t, 1], weather[t, 2], weather[t, 3])
        row = t % len(rate)
        held, after, moved = volume[t % len(volume)], volume[(t + 1) % len(volume)], rate[row]
        moved[:] = 0.0
        state = (held, moved, arriving)
        arriving[:] = 0.0
        withdrawn[:] = 0.0
        for i in range(len(aquifers)):
            ground_left[i], to_sewers[i] = ground_acts(aquifers[i], state, dt)
        for i in range(len(reservoirs)):
            dam_left[i] = reservoir_opens(reservoirs[i], release[t, i], sky[3], state, dt)
        for i in range(len(lands)):
            if begins[t]:
                storm_begins(lands[i], storm[i], held)
            watering = (lawns_kept[i], t, factors[t, 2])
            asked_by_yards[i] = land_acts(lands[i], sky, watering, state, storm[i], dt)
        inflows = (head_inflow[t], lateral_inflow[t])
        rivers_gain(streams, mouths, laterals, inflows, state, dt)
        stages_act(stages, follows, (passing, held, dt), standing, cut_share)
        in_force[row] = standing
        for k in range(len(towns)):
            town = towns[k]
            full = (
                town.homes_demand * factors[t, 0],
                town.work_demand * factors[t, 1],
                asked_by_yards[town.land],
            )
            for use in range(3):
                cut[row, k, use] = cut_share[k, use] * full[use]
                demand[row, k, use] = full[use] - cut[row, k, use]
            mean_indoors = town.homes_demand * (1.0 - cut_share[k, 0])
            mean_indoors += town.work_demand * (1.0 - cut_share[k, 1])
            kept = (yards_kept[k], tanks_kept[k], t)
            asked = (demand[row, k, 0], demand[row, k, 1], demand[row, k, 2], mean_indoors, kept)
            town_prepares(town, plans[k], asked, to_sewers[town.aquifer], state, dt)
        for e in range(len(order)):
            what, i = order[e, 0], order[e, 1]
            if what == CELL_FILLS:
                inflow = head_inflow[t, cells[i].river]
                passing[i] = cell_fills(cells[i], sky, inflow, state, dt)
            elif what == CELL_EMPTIES:
                cell_empties(cells[i], passing[i], state)
            elif what == TOWN_ACTS:
                _town_acts(
                    towns[i],
                    lands[towns[i].land],
                    plans[i],
                    (passing, dam_left, withdrawn, ground_left, minimum_flow[t, i]),
                    state,
                    dt,
                )
            else:
                reservoir_acts(reservoirs[i], withdrawn[i], sky, state, dt)
        _settle(held, after, moved, ends, dt)
        if len(sums[0]):
            sums[0][:] += moved
            sums[1][:] += held


@njit
def _town_acts(town, land, plan, left, state, dt):
    passing, dam_left, withdrawn, ground_left, minimum_flow = left
    _, rate, _ = state
    wanted = max(0.0, plan.raw - rate[town.f_reuse_plant] - rate[town.f_washwater])
    taken = 0.0
    if town.intake_cell >= 0:
        taken = allowed_withdrawal(
            wanted, passing[town.intake_cell], minimum_flow, town.intake_limit
        )
        passing[town.intake_cell] -= taken
    elif town.intake_reservoir >= 0:
        taken = min(wanted, town.intake_limit, dam_left[town.intake_reservoir])
        dam_left[town.intake_reservoir] -= taken
        withdrawn[town.intake_reservoir] += taken
    made, wells = town_treats(town, plan, taken, ground_left[town.wells_aquifer], state)
    ground_left[town.wells_aquifer] -= wells
    sewage = town_uses(town, land, plan, made, state, dt)
    town_cleans(town, land, sewage, state, dt)


@njit
def _settle(held, after, flows, ends, dt):
    """Volumes at the end of a step: what was there, plus what came, less what left.

    The rules see to it that nothing falls below zero; the `max` only takes away a last-digit
    rounding, some 1e-16 of the throughflow.
    """
    source, target, full = ends
    net = np.zeros(len(held))
    for flow in range(len(source)):
        net[source[flow]] -= flows[flow]
        net[target[flow]] += flows[flow]
    for store in range(len(held) - 1):
        after[store] = held[store] if full[store] else max(0.0, held[store] + dt * net[store])
