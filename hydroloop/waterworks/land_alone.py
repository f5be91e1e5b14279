"""The land of a scenario by itself: its soil, snow, streams and ground, and nobody living on it."""

from __future__ import annotations

from dataclasses import replace
from typing import NamedTuple

import numpy as np

from hydroloop.waterworks.ledger import Ledger
from hydroloop.waterworks.whole_network import Works

# What of an aquifer depends on the towns; its volume counts from the level at which nothing drains.
_OF_PEOPLE = ("drained_volume", "mean_active", "infiltration", "artificial")
_LAND = ("lands", "aquifers", "streams", "mouths")
_NOT_LAND = ("towns", "laterals", "cells", "reservoirs", "order", "stages")


class LandAlone(NamedTuple):
    """Works without towns and rivers, and which stores of the whole are in it."""

    works: Works
    stores: np.ndarray


def land_alone(works: Works) -> LandAlone:
    """Stores and flows of the land, numbered anew, so that stepping through years of it is quick.

    Where its water leaves it stands a reach of a river, which only fills.
    """
    tables = of_nobody(works)
    stores, flows = (_numbers(tables, of) for of in ("s_", "f_"))
    for old, of in ((stores, "s_"), (flows, "f_")):
        for table in tables.values():
            for name in _fields(table, of):
                table[name] = np.where(table[name] < 0, -1, np.searchsorted(old, table[name]))
    ledger, ends = works.ledger, np.array([works.ledger.sources, works.ledger.targets])
    source, target = np.where(
        np.isin(ends[:, flows], stores), np.searchsorted(stores, ends[:, flows]), -1
    )
    alone = Ledger(
        stores=[ledger.stores[store] for store in stores],
        volumes=[ledger.volumes[store] for store in stores],
        full=[ledger.full[store] for store in stores],
        sources=source.tolist(),
        targets=target.tolist(),
        kinds=[ledger.kinds[flow] for flow in flows],
    )
    nobody = {name: getattr(works.tables, name)[:0] for name in _NOT_LAND}
    left = works.tables._replace(follows=works.tables.follows[:0, :0], **tables, **nobody)
    return LandAlone(replace(works, ledger=alone, tables=left), stores)


def of_nobody(works: Works) -> dict[str, np.ndarray]:
    """Tables of the land as if nobody lived there."""
    tables = {name: getattr(works.tables, name).copy() for name in _LAND}
    for name in _OF_PEOPLE:
        tables["aquifers"][name] = 0.0
    return tables


def _fields(table: np.ndarray, of: str) -> list[str]:
    return [name for name in table.dtype.names or () if name.startswith(of)]


def _numbers(tables: dict[str, np.ndarray], of: str) -> np.ndarray:
    found = np.concatenate(
        [table[name] for table in tables.values() for name in _fields(table, of)]
    )
    return np.unique(found[found >= 0])
