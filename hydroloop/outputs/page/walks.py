"""Single drops for the page: each walk as places on the map, and told in words."""

from __future__ import annotations

from typing import Any

import pandas as pd
import xarray as xr

from hydroloop.errors import AskError
from hydroloop.outputs.run.diary import diaries
from hydroloop.tracing import Operator, drops

_DROPS = 3
_TRIES = 12  # walks among which those that go furthest are taken


def walks(op: Operator, record: xr.Dataset, first: str) -> list[dict[str, Any]]:
    """Some drops that a town takes in on the season's first day: those that pass the most places.

    Chance draws them; that the longest are shown is said on the page.
    """
    try:
        table = drops(op, n=_TRIES, at=first, on=record["time"].values[0], seed=1)
    except AskError:  # it takes in no water then
        return []
    place = dict(zip(record["store"].values.astype(str), record["place"].values.astype(str),
                     strict=True))
    begin = record["time"].values[0]
    ways = [walk for _, walk in table.groupby("drop", sort=True)]
    ways.sort(key=lambda walk: (walk["store"].map(place).nunique(), len(walk)), reverse=True)
    told = [diaries(record, pd.concat(ways[:_DROPS]), system=system)
            for system in ("us", "metric")]
    order = sorted(range(min(_DROPS, len(ways))), key=lambda k: int(ways[k]["drop"].iloc[0]))
    return [{"uses": int(ways[k]["uses"].iloc[-1]), "path": _path(ways[k], begin),
             "lines": [[str(us.first)[:10], us.text, "" if us.text == metric.text else metric.text]
                       for us, metric in zip(told[0][at].lines, told[1][at].lines, strict=True)]}
            for at, k in enumerate(order)]


def _path(walk: pd.DataFrame, begin: Any) -> list[list[Any]]:
    """Days since the season began, the store, and how often the drop had been used by then."""
    days = (walk["date"] - begin) / pd.Timedelta(days=1)
    return [[round(float(day), 2), str(store), int(uses)]
            for day, store, uses in zip(days, walk["store"], walk["uses"], strict=True)]
