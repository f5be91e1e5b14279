"""Records of a few stores and steps from rates alone: volumes follow from what flows in and out."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import xarray as xr
from conserves import assert_closes

from hydroloop.record import Network, build_record


def small_record(
    flows: Sequence[tuple[str, str, str, Any]],
    held: Mapping[str, Any] | None = None,
    days: Sequence[float] = (1.0,),
    **more: Any,
) -> xr.Dataset:
    """A record from (source, target, kind, rate), the rate one number, or one for each step, or for
    each step and member; `held` is what stores hold at first, nothing where it is not said."""
    source, target, kind = ([flow[part] for flow in flows] for part in range(3))
    outside = ("upstream", "rain", "import", "sky", "downstream", "solids")
    held = dict(held or {})
    stores = list(dict.fromkeys([*held, *(n for n in [*source, *target] if n not in outside)]))
    rates = [np.asarray(flow[3], dtype=float) for flow in flows]
    members = max(rate.shape[1] if rate.ndim == 2 else 0 for rate in rates)
    wide = max(members, 1)
    rate = np.zeros((len(days), len(flows), wide))
    for number, own in enumerate(rates):
        rate[:, number] = own if own.ndim == 2 else np.broadcast_to(own, len(days))[:, None]
    volume = np.zeros((len(days) + 1, len(stores), wide))
    for number, name in enumerate(stores):
        volume[:, number] = held.get(name, 0.0)
        for flow, (begin, end) in enumerate(zip(source, target, strict=True)):
            moved = np.cumsum(rate[:, flow] * np.array(days)[:, None], axis=0)
            volume[1:, number] += moved * (float(end == name) - float(begin == name))
    edges = np.datetime64("2031-01-01", "s") + np.round(
        86_400 * np.concatenate([[0.0], np.cumsum(days)])
    ).astype("timedelta64[s]")
    if not members:
        volume, rate = volume[..., 0], rate[..., 0]
    else:
        more.setdefault("members", list(range(members)))
    record = build_record(Network(stores, source, target, kind), edges, volume, rate, **more)
    assert_closes(record)
    return record


def asking(record: xr.Dataset, towns: Sequence[str], **asked: Any) -> xr.Dataset:
    """The record with what towns ask for, or what must pass their intakes: arrays by (time, town),
    for `demand` and `cut` by (time, town, purpose)."""
    dims = ("time", "town", "purpose", "member")
    named = {name: (dims[: np.ndim(values)], values) for name, values in asked.items()}
    purposes = ["homes", "workplaces", "yards"]
    return record.assign(named).assign_coords(town=list(towns), purpose=purposes)
