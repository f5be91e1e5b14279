"""Water age as operators say it: time since the water left the plant."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from hydroloop.tracing import Cohorts, Operator, Way, find_store, follow_cohorts, time_within
from hydroloop.tracing.backward import look_back
from hydroloop.tracing.last_use import check_drawn, days_back

SUPPLY_ROLES = ("tanks", "mains")
"""Parts of a town that lie between its plant and its taps."""

OLDEST = 0.1
"""Part of the water in the mains that stands for their far end [-]."""

_LONGEST = 30.0  # days for which water in tanks and mains is followed [d]
_FINEST = 0.125  # longest step: mixing in a longer one would make old water of young [d]
_OLDEST = 1.0 - OLDEST
_RAIN_DAYS, _YOUNG = 90.0, 30.0  # for which, and within which, rain is followed to taps [d]
_KNOWN = 0.999  # with less of the water whose age is known there is no mean [-]


def system_input(op: Operator, stores: Sequence[str]) -> np.ndarray:
    """Flows by which water comes into supply, for the towns of some stores.

    Out of a plant, from a neighbour, or in a plain table from a river straight into mains.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    stores : sequence of str
        Stores that taps are drawn from.

    Returns
    -------
    numpy.ndarray of bool
        Shape (flow).
    """
    places = {op.places[op.stores.index(name)] for name in stores}
    inside = np.array(
        [
            name in stores or (role in SUPPLY_ROLES and place in places)
            for name, role, place in zip(op.stores, op.roles, op.places, strict=True)
        ]
        + [False]
    )
    return np.asarray(inside[op.target] & ~inside[op.source])


class OldestTenth(NamedTuple):
    """The oldest tenth of the water in mains, at some steps.

    Attributes
    ----------
    part : numpy.ndarray
        Parts of it by steps since they left the plant, shape (on, back); the last column is what
        stood in the record's first volumes [-].
    age : numpy.ndarray
        Its mean age, shape (on) [d]; what was there before counts from the record's begin.
    over : numpy.ndarray
        Age that it exceeds, shape (on) [d]; NaN while more than a tenth was there before.
    """

    part: np.ndarray
    age: np.ndarray
    over: np.ndarray


def oldest_tenth(op: Operator, at: str, steps: Sequence[int]) -> OldestTenth:
    """The oldest tenth of the water in a town's mains.

    Time since it left the plant or was bought: what comes out at the far ends of the mains, where
    chlorine is lowest. Mains are taken as mixed, so that a dead end may hold older water still.

    Parameters
    ----------
    op : Operator
        Operator of a record of one member.
    at : str
        Store that taps are drawn from.
    steps : sequence of int
        Steps in which it is asked for.

    Returns
    -------
    OldestTenth
        Parts by age, and ages.

    Raises
    ------
    AskError
        If there is no such store, or it is empty in a step.

    Notes
    -----
    Looked back from the mains to the flows into supply, all steps in one pass; a step of a day
    would make old water of young, so ask records of short steps.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.tracing import operator
    >>> op = operator(hl.simulate(hl.read_scenario("first_town")))
    >>> bool(oldest_tenth(op, "larkmill/mains", [100]).age[0] > 1.0)
    True
    """
    store = find_store(op, at)
    check_drawn(op, store, list(steps))
    met = look_back(op, system_input(op, [at]), [store] * len(steps), list(steps))
    share = met.passed[..., 0]
    whole = np.concatenate([share, met.standing[..., 0].sum(axis=1, keepdims=True)], axis=1)
    older = np.cumsum((whole / whole.sum(axis=1, keepdims=True))[:, ::-1], axis=1)
    filled = np.minimum(older, 1.0 - _OLDEST)
    part = np.diff(filled, axis=1, prepend=0.0)[:, ::-1] / (1.0 - _OLDEST)
    when = _left(steps, part.shape[1])
    days = (op.edge[np.array(steps)][:, None] - op.edge[when]) / np.timedelta64(1, "D")
    width = days_back(op, max(steps))
    return OldestTenth(part, (part * days).sum(axis=1), time_within(width, share.T, _OLDEST, 1.0))


def chlorine_left(
    op: Operator,
    oldest: OldestTenth,
    steps: Sequence[int],
    *,
    leaving: np.ndarray,
    decay: np.ndarray,
) -> np.ndarray:
    """Free chlorine in the oldest tenth of the water in mains.

    The last house on the line gets the oldest water, and chlorine fades as water ages: a mean of
    the mains hides it. What pipe walls use up is not in it.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    oldest : OldestTenth
        What `oldest_tenth` gives for the same steps.
    steps : sequence of int
        Steps in which it is asked for.
    leaving : numpy.ndarray
        Free chlorine of the water that leaves the plant in each step, shape (time) [mg/L].
    decay : numpy.ndarray
        Its decay in each step, shape (time) [1/d].

    Returns
    -------
    numpy.ndarray
        Shape (on) [mg/L].

    Notes
    -----
    c = mean over the oldest tenth of c(left) exp(-sum k dt). What stood in the record's first
    volumes counts as having left at its begin.
    """
    faded = np.append(0.0, np.cumsum((op.water.days * decay)[:-1]))  # up to the start of each step
    when = _left(steps, oldest.part.shape[1])
    kept = leaving[when] * np.exp(faded[when] - faded[np.array(steps)][:, None])
    return np.asarray((oldest.part * kept).sum(axis=1))


def _left(steps: Sequence[int], count: int) -> np.ndarray:
    """Step in which each part left, shape (on, back); the first for what was there before."""
    return np.maximum(np.array(steps)[:, None] - np.arange(count), 0)


def _cohorts(op: Operator, stores: Sequence[str]) -> Cohorts:
    nothing = np.zeros(len(op.flows), dtype=bool)
    way = Way(system_input(op, stores), nothing, (), _LONGEST, _FINEST)
    return follow_cohorts(op, way, tuple(op.stores.index(name) for name in stores))


def _drawn(op: Operator, taps: Sequence[np.ndarray]) -> tuple[int, ...]:
    """Stores that taps are drawn from."""
    sources = np.unique(op.source[np.any(list(taps), axis=0)])
    return tuple(int(store) for store in sources if store >= 0)


def _mixed(
    op: Operator, found: Cohorts, stores: tuple[int, ...], own: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Water at a town's taps by class, (time, class, member), and in all, (time, member) [m3].

    Of one town at a time: of all in every class there is much more than there is water in stores.
    """
    days = op.water.days[:, None]
    classes = np.zeros((len(found.seen), *found.seen.shape[2:]))
    water = np.zeros((len(classes), op.shape[2]))
    flows = np.flatnonzero(own)
    for store in np.unique(op.source[flows]).tolist():
        moved = op.water.rate[:, flows[op.source[flows] == store]].sum(axis=1) * days
        water += moved
        if store >= 0:
            classes += moved[:, None] * found.seen[:, stores.index(store)]
    return classes, water


def water_ages(op: Operator, taps: Sequence[np.ndarray]) -> dict[str, np.ndarray]:
    """Water age at the taps of several towns.

    How long ago what homes get left the plant: on average, and what the oldest tenth exceeds.
    Operators watch it, because chlorine fades and bacteria grow with it.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    taps : sequence of numpy.ndarray of bool
        Flows into homes of each town, shape (flow).

    Returns
    -------
    dict of numpy.ndarray
        ``water_age`` (time, town, member), mean of what leaves in a step; ``season_water_age`` and
        ``season_water_age_oldest`` (town, member), of all that homes got in the season [d]. NaN for
        a town without mains, and in the first days while the past is not known.

    Notes
    -----
    ``sum of days x share``, from `follow_cohorts`; every litre that homes get counts the same,
    and the oldest tenth of the season is that of all these litres together.

    References
    ----------
    U.S. EPA & AWWA 2002, Effects of Water Age on Distribution System Water Quality (title from
    memory): time from the plant to the tap.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> taps = flow_mask(record, kind="home_use", to_place="larkmill")
    >>> found = water_ages(operator(record), [taps])
    >>> bool(1.0 < found["season_water_age"][0] < found["season_water_age_oldest"][0] < 5.0)
    True
    """
    stores = _drawn(op, taps)
    found = _cohorts(op, [op.stores[k] for k in stores])
    days = found.days[: found.seen.shape[2]]
    mean = np.full((op.shape[0], len(taps), op.shape[2]), np.nan)
    whole = np.zeros((len(days), *mean.shape[1:]))
    for town, own in enumerate(taps):
        classes, water = _mixed(op, found, stores, own)
        share = classes.sum(axis=1)
        known = share > _KNOWN * water
        age = np.einsum("tkm,k->tm", classes, days)
        np.divide(age, share, out=mean[:, town], where=known & (water > 0))
        whole[:, town] = np.einsum("tkm,tm->km", classes, known.astype(float))
    total = whole.sum(axis=0)
    season = np.tensordot(days, whole, axes=1) / np.where(total > 0, total, np.nan)
    oldest = time_within(days, whole, _OLDEST) if len(days) else season
    return {"water_age": mean, "season_water_age": season, "season_water_age_oldest": oldest}


def rain_ages(op: Operator, taps: Sequence[np.ndarray]) -> dict[str, np.ndarray]:
    """Age of tap water since it came onto the map.

    As rain, down a river from above, or bought. A little old groundwater makes the mean long and
    uncertain, so that only the median is told, and how much of the water is young.

    Parameters
    ----------
    op : Operator
        Operator of the record.
    taps : sequence of numpy.ndarray of bool
        Flows into homes of each town, shape (flow).

    Returns
    -------
    dict of numpy.ndarray
        ``rain_age_median`` (town, member) [d], NaN where it is beyond ninety days or half of the
        record; ``rain_age_young`` (town, member), share that came within thirty days [-].

    Notes
    -----
    From `follow_cohorts`, over the steps before which the record is long enough.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.record import flow_mask
    >>> from hydroloop.tracing import operator
    >>> record = hl.simulate(hl.read_scenario("first_town"))
    >>> taps = flow_mask(record, kind="home_use", to_place="larkmill")
    >>> found = rain_ages(operator(record), [taps])
    >>> bool(found["rain_age_young"][0] > 0.5)
    True
    """
    stores = _drawn(op, taps)
    nothing = np.zeros(len(op.flows), dtype=bool)
    way = Way((op.source < 0) & (op.target >= 0), nothing, (), _RAIN_DAYS, 1.0)
    found = follow_cohorts(op, way, stores)
    late = (op.edge[:-1] - op.edge[0]) / np.timedelta64(1, "D") >= found.days[-1]
    shares = np.zeros((found.seen.shape[2], len(taps), op.shape[2]))
    total = np.zeros(shares.shape[1:])
    for town, own in enumerate(taps):
        classes, water = _mixed(op, found, stores, own)
        shares[:, town], total[town] = classes[late].sum(axis=0), water[late].sum(axis=0)
    shares /= np.where(total > 0, total, np.nan)
    median, young = np.full_like(total, np.nan), np.full_like(total, np.nan)
    if len(shares):
        median = time_within(found.days, shares, 0.5, 1.0)
    if len(shares) and found.days[-1] >= _YOUNG:
        young = shares[found.days <= _YOUNG].sum(axis=0)
    return {"rain_age_median": median, "rain_age_young": young}
