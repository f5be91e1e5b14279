"""A town's loop on the days shown: flows between its parts, and how long water stays in each."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.charts.town_flows import GROUPS, group_stays, store_groups, town_in

_OUTSIDE = ("river", "ground", "land", "import", "sky", "solids", "rain")


def loop_values(record: xr.Dataset, stays: xr.Dataset, town: str,
                shown: np.ndarray) -> dict[str, Any]:
    """Flows from part to part [m3/d] on each day shown, and mean stays [d]."""
    group = store_groups(record, town_in(record, town))
    ends = [[group.get(str(one), str(one)) for one in record[side].values]
            for side in ("source", "target")]
    rate, flows = record["rate"].values, dict[tuple[str, str], np.ndarray]()
    for column, pair in enumerate(zip(*ends, strict=True)):
        if _is_own(*pair):
            flows[pair] = flows.get(pair, np.zeros(len(rate))) + rate[:, column]
    mean = record["rate"].mean("time").values
    days = group_stays(record, stays, group, mean)
    return {
        "flows": [{"from": source, "to": target, "rate": [_whole(one) for one in total[shown]],
                   "mean": _whole(float(total.mean()))}
                  for (source, target), total in flows.items() if total.max() > 0.0],
        "stay": _told(days),
    }


def _is_own(source: str, target: str) -> bool:
    """Whether a flow is the town's own: from part to part, or over its edge."""
    ends = (source, target)
    return source != target and any(one in GROUPS for one in ends) and all(
        one in GROUPS or one in _OUTSIDE for one in ends)


def _whole(rate: float) -> float | int:
    short = float(f"{rate:.3g}")
    return int(short) if short == int(short) else short


def _told(days: Mapping[str, float]) -> dict[str, float | None]:
    return {name: float(f"{stay:.3g}") if np.isfinite(stay) else None
            for name, stay in days.items()}
