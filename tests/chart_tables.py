"""Tables of measures written by hand, for pictures of towns that no scenario would give."""

from __future__ import annotations

import numpy as np
import pandas as pd
import xarray as xr


def table_of(shares, *, unknown=0.0, town="larkmill", steps=60, river=None, unmet=None):
    """A season in which every day has the same shares by use class.

    Parameters
    ----------
    shares : sequence of float
        Share never used, used once, twice, ... [-].
    unknown : float
        Share of unknown past; with `shares` it sums to one [-].
    town : str
        Name of the town.
    steps : int
        Days of the season.
    river, unmet : sequence of float, optional
        River flow at the intake and unmet demand, day by day [m3/d].
    """
    time = pd.date_range("2031-07-01", periods=steps)
    shares = np.asarray(shares, dtype=float)
    used = float(shares[1:].sum())
    mean = float(shares @ np.arange(len(shares)))
    days = np.arange(steps, dtype=float)
    ago = 0.5 ** (1 + days / 5)
    daily, each = ("time", "town"), ("town",)
    river = np.full(steps, 5e4) if river is None else np.asarray(river, dtype=float)
    missing = np.zeros(steps) if unmet is None else np.asarray(unmet, dtype=float)
    return xr.Dataset(
        {
            "use_share": (("time", "town", "use"), np.tile(shares, (steps, 1, 1))),
            "unknown_share": (daily, np.full((steps, 1), unknown)),
            "mean_uses": (daily, np.full((steps, 1), mean)),
            "season_used_share": (each, [used]),
            "delivered": (daily, np.full((steps, 1), 1000.0)),
            "unmet": (("time", "town", "purpose"), missing[:, None, None]),
            "river_flow_at_intake": (daily, river[:, None]),
            "glass_date": (each, time.values[45:46]),
            "last_use_share": (("town", "days_ago"), used * (ago / ago.sum())[None]),
            "last_use_before_record": (each, [0.0]),
            "last_use_median": (each, [5.0]),
            "parcel_date": (each, time.values[:1]),
            "parcel_passes": (each, [mean]),
        },
        {
            "time": time,
            "town": [town],
            "use": np.arange(len(shares)),
            "days_ago": days,
            "purpose": ["homes"],
        },
    )
