"""Chlorine at the far end of the mains: in the oldest tenth of their water."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from hydroloop.record import flow_mask
from hydroloop.tracing import Operator, last_use

OLDEST = 0.1
"""Part of the water in the mains that stands for their far end [-]."""


class FarEnd(NamedTuple):
    """The far end of a town's mains.

    Attributes
    ----------
    chlorine : ndarray of shape (on,)
        Free chlorine [mg/L].
    age : ndarray of shape (on,)
        Mean time since the water left the plant [d].
    """

    chlorine: np.ndarray
    age: np.ndarray


def far_end(record: xr.Dataset, op: Operator, town: str, on: Any, *, leaving: np.ndarray,
            decay: np.ndarray) -> FarEnd:
    """Free chlorine in the oldest tenth of the water in a town's mains.

    The last house on the line gets the oldest water, and chlorine fades as water ages: a mean of
    the mains hides it. What pipe walls use up is not in it.

    Parameters
    ----------
    record : xarray.Dataset
        Water record of one member.
    op : Operator
        Operator of the record.
    town : str
        Name of the town.
    on : sequence of datetime
        Dates of the readings.
    leaving : ndarray of shape (time,)
        Free chlorine of the water that leaves the plant in each step [mg/L].
    decay : ndarray of shape (time,)
        Its decay in each step [1/d].

    Returns
    -------
    FarEnd
        Chlorine and age at each date.

    Raises
    ------
    AskError
        The town has no mains, or they are empty on a date.

    Notes
    -----
    c = mean over the oldest tenth of c(left) exp(-sum k dt), since water last left the plant or was
    bought. What stood in the record's first volumes counts as having left at its begin.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> ones = np.ones(record.sizes["time"])
    >>> found = far_end(record, operator(record), "larkmill", record["time"].values[-2:],
    ...     leaving=ones, decay=0.5 * ones)
    >>> bool((found.chlorine < np.exp(-0.5)).all() and (found.age > 1.0).all())
    True
    """
    left = flow_mask(record, to_place=town, to_role="tanks")
    shares = last_use(op, at=f"{town}/mains", on=list(on), gate=left)
    times = record["time"].values
    days = np.append(np.diff(record["edge"].values) / np.timedelta64(1, "D"), 0.0)
    faded = np.append(0.0, np.cumsum(days[:-1] * decay))  # up to the start of each step
    chlorine, age = [], []
    for date, share, unknown in zip(shares["on"].values, shares["share"].values,
                                    shares["unknown"].values, strict=True):
        now = int(np.searchsorted(times, date))
        # From the water that left last to that which left first; then what was there before.
        part = np.append(share[: now + 1], unknown)
        when = np.append(np.arange(now, -1, -1), 0)
        oldest = _last(part / part.sum(), OLDEST)
        kept = leaving[when] * np.exp(faded[when] - faded[now])
        chlorine.append(float(oldest @ kept))
        age.append(float(oldest @ ((times[now] - times[when]) / np.timedelta64(1, "D"))))
    return FarEnd(np.array(chlorine), np.array(age))


def _last(part: np.ndarray, share: float) -> np.ndarray:
    """The last of a row of parts that together make a share of the whole, as weights."""
    filled = np.minimum(np.cumsum(part[::-1]), share)
    return np.diff(np.append(0.0, filled))[::-1] / share
