"""How long water is under way: from intake to outfall, from outfall to taps, and its age there."""

from __future__ import annotations

import warnings
from dataclasses import replace
from typing import NamedTuple

import numpy as np

from hydroloop.measures.gather.asked import Asked
from hydroloop.measures.gather.dataset import Found
from hydroloop.measures.gather.how_often import Drawn
from hydroloop.measures.transit import PARTS, Transit, transit_times
from hydroloop.measures.uses import season_mean, used_shares_in
from hydroloop.measures.water_age import rain_ages, water_ages
from hydroloop.tracing import used_shares

_LEAST = 1e-6  # smaller shares are told no way of [-]


def how_long(asked: Asked, drawn: Drawn, daily: Found) -> Found:
    """Ages at the tap, and transit times between towns' intakes, outfalls and taps."""
    op, towns = asked.run.op, asked.run.towns
    names, taps = [town.name for town in towns], [town.taps for town in towns]
    places = np.array([*op.places, ""])[op.source]
    ways = [_Ways(transit_times(op, town.drawn, [town.outfalls], places == town.name),
                  transit_times(op, town.outfalls, taps)) for town in towns]
    days = ways[0].own.days
    share, late = _came_from(asked, drawn, daily["delivered"], float(days[-1]))
    nearest = [_nearest(way.far.time[PARTS.index(0.5)], number) for number, way in enumerate(ways)]
    through = np.stack([np.nan_to_num(way.far.share) for way in ways])
    with np.errstate(invalid="ignore", divide="ignore"):
        ground = np.clip(1.0 - through / np.where(late > _LEAST, late, np.nan), 0.0, 1.0)
    values = {
        **water_ages(op, taps), **rain_ages(op, taps),
        "intake_to_outfall_time": np.stack([way.own.time[:, 0] for way in ways], axis=1),
        "intake_to_outfall_share": np.stack([way.own.arrived[0] for way in ways]),
        "intake_to_outfall_ground": np.stack([way.own.ground for way in ways]),
        "intake_to_outfall_pending": np.stack([way.own.pending for way in ways]),
        "outfall_to_tap_time": np.stack([way.far.time for way in ways], axis=1),
        "outfall_to_tap_share": share,
        "outfall_to_tap_ground": ground,
        "outfall_to_tap_pending": np.stack([way.far.pending for way in ways]),
        "outfall_to_tap_spread": np.stack([
            way.far.arrived[0] * 0.0 if to < 0 else way.far.arrived[to]
            for way, to in zip(ways, nearest, strict=True)]),
    }
    return Found(values, {
        "part": list(PARTS), "days_between": days, "town_to": names,
        "next_town": ("town", ["" if to < 0 else names[to] for to in nearest])})


class _Ways(NamedTuple):
    """From a town's intake to its own outfall, and from there to all taps."""

    own: Transit
    far: Transit


def _nearest(median: np.ndarray, own: int) -> int:
    """The other town whose tap a town's effluent reaches first, -1 if none; (to, member)."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # of taps that it does not reach
        time = np.nanmean(median, axis=-1)
    time[own] = np.nan
    return -1 if np.isnan(time).all() else int(np.nanargmin(time))


def _came_from(asked: Asked, drawn: Drawn, taken: np.ndarray,
               days: float) -> tuple[np.ndarray, np.ndarray]:
    """Part of every town's tap water that has come out of each outfall, whatever its way.

    Of the season, and of the time after its first days, (town, town_to, member); NaN for a town
    without an outfall, out of which nothing came.
    """
    op, towns = asked.run.op, asked.run.towns
    whole, rest = (np.full((len(towns), len(towns), op.shape[2]), np.nan) for _ in range(2))
    senders = [number for number, town in enumerate(towns) if town.outfalls.any()]
    if not senders:
        return whole, rest
    fresh = replace(op, used_before=np.ones((len(op.flows), 1)))
    shares = used_shares(fresh, drawn.taps.stores, [towns[k].outfalls for k in senders],
                         [False] * len(senders), warm_up=asked.run.warm_up)
    water = taken * asked.run.days[:, None, None]
    is_late = (op.edge[:-1] - op.edge[0]) / np.timedelta64(1, "D") > days
    for number, share in zip(senders, shares, strict=True):
        at_taps = used_shares_in(drawn.taps, share, np.zeros(len(op.flows)))
        whole[number] = np.nan_to_num(season_mean(at_taps, water))
        rest[number] = season_mean(at_taps, water * is_late[:, None, None])
    return whole, rest
