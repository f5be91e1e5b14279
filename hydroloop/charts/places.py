"""Where towns draw and discharge, and what lies downstream along the river."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.measures import find_towns
from hydroloop.record import BOUNDARIES

ALONG = ("river", "release", "spill", "upstream", "downstream")
"""Kinds of flows along a river."""


def intake_store(record: xr.Dataset, town: str) -> str:
    """River store or reservoir that most of a town's intake comes from; empty if there is none."""
    return _ends(record, town)[0]


def outfall_store(record: xr.Dataset, town: str) -> str:
    """River store that most of a town's effluent goes to; empty if there is none."""
    return _ends(record, town)[1]


def _ends(record: xr.Dataset, town: str) -> tuple[str, str]:
    own = next((one for one in find_towns(record) if one.name == town), None)
    if own is None:
        return "", ""
    return (_largest(record, "source", own.intakes), _largest(record, "target", own.outfalls))


def _largest(record: xr.Dataset, end: str, flows: np.ndarray) -> str:
    """River store at one end of the largest of some flows."""
    waters = in_river(record)
    total = record["rate"].sum([dim for dim in record["rate"].dims if dim != "flow"]).values
    found = [(total[row], str(record[end].values[row])) for row in np.flatnonzero(flows)
             if str(record[end].values[row]) in waters]
    return max(found)[1] if found else ""


def in_river(record: xr.Dataset) -> set[str]:
    """Stores that are reaches of rivers, or reservoirs."""
    wet = np.isin(record["role"].values, ("reach", "reservoir"))
    return set(record["store"].values[wet].astype(str).tolist())


def below(record: xr.Dataset, start: str) -> set[str]:
    """Every store downstream along the river, and the place itself."""
    along = np.isin(record["kind"].values, ALONG)
    pairs = list(zip(record["source"].values[along].astype(str),
                     record["target"].values[along].astype(str), strict=True))  # fmt: skip
    found: set[str] = set()
    edge = {start}
    while edge:
        found |= edge
        edge = {b for a, b in pairs if a in edge and b not in found and b not in BOUNDARIES}
    return found
