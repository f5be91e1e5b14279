"""Transit times: from a town's intake to its outfall, and from an outfall to taps."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import xarray as xr

from hydroloop.tracing import Operator, Way, follow_cohorts, operator, time_within

PARTS = (0.1, 0.5, 0.9)
"""Parts of the water for whose times are told: a tenth, half, nine tenths."""

GROUND_ROLES = ("groundwater", "subsoil", "soil", "yards")
"""Parts of a place that are ground."""

_LONGEST = 60.0  # days for which each release is followed [d]
_FINEST = 0.25  # longest step: many stores crossed in longer ones would spread the times [d]
_LEAST = 1e-6  # smaller shares are told no time of [-]


def into_ground(op: Operator) -> np.ndarray:
    """Flows by which water goes into the ground.

    Leaks, on-site systems, watered yards, recharge, rain on soil. Behind them its way is counted in
    years, and no record is long enough to see its end.

    Parameters
    ----------
    op : Operator
        Operator of the record.

    Returns
    -------
    numpy.ndarray of bool
        Shape (flow).
    """
    is_ground = np.append(np.isin(np.array(op.roles, dtype=str), GROUND_ROLES), False)
    return np.asarray(is_ground[op.target] & ~is_ground[op.source])


class Transit(NamedTuple):
    """Times between some flows and others.

    Attributes
    ----------
    days : numpy.ndarray
        Time under way of each class, shape (class) [d].
    time : numpy.ndarray
        Within which a tenth, half and nine tenths of what comes have come, (part, to, member) [d];
        NaN where nothing does.
    arrived : numpy.ndarray
        Of the water that begins, what comes, by days, (to, class, member) [-].
    ground, pending : numpy.ndarray
        Of the water that begins, what goes into the ground, and what has not come, (member) [-];
        the rest evaporates or leaves some other way.
    share : numpy.ndarray
        Of the water at each end, what came that way, (to, member) [-].
    """

    days: np.ndarray
    time: np.ndarray
    arrived: np.ndarray
    ground: np.ndarray
    pending: np.ndarray
    share: np.ndarray


def transit_times(
    op: xr.Dataset | Operator,
    begins: np.ndarray,
    ends: Sequence[np.ndarray],
    own: np.ndarray | None = None,
) -> Transit:
    """Transit time from some flows to others, by the surface.

    How long water is under way, on the median and for the middle eight tenths, if it comes without
    having been in the ground. What goes into the ground on the way is told as a share, and so is
    what has not come after sixty days.

    Parameters
    ----------
    op : xarray.Dataset or Operator
        Water record, or its operator.
    begins : numpy.ndarray of bool
        Flows at which the time begins, shape (flow).
    ends : sequence of numpy.ndarray of bool
        Groups of flows at which it ends; each of shape (flow).
    own : numpy.ndarray of bool, optional
        Flows of which it is told how much goes into the ground by them; by default all.

    Returns
    -------
    Transit
        Times and shares.

    Raises
    ------
    RecordError
        The record breaks its own rules.

    Notes
    -----
    From `follow_cohorts`, for sixty days, or half of the record if that is shorter. What came after
    a time is compared with all releases that the record lets follow for that time, by volume, so
    that its end cuts no way off. A pass of the begin counts anew.

    References
    ----------
    Bolin & Rodhe 1973, Tellus 25:58: transit time.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> ends = (flow_mask(record, kind=kind, **{where: "larkmill"})
    ...         for kind, where in (("intake", "to_place"), ("outfall", "from_place")))
    >>> intake, outfall = ends
    >>> found = transit_times(operator(record), intake, [outfall])
    >>> 1.0 < float(found.time[PARTS.index(0.5), 0, 0]) < 5.0
    True
    """
    op = operator(op)
    ground = into_ground(op)
    lost = ground if own is None else ground & own
    way = Way(begins, ground, (*ends, lost), _LONGEST, _FINEST)
    found = follow_cohorts(op, way)
    released = np.where(found.released > 0, found.released, np.nan)
    arrived, lost_by_class = found.moved[:-1] / released, found.moved[-1] / released
    by_class = np.moveaxis(arrived, 1, 0)
    times = np.stack([time_within(found.days, by_class, part) for part in PARTS])
    times = np.where(arrived.sum(axis=1) > _LEAST, times, np.nan)
    whole = np.where(found.whole > 0, found.whole, np.nan)
    return Transit(
        found.days,
        times,
        arrived,
        lost_by_class.sum(axis=0),
        found.pending / released[-1],
        (found.passed / whole)[:-1],
    )
