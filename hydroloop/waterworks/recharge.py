"""Recharge of land by itself: what its soil lets through on average over many years."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import TYPE_CHECKING

import numpy as np

from hydroloop.compiling import compiled, forget_stale
from hydroloop.waterworks.known import Known
from hydroloop.waterworks.land import soil_flows
from hydroloop.waterworks.land_step import curve_number, melt, runoff, snowfall
from hydroloop.waterworks.stepping import RULES

if TYPE_CHECKING:
    from hydroloop.waterworks.whole_network import Works

_YEAR = 365


@dataclass(frozen=True, eq=False)
class Years:
    """Daily weather of whole years.

    Attributes
    ----------
    sky : ndarray of shape (day, 4)
        Rain [mm], mean temperature [degC], reference and open-water evaporation [mm].
    known : Known
        What was worked out of it.
    """

    sky: np.ndarray
    known: Known = field(default_factory=Known)


def day_means(sky: np.ndarray, step: float) -> np.ndarray:
    """The weather of steps by the day: sums of depths, mean temperature (day, 4)."""
    per_day = round(1.0 / step)
    days = sky.reshape(-1, per_day, sky.shape[1]).sum(axis=1)
    days[:, 1] /= per_day
    return days


def recharge_by_land(works: Works, years: Years, last: int | None = None) -> np.ndarray:
    """Mean recharge of each aquifer from the soil over it, with nobody watering [m3/d]; of the last
    days alone where `last` says how many. The years' first goes before, for soil and snow to
    settle."""
    grounds = works.tables.aquifers
    soils = np.concatenate([_soils(works, ""), _soils(works, "yard_")])
    aquifer = np.tile(_aquifer_below(works), 2)[soils[:, 0] > 0.0]
    soils = soils[soils[:, 0] > 0.0]
    if not len(soils):
        return np.zeros(len(grounds))
    area, kinds = soils[:, 0], soils[:, 1:]
    mean_mm = years.known.once(
        lambda: _percolation_mm(years, kinds, last), kinds, np.array([last or 0])
    )
    entering = area / 1000.0 * mean_mm
    return (1.0 - grounds["interflow_share"]) * np.bincount(aquifer, entering, len(grounds))


def _soils(works: Works, of: str) -> np.ndarray:
    """Area [m2], depth [mm], curve number, crop coefficient and recession of the subsoil [d] of
    each land's soil, or of its yards."""
    lands = works.tables.lands
    below = works.tables.aquifers["interflow_recession"][_aquifer_below(works)]
    area = lands[f"{of or 'soil_'}area"]
    depth = lands[f"{of or 'soil_'}depth_mm"]
    return np.column_stack(
        [area, depth, lands[f"{of}curve_number"], lands[f"{of}crop_coefficient"], below]
    )


def _aquifer_below(works: Works) -> np.ndarray:
    """Number of the aquifer under each land."""
    subsoil = works.ends.target[works.tables.lands["f_soil_percolation"]]
    order = np.argsort(works.tables.aquifers["s_subsoil"])
    return order[np.searchsorted(works.tables.aquifers["s_subsoil"], subsoil, sorter=order)]


def _percolation_mm(years: Years, soils: np.ndarray, last: int | None) -> np.ndarray:
    """Mean that passes the subsoil below each soil, once for those of one kind [mm/d]."""
    _forget_stale_once()
    kinds, which = np.unique(soils, axis=0, return_inverse=True)
    sky = np.concatenate([years.sky[:_YEAR], years.sky])
    return _passed_mm(sky, kinds, len(sky) - (last or len(years.sky)))[which.ravel()]


@cache
def _forget_stale_once() -> None:
    forget_stale(_passed_mm, RULES)


@compiled
def _passed_mm(sky, soils, since):
    """Mean that passes each subsoil from a day on; per unit of area, so that volumes are depths."""
    days = len(sky)
    wet = np.empty(days)
    snow = 0.0
    for t in range(days):
        snow += snowfall(sky[t, 1]) * sky[t, 0]
        melted = melt(sky[t, 1], snow, 1.0)
        snow -= melted
        wet[t] = sky[t, 0] * (1.0 - snowfall(sky[t, 1])) + melted
    passed = np.zeros(len(soils))
    for i in range(len(soils)):
        depth, number, crop, recession = soils[i, 0], soils[i, 1], soils[i, 2], soils[i, 3]
        held, below, drains = 0.5 * depth, 0.0, 1.0 - np.exp(-1.0 / recession)
        for t in range(days):
            wetness = min(1.0, held / depth)
            entering = wet[t]
            if entering > 0.0:
                entering -= runoff(entering, curve_number(wetness, number))
            evaporated, percolation = soil_flows(held, entering, crop * sky[t, 2], depth, 1.0)
            held = max(0.0, held + entering - evaporated - percolation)
            left = drains * below
            below += percolation - left
            if t >= since:
                passed[i] += left
    return passed / (days - since)
