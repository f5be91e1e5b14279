"""Glasses and parcels: single amounts of water, looked back from and followed on."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from hydroloop.measures.gather.asked import Asked
from hydroloop.measures.gather.dataset import Found
from hydroloop.measures.gather.how_often import Drawn, drawn_in
from hydroloop.measures.last import time_since_use
from hydroloop.measures.parcel import ENDS, parcel_fate, passed_on_entering
from hydroloop.measures.uses import used_shares_in
from hydroloop.tracing import find_step, has_water, used_shares
from hydroloop.tracing.last_use import check_drawn


def glasses(asked: Asked, drawn: Drawn, daily: Found, more_dates: Sequence[Any]) -> Found:
    """Each town's most-used glass taken apart, glasses of other dates, and a parcel of each; every
    member has its own, as it would have alone."""
    op = asked.counted
    dates = [find_step(op, date) for date in more_dates]
    mains = {
        town.mains
        for number, town in enumerate(asked.run.towns)
        if daily["delivered"][:, number].any() and town.mains in op.stores
    }
    for store in sorted(mains):
        check_drawn(op, op.stores.index(store), dates)
    members = op.shape[2]
    if members == 1:
        return _of_one(asked, drawn, daily, dates)
    alone = [asked.member(number) for number in range(members)]
    return _beside_each_other(
        [
            _of_one(
                one,
                drawn_in(one),
                Found({name: daily[name][..., [number]] for name in ("used_share", "delivered")}),
                dates,
            )
            for number, one in enumerate(alone)
        ]
    )


def _beside_each_other(each: list[Found]) -> Found:
    """Members as one; shares by days go as far back as the longest."""
    longest = max(each, key=lambda one: len(one.coords["days_ago"]))
    found = Found({}, longest.coords)
    for name in longest.values:
        parts = [one[name] for one in each]
        if name == "last_use_share":
            size = len(longest.coords["days_ago"])
            parts = [
                np.concatenate(
                    [part, np.repeat(0.0 * part[:, :1], size - part.shape[1], 1)], axis=1
                )
                for part in parts
            ]
        found.values[name] = np.concatenate(parts, axis=-1)
    return found


def _of_one(asked: Asked, drawn: Drawn, daily: Found, dates: list[int]) -> Found:
    """The same of a record without members."""
    op, towns = asked.counted, asked.run.towns
    wet = _wet_steps(asked)
    steps = _glass_steps(asked, drawn, daily, wet)
    mains = [op.stores.index(town.mains) if town.mains in op.stores else -1 for town in towns]
    own = time_since_use(op, asked.mask, list(zip(mains, steps, strict=True)))
    found = Found({**own, "glass_date": _dates(asked, steps)}, {"days_ago": own.pop("days_ago")})
    del found.values["days_ago"]
    if dates:
        found |= _of_dates(asked, mains, dates, [step >= 0 for step in steps])
    first = [town.first for town in towns]
    begins = [
        int(np.argmax(wet[name])) if name in wet and wet[name].any() else -1 for name in first
    ]
    places = [op.stores.index(name) if name in wet else -1 for name in first]
    found.values |= parcel_fate(
        asked.run.op,
        asked.mask,
        asked.most,
        list(zip(places, begins, strict=True)),
        [
            passed_on_entering(asked.run.op, asked.mask, town, step) if step >= 0 else np.zeros(1)
            for town, step in zip(towns, begins, strict=True)
        ],
    )
    found.values["parcel_date"] = _dates(asked, begins)
    found.coords["end"] = list(ENDS)
    return found


def _dates(asked: Asked, steps: Sequence[int]) -> np.ndarray:
    """Dates of steps, NaT where there is none; shape (step, 1)."""
    edge = asked.run.op.edge
    return np.array(
        [[edge[step] if step >= 0 else np.datetime64("NaT", "ns")] for step in steps],
        dtype=edge.dtype,
    ).reshape(-1, 1)


def _wet_steps(asked: Asked) -> dict[str, np.ndarray]:
    """Steps in which mains and first stores hold or receive water, by store."""
    op, towns = asked.run.op, asked.run.towns
    names = list(
        dict.fromkeys(
            name for town in towns for name in (town.mains, town.first) if name in op.stores
        )
    )
    wet = has_water(op, np.array([op.stores.index(name) for name in names], dtype=np.int64))
    return {name: wet[:, place, 0] for place, name in enumerate(names)}


def _glass_steps(asked: Asked, drawn: Drawn, daily: Found, wet: dict[str, np.ndarray]) -> list[int]:
    """Step in which each town's tap water was used most, and the record knows when, if it can.

    -1 for a town without a glass.
    """
    op = asked.counted
    (known,) = used_shares(op, drawn.taps.stores, [asked.mask], [True], warm_up="none")
    dated_share = used_shares_in(drawn.taps, known, op.used_before[:, 1:].sum(axis=1))
    steps = []
    for number, town in enumerate(asked.run.towns):
        # Water that only stands in the mains is nobody's glass.
        is_tapped = bool((daily["delivered"][:, number] > 0.0).any())
        is_wet = wet.get(town.mains, np.zeros(op.shape[0], dtype=bool)) & is_tapped
        # Rounded, so that like days are like.
        used, dated = (
            np.where(is_wet, share[:, number, 0].round(9), -1.0)
            for share in (daily["used_share"], dated_share)
        )
        is_known = dated >= 0.9 * used
        choice = np.where(is_known, used, -1.0) if (is_known & (used > 0)).any() else used
        best = int(np.argmax(choice))
        steps.append(best if choice[best] >= 0 else -1)
    return steps


def _of_dates(asked: Asked, mains: list[int], steps: list[int], known: list[bool]) -> Found:
    """Every town's glass on each date, all looked back from in one pass."""
    op = asked.counted
    told = time_since_use(
        op,
        asked.mask,
        [
            (store, step if is_known else -1)
            for step in steps
            for store, is_known in zip(mains, known, strict=True)
        ],
    )
    days = told.pop("days_ago")
    names = {"molecules_in_homes_last_month": "glass_homes_last_month"}
    values = {
        names.get(name, f"glass_{name}"): part.reshape(len(steps), len(mains), *part.shape[1:])
        for name, part in told.items()
    }
    return Found(values, {"glass": op.edge[steps], "days_before": days})
