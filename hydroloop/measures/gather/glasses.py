"""Glasses and parcels: single amounts of water, looked back from and followed on."""

from __future__ import annotations

import warnings
from collections.abc import Sequence
from typing import Any

import numpy as np

from hydroloop.measures.gather.asked import Asked
from hydroloop.measures.gather.dataset import Found
from hydroloop.measures.gather.how_often import Drawn
from hydroloop.measures.last import time_since_use
from hydroloop.measures.parcel import ENDS, parcel_fate
from hydroloop.measures.uses import use_shares
from hydroloop.tracing import find_step, has_water, uses_at
from hydroloop.tracing.last_use import check_drawn


def glasses(asked: Asked, drawn: Drawn, daily: Found, more_dates: Sequence[Any]) -> Found:
    """Each town's most-used glass taken apart, glasses of other dates, and a parcel of each."""
    op, towns = asked.counted, asked.run.towns
    wet = _wet_steps(asked)
    steps = _glass_steps(asked, drawn, daily, wet)
    mains = [op.stores.index(town.mains) if town.mains in op.stores else -1 for town in towns]
    own = time_since_use(op, asked.mask, list(zip(mains, steps, strict=True)))
    found = Found({**own, "glass_date": _dates(asked, steps)}, {"days_ago": own.pop("days_ago")})
    del found.values["days_ago"]
    if len(more_dates):
        found |= _of_dates(asked, mains, [find_step(op, date) for date in more_dates],
                           [step >= 0 for step in steps])
    first = [town.first for town in towns]
    begins = [int(np.argmax(wet[name])) if name in wet and wet[name].any() else -1
              for name in first]
    places = [op.stores.index(name) if name in wet else -1 for name in first]
    found.values |= parcel_fate(asked.run.op, asked.mask, asked.most,
                                list(zip(places, begins, strict=True)))
    found.values["parcel_date"] = _dates(asked, begins)
    found.coords["end"] = list(ENDS)
    return found


def _dates(asked: Asked, steps: Sequence[int]) -> np.ndarray:
    """Dates of steps; NaT where there is none."""
    edge = asked.run.op.edge
    return np.array([edge[step] if step >= 0 else np.datetime64("NaT", "ns") for step in steps],
                    dtype=edge.dtype)


def _wet_steps(asked: Asked) -> dict[str, np.ndarray]:
    """Steps in which mains and first stores hold or receive water in any member, by store."""
    op, towns = asked.run.op, asked.run.towns
    names = list(dict.fromkeys(name for town in towns for name in (town.mains, town.first)
                               if name in op.stores))
    wet = has_water(op, np.array([op.stores.index(name) for name in names], dtype=np.int64))
    return {name: np.any(wet[:, place], axis=1) for place, name in enumerate(names)}


def _glass_steps(asked: Asked, drawn: Drawn, daily: Found,
                 wet: dict[str, np.ndarray]) -> list[int]:
    """Step in which each town's tap water was used most, and the record knows when, if it can.

    -1 for a town without a glass.
    """
    op = asked.counted
    known, _ = uses_at(op, drawn.taps.stores, asked.gate, 1, warm_up="none")
    dated_share = use_shares(drawn.taps, known, op.used_before)["used_share"]
    steps = []
    for number, town in enumerate(asked.run.towns):
        used, dated = (_over_members(share[:, number])
                       for share in (daily["used_share"], dated_share))
        # Water that only stands in the mains is nobody's glass.
        is_tapped = bool((daily["delivered"][:, number] > 0.0).any())
        is_wet = wet.get(town.mains, np.zeros(len(used), dtype=bool)) & is_tapped
        used, dated = (np.where(is_wet, part, -1.0) for part in (used, dated))
        is_known = dated >= 0.9 * used
        choice = np.where(is_known, used, -1.0) if (is_known & (used > 0)).any() else used
        best = int(np.argmax(choice))
        steps.append(best if choice[best] >= 0 else -1)
    return steps


def _over_members(share: np.ndarray) -> np.ndarray:
    """Mean of the members that know it, -1 where none does; rounded, so that like days are like."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # of no member that knows it
        mean = np.nanmean(share, axis=-1)
    return np.where(np.isnan(mean), -1.0, mean).round(9)


def _of_dates(asked: Asked, mains: list[int], steps: list[int], known: list[bool]) -> Found:
    """Every town's glass on each date, all looked back from in one pass."""
    op = asked.counted
    for store in [store for store, is_known in zip(mains, known, strict=True) if is_known]:
        check_drawn(op, store, steps)
    told = time_since_use(op, asked.mask, [(store, step if is_known else -1) for step in steps
                                           for store, is_known in zip(mains, known, strict=True)])
    days = told.pop("days_ago")
    names = {"molecules_in_homes_last_month": "glass_homes_last_month"}
    values = {names.get(name, f"glass_{name}"): part.reshape(len(steps), len(mains),
                                                             *part.shape[1:])
              for name, part in told.items()}
    return Found(values, {"glass": op.edge[steps], "days_before": days})
