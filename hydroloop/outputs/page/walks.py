"""Single drops for the page: each walk as places on the map, and told in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import AskError
from hydroloop.outputs.run.diary import Diary, Walk, diaries_on, walks_of
from hydroloop.outputs.run.journey import Map
from hydroloop.tracing import Operator, drops

_DROPS = 3
_TRIES = 12  # walks among which those that go furthest are taken


def maps_of(record: xr.Dataset) -> list[Map]:
    """Names of a record's places, with miles and with kilometres."""
    chart = Map.of(record, "us")
    return [chart, replace(chart, system="metric")]


def walks(op: Operator, charts: Sequence[Map], first: str) -> list[dict[str, Any]]:
    """Some drops that a town takes in on the season's first day: those that pass the most places.

    Chance draws them; that the longest are shown is said on the page.
    """
    try:
        table = drops(op, n=_TRIES, at=first, on=op.edge[0], seed=1)
    except AskError:  # it takes in no water then
        return []
    places = charts[0].places

    def reach(walk: Walk) -> tuple[int, int]:
        return len({places.get(store) for store in walk.stores} - {None}), len(walk.stores)

    furthest = sorted(
        sorted(walks_of(table), key=reach, reverse=True)[:_DROPS], key=lambda walk: walk.number
    )
    told = [diaries_on(chart, furthest) for chart in charts]
    return [
        {"uses": us.uses, "path": walk.stores, "lines": _lines(us, metric)}
        for walk, us, metric in zip(furthest, *told, strict=True)
    ]


def _lines(us: Diary, metric: Diary) -> list[list[Any]]:
    """Date and words of each line, the same in metric where they differ, and how many stores the
    drop has come to by its end."""
    come = (1 + np.cumsum([line.moves for line in us.lines])).tolist()
    return [
        [str(one.first)[:10], one.text, "" if one.text == other.text else other.text, stores]
        for one, other, stores in zip(us.lines, metric.lines, come, strict=True)
    ]
