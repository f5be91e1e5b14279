"""How long water is under way: from intake to outfall, from outfall to taps, and its age there."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from hydroloop.measures.gather.asked import Asked
from hydroloop.measures.gather.dataset import Found
from hydroloop.measures.towns import Town
from hydroloop.measures.transit import PARTS, transit_times
from hydroloop.measures.uses import Mix, season_mean, used_shares_in
from hydroloop.measures.water_age import rain_ages, water_ages
from hydroloop.tracing import Operator, used_shares
from hydroloop.tracing.since import between, only

NEAREST = 5
"""Towns whose taps an outfall is followed to at most: those that its water reaches first."""

_LEAST = 1e-6  # smaller shares are told no way of [-]


def how_long(asked: Asked, daily: Found) -> Found:
    """Ages at the tap, and transit times between towns' intakes, outfalls and taps."""
    op, towns = asked.run.op, asked.run.towns
    names, taps = [town.name for town in towns], [town.taps for town in towns]
    near = nearest_taps(op, towns)
    places = np.array([*op.places, ""])[op.source]
    own = [transit_times(op, town.drawn, [town.outfalls], places == town.name) for town in towns]
    # What it loses into the ground is not told: so it is followed no further than to those taps.
    untold = np.zeros(len(op.flows), dtype=bool)
    far = [
        transit_times(op, town.outfalls, [taps[k] for k in ends], untold)
        for town, ends in zip(towns, near, strict=True)
    ]
    days = own[0].days
    share, late = _came_from(asked, near, daily["delivered"], float(days[-1]))
    time = _spread_out(near, [np.moveaxis(way.time, 0, 1) for way in far])
    through = np.nan_to_num(_spread_out(near, [way.share for way in far]))
    nearest = [_nearest(half, number) for number, half in enumerate(time[:, :, PARTS.index(0.5)])]
    with np.errstate(invalid="ignore", divide="ignore"):
        ground = np.clip(1.0 - through / np.where(late > _LEAST, late, np.nan), 0.0, 1.0)
    values = {
        **water_ages(op, taps),
        **rain_ages(op, taps),
        "intake_to_outfall_time": np.stack([way.time[:, 0] for way in own], axis=1),
        "intake_to_outfall_share": np.stack([way.arrived[0] for way in own]),
        "intake_to_outfall_ground": np.stack([way.ground for way in own]),
        "intake_to_outfall_pending": np.stack([way.pending for way in own]),
        "outfall_to_tap_time": np.moveaxis(time, 2, 0),
        "outfall_to_tap_share": share,
        "outfall_to_tap_ground": ground,
        "outfall_to_tap_pending": np.stack([way.pending for way in far]),
        "outfall_to_tap_spread": np.stack(
            [
                way.arrived[ends.index(to)] if to >= 0 else np.zeros(way.arrived.shape[1:])
                for way, ends, to in zip(far, near, nearest, strict=True)
            ]
        ),
    }
    return Found(
        values,
        {
            "part": list(PARTS),
            "days_between": days,
            "town_to": names,
            "next_town": ("town", ["" if to < 0 else names[to] for to in nearest]),
        },
    )


def nearest_taps(op: Operator, towns: Sequence[Town]) -> list[list[int]]:
    """The towns to whose taps each town's effluent is followed: all where they are few, else those
    that it reaches by the fewest stores."""
    if len(towns) <= NEAREST:
        return [list(range(len(towns)))] * len(towns)
    runs = op.runs
    inner = runs & (op.source >= 0) & (op.target >= 0)
    after: list[list[int]] = [[] for _ in op.stores]
    for tail, head in zip(op.source[inner].tolist(), op.target[inner].tolist(), strict=True):
        after[tail].append(head)
    drawn: dict[int, list[int]] = {}
    for number, town in enumerate(towns):
        for store in np.unique(op.source[town.taps & runs]).tolist():
            drawn.setdefault(store, []).append(number)
    return [
        _reached_first(after, drawn, np.unique(op.target[town.outfalls & runs]).tolist())
        for town in towns
    ]


def _reached_first(
    after: list[list[int]], drawn: dict[int, list[int]], begin: list[int]
) -> list[int]:
    """Towns whose taps are reached first along the flows, in the order of the towns."""
    edge = [store for store in begin if store >= 0]
    seen, found = set(edge), dict[int, None]()
    while edge and len(found) < NEAREST:
        found |= dict.fromkeys(town for store in edge for town in drawn.get(store, ()))
        further = dict.fromkeys(store for one in edge for store in after[one])
        edge = [store for store in further if store not in seen]
        seen.update(edge)
    return sorted(list(found)[:NEAREST])


def _spread_out(near: list[list[int]], values: list[np.ndarray]) -> np.ndarray:
    """Values of each town's nearest, (to, ...), among all: shape (town, to, ...), else NaN."""
    found = np.full((len(near), len(near), *values[0].shape[1:]), np.nan)
    for own, ends, told in zip(found, near, values, strict=True):
        own[ends] = told
    return found


def _nearest(median: np.ndarray, own: int) -> int:
    """The other town whose tap a town's effluent reaches first, -1 if none; (to, member)."""
    told = ~np.isnan(median)
    time = np.full(len(median), np.nan)  # of taps that it does not reach
    np.divide(np.nansum(median, axis=-1), told.sum(axis=-1), out=time, where=told.any(axis=-1))
    time[own] = np.nan
    return -1 if np.isnan(time).all() else int(np.nanargmin(time))


def _came_from(
    asked: Asked, near: list[list[int]], taken: np.ndarray, days: float
) -> tuple[np.ndarray, np.ndarray]:
    """Part of the tap water of the nearest towns that has come out of each outfall, whatever its
    way.

    Of the season, and of the time after its first days, (town, town_to, member); NaN for a town
    without an outfall, out of which nothing came, and for towns that are not among its nearest.
    """
    op, towns = asked.run.op, asked.run.towns
    whole, rest = (np.full((len(towns), len(towns), op.shape[2]), np.nan) for _ in range(2))
    fresh = replace(op, used_before=np.ones((len(op.flows), 1)))
    water = taken * asked.run.days[:, None, None]
    is_late = (op.edge[:-1] - op.edge[0]) / np.timedelta64(1, "D") > days
    for number, (town, ends) in enumerate(zip(towns, near, strict=True)):
        if not town.outfalls.any():
            continue
        at_taps = _at_taps(fresh, town.outfalls, [towns[k].taps for k in ends], asked.run.warm_up)
        given = water[:, ends]
        whole[number, ends] = np.nan_to_num(season_mean(at_taps, given))
        rest[number, ends] = season_mean(at_taps, given * is_late[:, None, None])
    return whole, rest


def _at_taps(
    op: Operator, outfalls: np.ndarray, taps: list[np.ndarray], warm_up: str
) -> np.ndarray:
    """Part of the water at taps that has come out of some outfalls, (time, taps, member)."""
    shut = np.zeros(len(op.flows), dtype=bool)
    inside = between(op, outfalls, shut, np.unique(op.source[np.any(taps, axis=0)]))
    part, flows = only(op, inside)
    mix = Mix(part, [own[flows] for own in taps])
    (share,) = used_shares(part, mix.stores, [outfalls[flows]], [False], warm_up=warm_up)
    return used_shares_in(mix, share, np.zeros(len(flows)))
