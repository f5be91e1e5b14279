"""The stepping loop: every step, each part decides in turn, and the volumes follow."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np
from numba import njit

from hydroloop.compiling import compiled, forget_stale, lent
from hydroloop.waterworks.drought_step import stages_act
from hydroloop.waterworks.land_step import (
    ground_acts,
    land_acts,
    reservoir_opens,
    rivers_gain,
    storm_begins,
)
from hydroloop.waterworks.layout import (
    CELL_EMPTIES,
    CELL_FILLS,
    PLAN,
    TOWN_ACTS,
    Asked,
    Between,
    Ends,
    Left,
    Means,
    Season,
    Series,
    Sky,
    State,
    Tables,
    Watering,
)
from hydroloop.waterworks.river import allowed_withdrawal
from hydroloop.waterworks.river_step import cell_empties, cell_fills, reservoir_acts
from hydroloop.waterworks.town_step import (
    town_cleans,
    town_prepares,
    town_treats,
    town_uses,
)
from hydroloop.weather import antecedent, curve_number, snow

RULES = (
    *Path(__file__).parent.glob("*.py"),
    *(Path(str(rules.__file__)) for rules in (antecedent, curve_number, snow)),
)


def run_season(
    tables: Tables, series: Series, ends: Ends, first_volume: np.ndarray, dt: float
) -> Season:
    """Volumes, rates and demand of a whole season, from volumes at the first edge, in steps of dt
    days."""
    season = _room(tables, ends, len(series.sky), first_volume)
    sums = np.zeros(0), np.zeros(0)
    _step(tables, series, ends, season, sums, dt)
    return season


def run_past(
    tables: Tables, series: Series, ends: Ends, first_volume: np.ndarray, dt: float
) -> Means:
    """Means over a time before the season and the last volumes; the rest as for `run_season`."""
    season = _room(tables, ends, 1, first_volume)
    sums = np.zeros(len(ends.source) + 1), np.zeros(len(first_volume) + 1)
    _step(tables, series, ends, season, sums, dt)
    steps = len(series.sky)
    moved, held = (total[:-1] / steps for total in sums)
    return Means(season.volume[steps % 2, :-1], moved, held)


def _room(tables: Tables, ends: Ends, steps: int, first_volume: np.ndarray) -> Season:
    volume = np.zeros((steps + 1, len(first_volume) + 1))
    volume[0, :-1] = first_volume
    towns = len(tables.towns)
    return Season(
        volume,
        np.zeros((steps, len(ends.source) + 1)),
        np.zeros((steps, towns, 3)),
        np.zeros((steps, towns, 3)),
        np.zeros((steps, len(tables.stages))),
    )


def _step(
    tables: Tables,
    series: Series,
    ends: Ends,
    season: Season,
    sums: tuple[np.ndarray, np.ndarray],
    dt: float,
) -> None:
    plans = np.zeros(max(1, len(tables.towns)), dtype=PLAN)
    between = _between(tables, season.volume.shape[1], max(1, round(1.0 / dt)))
    _forget_stale_once()
    _step_through(tables, _by_day(series), ends, season, plans, between, sums, dt)


def _between(tables: Tables, stores: int, per_day: int) -> Between:
    towns, lands = len(tables.towns), len(tables.lands)
    grounds, dams = len(tables.aquifers) + 1, len(tables.reservoirs) + 1
    return Between(
        arriving=np.zeros(stores),
        net=np.zeros(stores),
        ground_left=np.zeros(grounds),
        dam_left=np.zeros(dams),
        withdrawn=np.zeros(dams),
        passing=np.full(len(tables.cells) + 1, np.inf),  # no river is known to be low yet
        asked_by_yards=np.zeros(lands + 1),
        to_sewers=np.zeros(grounds),
        storm=np.zeros((lands, 3)),
        cut_share=np.zeros((towns, 3)),
        standing=np.zeros(len(tables.stages)),
        lawns_kept=np.zeros((lands, per_day)),
        yards_kept=np.zeros((towns, per_day)),
        tanks_kept=np.zeros((towns, per_day)),
    )


def _by_day(series: Series) -> Series:
    """The same with the day's mean temperature in all its steps: snow goes by degree-days."""
    days = np.flatnonzero(series.begins)
    if len(days) == len(series.begins):
        return series
    sky = np.array(series.sky)
    steps = np.diff(np.append(days, len(sky)))
    sky[:, 1] = np.repeat(np.add.reduceat(sky[:, 1], days) / steps, steps)
    return series._replace(sky=sky)


@cache
def _forget_stale_once() -> None:
    forget_stale(_step_through, RULES)


@compiled
def _step_through(tables, series, ends, season, plans, between, sums, dt):
    tables, series, ends, season, plans, between = lent(
        (tables, series, ends, season, plans, between)
    )
    # A season holds every step, or, where only the sums and the last volumes are wanted, so few
    # rows that they are used in turn.
    towns, lands, aquifers = tables.towns, tables.lands, tables.aquifers
    cells, reservoirs, order = tables.cells, tables.reservoirs, tables.order
    volume, rate, demand, cut = season.volume, season.rate, season.demand, season.cut
    arriving, passing, withdrawn = between.arriving, between.passing, between.withdrawn
    ground_left, dam_left, to_sewers = between.ground_left, between.dam_left, between.to_sewers
    asked_by_yards, storm = between.asked_by_yards, between.storm
    cut_share, standing = between.cut_share, between.standing
    for t in range(len(series.sky)):
        sky = Sky(series.sky[t, 0], series.sky[t, 1], series.sky[t, 2], series.sky[t, 3])
        row = t % len(rate)
        held, after, moved = volume[t % len(volume)], volume[(t + 1) % len(volume)], rate[row]
        moved[:] = 0.0
        state = State(held, moved, arriving)
        arriving[:] = 0.0
        withdrawn[:] = 0.0
        for i in range(len(aquifers)):
            ground_left[i], to_sewers[i] = ground_acts(aquifers[i], state, dt)
        for i in range(len(reservoirs)):
            wanted = series.release[t, i]
            dam_left[i] = reservoir_opens(reservoirs[i], wanted, sky.open_water_mm, state, dt)
        for i in range(len(lands)):
            if series.begins[t]:
                storm_begins(lands[i], storm[i], held)
            watering = Watering(between.lawns_kept[i], t, series.factors[t, 2])
            asked_by_yards[i] = land_acts(lands[i], sky, watering, state, storm[i], dt)
        inflows = (series.head_inflow[t], series.lateral_inflow[t])
        rivers_gain(tables, inflows, state, dt)
        stages_act(tables, passing, held, (standing, cut_share), dt)
        season.in_force[row] = standing
        for k in range(len(towns)):
            town = towns[k]
            full = (
                town.homes_demand * series.factors[t, 0],
                town.work_demand * series.factors[t, 1],
                asked_by_yards[town.land],
            )
            for use in range(3):
                cut[row, k, use] = cut_share[k, use] * full[use]
                demand[row, k, use] = full[use] - cut[row, k, use]
            mean_indoors = town.homes_demand * (1.0 - cut_share[k, 0])
            mean_indoors += town.work_demand * (1.0 - cut_share[k, 1])
            asked = Asked(
                demand[row, k, 0],
                demand[row, k, 1],
                demand[row, k, 2],
                mean_indoors,
                between.yards_kept[k],
                between.tanks_kept[k],
                t,
            )
            town_prepares(town, plans[k], asked, to_sewers[town.aquifer], state, dt)
        for e in range(len(order)):
            what, i = order[e, 0], order[e, 1]
            if what == CELL_FILLS:
                inflow = series.head_inflow[t, cells[i].river]
                passing[i] = cell_fills(cells[i], sky, inflow, state, dt)
            elif what == CELL_EMPTIES:
                cell_empties(cells[i], passing[i], state)
            elif what == TOWN_ACTS:
                left = Left(passing, dam_left, withdrawn, ground_left, series.minimum_flow[t, i])
                _town_acts(towns[i], lands[towns[i].land], plans[i], left, state, dt)
            else:
                reservoir_acts(reservoirs[i], withdrawn[i], sky, state, dt)
        _settle(held, after, moved, ends, between.net, dt)
        if len(sums[0]):
            sums[0][:] += moved
            sums[1][:] += held


@njit
def _town_acts(town, land, plan, left, state, dt):
    rate = state.rate
    wanted = max(0.0, plan.raw - rate[town.f_reuse_plant] - rate[town.f_washwater])
    taken = 0.0
    if town.intake_cell >= 0:
        taken = allowed_withdrawal(
            wanted, left.passing[town.intake_cell], left.minimum_flow, town.intake_limit
        )
        left.passing[town.intake_cell] -= taken
    elif town.intake_reservoir >= 0:
        taken = min(wanted, town.intake_limit, left.dam[town.intake_reservoir])
        left.dam[town.intake_reservoir] -= taken
        left.withdrawn[town.intake_reservoir] += taken
    made, wells = town_treats(town, plan, taken, left.ground[town.wells_aquifer], state)
    left.ground[town.wells_aquifer] -= wells
    sewage = town_uses(town, land, plan, made, state, dt)
    town_cleans(town, land, sewage, state, dt)


@njit
def _settle(held, after, flows, ends, net, dt):
    """Volumes at the end of a step: what was there, plus what came, less what left.

    The rules see to it that nothing falls below zero; the `max` only takes away a last-digit
    rounding, some 1e-16 of the throughflow.
    """
    source, target, full = ends.source, ends.target, ends.full
    net[:] = 0.0
    for flow in range(len(source)):
        net[source[flow]] -= flows[flow]
        net[target[flow]] += flows[flow]
    for store in range(len(held) - 1):
        after[store] = held[store] if full[store] else max(0.0, held[store] + dt * net[store])
