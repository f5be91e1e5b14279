"""Which towns ran short of water, on which days, and how far."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import xarray as xr

from hydroloop.charts.asking import mean_member


class Shortage(NamedTuple):
    """A town's shortage: share it got of what it asked for, in the season and on the worst day."""

    town: str
    got: float
    days: np.ndarray
    worst: float


def shortages_of(table: xr.Dataset, record: xr.Dataset) -> list[Shortage]:
    """Towns that ran short, the worst first."""
    if "unmet" not in table:
        return []
    found = [
        _shortage(
            town,
            *(
                mean_member(one.sel(town=town).sum("purpose").to_dataset(name="x"))["x"].transpose(
                    "time"
                )
                for one in (table["unmet"], record["demand"])
            ),
        )
        for town in map(str, table["town"].values)
    ]
    return sorted((one for one in found if one.days.size), key=lambda one: one.got)


def _shortage(town: str, unmet: xr.DataArray, asked: xr.DataArray) -> Shortage:
    share = 1.0 - unmet / asked.where(asked > 0.0)
    days = unmet["time"].values[unmet.values > 0.0].astype("datetime64[D]")
    whole = float(asked.sum())
    return Shortage(
        town,
        1.0 - float(unmet.sum()) / whole if whole > 0.0 else 1.0,
        np.unique(days),
        float(share.fillna(1.0).min()),
    )
