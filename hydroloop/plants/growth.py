"""Growth: the year in which demand reaches each limit, and what buys how many years."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from hydroloop.errors import AskError, Problem

Array = np.ndarray


@dataclass(frozen=True)
class Uses:
    """A town's use of water today, by what makes it grow; numbers, or one for each member.

    Attributes
    ----------
    homes, work, yards : float or array (member)
        Water used indoors, at workplaces and in yards on the day that counts [m3/d].
    losses : float or array (member)
        Share of the system input that leaks [-].
    """

    homes: Array | float
    work: Array | float
    yards: Array | float
    losses: Array | float


@dataclass(frozen=True)
class Rates:
    """How fast a town grows; numbers, or one for each member.

    Attributes
    ----------
    people, jobs : float or array (member)
        Growth in a year [-].
    use_falls : float or array (member)
        Fall of indoor use per person in a year [-].
    """

    people: Array | float
    jobs: Array | float
    use_falls: Array | float


def supply_by_year(uses: Uses, rates: Rates, years: int) -> Array:
    """System input of each year [m3/d].

    How much a growing town must put into its mains on the day that counts.
    A forecast is only as good as its growth rates: show the band, not one line.

    Parameters
    ----------
    uses : Uses
        Today's use on an average day, or on the maximum day
    rates : Rates
        Growth in a year
    years : int
        Years to look ahead, at least 1 [a]

    Returns
    -------
    array (year,) or (year, member)
        System input, this year first [m3/d]

    Raises
    ------
    AskError
        If there is not at least one year, or losses are not below one.

    Notes
    -----
    Q(t) = (homes (1 + p)^t (1 - e)^t + work (1 + j)^t + yards (1 + p)^t) / (1 - losses), with
    growth p of people, j of jobs and fall e of use per person.

    Examples
    --------
    >>> town = Uses(homes=80.0, work=0.0, yards=0.0, losses=0.2)
    >>> supply_by_year(town, Rates(0.1, 0.0, 0.0), 2).round(6).tolist()
    [100.0, 110.0, 121.0]
    """
    if years < 1:
        raise AskError(
            Problem("years", f"{years} is less than one.", "Look at least a year ahead.")
        )
    if np.any(np.asarray(uses.losses) >= 1.0):
        raise AskError(Problem("losses", "all the water leaks.", "Give a share below one."))
    members = np.broadcast(
        *(
            np.asarray(value)
            for value in (
                uses.homes,
                uses.work,
                uses.yards,
                uses.losses,
                rates.people,
                rates.jobs,
                rates.use_falls,
            )
        )
    )
    t = np.arange(years + 1.0).reshape(-1, *[1] * members.ndim)
    people = (1.0 + np.asarray(rates.people)) ** t
    homes = uses.homes * people * (1.0 - np.asarray(rates.use_falls)) ** t
    used = homes + uses.work * (1.0 + np.asarray(rates.jobs)) ** t + uses.yards * people
    return np.asarray(used / (1.0 - np.asarray(uses.losses)))


def sewage_by_year(
    homes: Array | float, work: Array | float, seeping: Array | float, rates: Rates, years: int
) -> Array:
    """Average wastewater of each year [m3/d].

    What people bring grows with them; what seeps and rains in does not.
    Old sewers let in more each year, which is not in it.

    Parameters
    ----------
    homes, work : float or array (member)
        Wastewater of homes and of workplaces today [m3/d]
    seeping : float or array (member)
        All else that the sewers carry: infiltration, storm water, wash water [m3/d]
    rates : Rates
        Growth in a year
    years : int
        Years to look ahead, at least 1 [a]

    Returns
    -------
    array (year,) or (year, member)
        Average flow, this year first [m3/d]

    Raises
    ------
    AskError
        If there is not at least one year.

    Notes
    -----
    Q(t) = homes (1 + p)^t (1 - e)^t + work (1 + j)^t + seeping, as in `supply_by_year`.

    Examples
    --------
    >>> sewage_by_year(50.0, 0.0, 50.0, Rates(0.1, 0.0, 0.0), 1).round(6).tolist()
    [100.0, 105.0]
    """
    return supply_by_year(Uses(homes, work, 0.0, 0.0), rates, years) + np.asarray(seeping)


def years_until(demand: Array, limit: float) -> Array:
    """Years until demand reaches a limit [a].

    Zero if it is reached today, infinite if it is not within the years looked at.
    Between two years a straight line.

    Parameters
    ----------
    demand : array (year,) or (year, member)
        Demand of each year [m3/d]
    limit : float
        Capacity, permit or river flow [m3/d]

    Returns
    -------
    array () or (member,)
        Years from today [a]

    Examples
    --------
    >>> float(years_until(np.array([80.0, 100.0, 120.0]), 110.0))
    1.5
    >>> float(years_until(np.array([80.0, 90.0]), 110.0))
    inf
    """
    over = demand >= limit
    first = over.argmax(axis=0)
    reached = over.any(axis=0)
    before = np.take_along_axis(demand, np.maximum(first - 1, 0)[None, ...], axis=0)[0]
    after = np.take_along_axis(demand, first[None, ...], axis=0)[0]
    part = np.divide(
        limit - before, after - before, out=np.ones_like(after, dtype=float), where=after > before
    )
    return np.where(reached, first - 1 + part, np.inf)  # today: 0 - 1 + 1


@dataclass(frozen=True)
class Reached:
    """When demand reaches one limit.

    Attributes
    ----------
    limit : str
        What is reached, in words.
    flow : float
        Flow at which it is reached [m3/d].
    years : float
        Years until then, infinite if not within those looked at [a].
    early, late : float
        Range from the ranges of the inputs: 5 and 95 % of the members [a].
    below : float
        Years until a falling demand that was past it is below it for good; infinite if it never
        was, or is not below it in the last year looked at [a].
    """

    limit: str
    flow: float
    years: float
    early: float
    late: float
    below: float = np.inf


def reached(limits: Mapping[str, float], demand: Array, members: Array) -> list[Reached]:
    """When demand reaches each limit, with the range from the inputs' ranges.

    The earliest line is the one to worry about.
    A band that ends in "not within the years" is honest: say so, too.

    Parameters
    ----------
    limits : mapping
        Flow of each limit, by its name [m3/d]
    demand : array (year,)
        Demand at the middle of all ranges [m3/d]
    members : array (year, member)
        Demand of members drawn from the ranges [m3/d]

    Returns
    -------
    list of Reached
        The earliest first

    Examples
    --------
    >>> line = np.array([80.0, 100.0, 120.0])
    >>> [(one.limit, one.years) for one in reached({"filters": 110.0, "permit": 90.0}, line,
    ...     line[:, None])]
    [('permit', 0.5), ('filters', 1.5)]
    """
    found = []
    for name, flow in limits.items():
        spread = years_until(members, flow)
        early, late = (float(np.quantile(spread, q, method="inverted_cdf")) for q in (0.05, 0.95))
        found.append(
            Reached(
                name,
                flow,
                float(years_until(demand, flow)),
                early,
                late,
                _years_until_below(demand, flow),
            )
        )
    return sorted(found, key=lambda one: (one.years, one.flow))


def _years_until_below(demand: Array, limit: float) -> float:
    over = np.flatnonzero(demand >= limit)
    if not over.size or over[-1] == len(demand) - 1:
        return np.inf
    last = int(over[-1])
    return last + float((demand[last] - limit) / (demand[last] - demand[last + 1]))


class Remedy(NamedTuple):
    """What could be done, and the years with it."""

    words: str
    demand: Array  # flow of each year with it [m3/d], shape (year,)
    limits: Mapping[str, float]  # flow of each limit with it, by its name [m3/d]


def bought(
    demand: Array, limits: Mapping[str, float], remedies: Sequence[Remedy]
) -> list[tuple[str, float]]:
    """Years that each remedy buys until the first limit is reached [a], the most first, infinite
    where it is not reached. Remedies do not add up: a bigger filter buys nothing while the
    clearwell is the limit."""

    def first(flows: Array, able: Mapping[str, float]) -> float:
        return min(float(years_until(flows, flow)) for flow in able.values())

    now = first(demand, limits)
    gains = [
        (one.words, first(one.demand, one.limits) - now if np.isfinite(now) else 0.0)
        for one in remedies
    ]
    return sorted(gains, key=lambda gain: -gain[1])
