"""A town's loop on the days shown: flows between its parts, and how long water stays in each."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

import numpy as np

from hydroloop.charts.town_flows import GROUPS, group_stays
from hydroloop.outputs.page.numbers import shortened
from hydroloop.tracing import Operator

_OUTSIDE = ("river", "ground", "land", "import", "sky", "solids", "rain")


def loop_values(
    op: Operator, group: Mapping[str, str], stays: Mapping[str, float], shown: np.ndarray
) -> dict[str, Any]:
    """Flows from part to part [m3/d] on each day shown, and mean stays [d]."""
    names = [group.get(store, store) for store in op.stores]
    rate, flows = op.water.rate[..., 0], dict[tuple[str, str], np.ndarray]()
    mean = rate.mean(axis=0)
    ends = list(
        zip(
            *(
                [
                    names[at] if at >= 0 else outside
                    for at, outside in zip(side.tolist(), op.outside, strict=True)
                ]
                for side in (op.source, op.target)
            ),
            strict=True,
        )
    )
    for column, pair in enumerate(ends):
        if _is_own(*pair):
            flows[pair] = flows.get(pair, 0.0) + rate[:, column]
    days = group_stays(
        ends,
        [stays.get(op.stores[at], math.nan) if at >= 0 else math.nan for at in op.source.tolist()],
        mean,
    )
    flows = {pair: total for pair, total in flows.items() if total.max() > 0.0}
    every = np.array([*flows.values()]).reshape(len(flows), -1)
    return {
        "flows": [
            {"from": source, "to": target, "rate": on_days, "mean": whole}
            for (source, target), on_days, whole in zip(
                flows, shortened(every[:, shown], 3), shortened(every.mean(axis=1), 3), strict=True
            )
        ],
        "stay": dict(zip(days, shortened(np.array([*days.values()]), 3), strict=True)),
    }


def _is_own(source: str, target: str) -> bool:
    """Whether a flow is the town's own: from part to part, or over its edge."""
    ends = (source, target)
    return (
        source != target
        and any(one in GROUPS for one in ends)
        and all(one in GROUPS or one in _OUTSIDE for one in ends)
    )
