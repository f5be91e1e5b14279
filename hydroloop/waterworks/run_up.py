"""Volumes on the first day: what the weather before the season leaves in soil and ground."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hydroloop.waterworks.known import Known
from hydroloop.waterworks.land_alone import LandAlone, land_alone, of_nobody
from hydroloop.waterworks.land_network import LEAST_BASEFLOW
from hydroloop.waterworks.layout import Means, Series
from hydroloop.waterworks.recharge import Years, recharge_by_land
from hydroloop.waterworks.stepping import run_past
from hydroloop.waterworks.whole_network import Works

# The last year is stepped through again where it has moved groundwater by more than this share.
_MOVED, _MOST_PASSES = 0.1, 3


@dataclass(frozen=True, eq=False)
class Past:
    """Years before the first day, as series for the stepping loop.

    Attributes
    ----------
    series : Series
        What drives them.
    last_year : int
        Number of the step with which the last of the years begins [-].
    step : float
        Length of a step [d].
    many_years : Years
        Weather of the years whose mean is the long-run mean.
    by_day : Years
        Weather of these years.
    known : Known
        What was worked out of these years before, for works that are the same in it.
    """

    series: Series
    last_year: int
    step: float
    many_years: Years
    by_day: Years
    known: Known

    @property
    def n_steps(self) -> int:
        """Number of steps."""
        return len(self.series.sky)

    def steps(self, first: int, last: int | None = None) -> Series:
        """Series of some of the steps."""
        return Series(*(values[first:last] for values in self.series))


def first_volumes(works: Works, past: Past) -> np.ndarray:
    """Volumes on the first day of a season.

    The land steps by itself through all the years before it, then all of the water works through
    the last of them. Groundwater is too slow for that: it is brought to the level that a year like
    the last one holds up, with its leaks, wells and reuse, and from which the years before make it
    rise or fall as they do with the land alone. Where wells take more than seeps in no level holds,
    and groundwater begins as full as the scenario says.

    Parameters
    ----------
    works : Works
        Stores, flows and tables; its volumes are first guesses.
    past : Past
        The years before.

    Returns
    -------
    ndarray of shape (store,)
        Volumes [m3]; those that the scenario gives are as given.

    Notes
    -----
    Of an error in the level of a linear store the share g = prod(1 - dt q / V) is left after a
    year, q being what leaves it by its level, and V what lies above the level at which nothing
    does. A run that begins at S0 and ends at S1, where D more than S0 is right, begins by
    d = (S1 - S0 - D) / (1 - g) too low, and ends by g d too low. In steady flow that comes to
    S = V R / q, mean inflow times time constant.

    References
    ----------
    De Laat & Savenije, Hydrology, lecture notes, eq. 5.15 (linear reservoir).
    """
    tables = [*works.tables, *works.ends, past.series.minimum_flow[past.last_year :]]
    volumes, given = np.array(works.ledger.volumes), works.ledger.given
    end, mean_active = past.known.once(lambda: _settled(works, past, volumes), *tables, volumes)
    works.tables.aquifers["mean_active"] = mean_active
    first = end.copy()
    first[list(given)] = list(given.values())
    return first


def _settled(works: Works, past: Past, guess: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Volumes on the first day, and the long-run mean of what lies above the drained level."""
    grounds = works.tables.aquifers
    slow, floor = grounds["s_store"], grounds["drained_volume"]
    of_land = _of_land(works)
    alone = past.known.once(lambda: land_alone(works), *of_nobody(works).values(), *works.ends)
    usual, wetter = _recharge_by_land(works, past)
    guess_alone = guess[alone.stores]
    guess_alone[alone.works.tables.aquifers["s_store"]] = grounds["recession"] * usual
    held, rise = past.known.once(
        lambda: _land_by_itself(alone, past, guess_alone), *alone.works.tables, guess_alone
    )
    before = guess.copy()
    before[alone.stores] = held
    before[slow] += floor
    grounds["mean_active"] = _mean_above(works, usual + grounds["artificial"])
    begin = guess.copy()
    begin[of_land] = before[of_land]
    for _ in range(_MOST_PASSES):
        run = run_past(works.tables, past.steps(past.last_year), works.ends, begin, past.step)
        end, kept = run.end, _kept(works, run, past, past.n_steps - past.last_year)
        lacking = _lacking(kept, end[slow] - begin[slow] - rise)
        holds = (kept < 1.0) & (begin[slow] + lacking > floor)
        level = np.where(holds, begin[slow] + lacking, guess[slow])
        end[slow] = np.where(holds, end[slow] + kept * lacking, guess[slow])
        expected = grounds["mean_active"].copy()
        grounds["mean_active"] = _mean_active(works, run.rate, wetter)
        apart = np.abs(grounds["mean_active"] - expected) > _MOVED * expected
        settled = kept * np.abs(lacking) <= _MOVED * (end[slow] - floor)
        if settled[holds].all() and not (apart & (grounds["infiltration"] > 0.0)).any():
            break
        # Once more from better levels; what no land fills, such as reservoirs, goes on from here.
        begin, earlier = end.copy(), begin
        begin[of_land] = earlier[of_land]
        begin[slow] = level
    return end, grounds["mean_active"].copy()


def _mean_active(works: Works, moved: np.ndarray, wetter: np.ndarray) -> np.ndarray:
    """What groundwater holds above the level at which nothing drains, on average over many years:
    its recession times what reaches it, less what wells pump and what sewers get in the mean. What
    people do is as in the last year. Where sewers ask for more than that, rivers keep a little;
    where wells leave nothing, it stays as it was."""
    grounds, out = works.tables.aquifers, moved.copy()
    out[_by_level(works)] = 0.0
    net = np.zeros(len(works.ledger.stores) + 1)
    np.add.at(net, works.ends.target, moved)
    np.subtract.at(net, works.ends.source, out)
    return _mean_above(works, net[grounds["s_store"]] + wetter)


def _mean_above(works: Works, inflow: np.ndarray) -> np.ndarray:
    grounds = works.tables.aquifers
    left = np.maximum(inflow - grounds["infiltration"], LEAST_BASEFLOW * inflow)
    return np.where(left > 0.0, grounds["recession"] * left, grounds["mean_active"])


def _recharge_by_land(works: Works, past: Past) -> tuple[np.ndarray, np.ndarray]:
    """Recharge of each aquifer by the land in the long run, and how much more that is than in the
    last year [m3/d]; both by one account of the soil alone, so that what it leaves out cancels."""
    days = round((past.n_steps - past.last_year) * past.step)
    usual = recharge_by_land(works, past.many_years)
    return usual, usual - recharge_by_land(works, past.by_day, days)


def _land_by_itself(
    alone: LandAlone, past: Past, guess: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Volumes of the land a year before the first day with nobody living there, and how much
    groundwater gains in that year; groundwater settled to what all the years hold up."""
    works = alone.works
    slow, steps = works.tables.aquifers["s_store"], past.n_steps
    before = guess
    if past.last_year:
        years = past.steps(0, past.last_year)
        before = run_past(works.tables, years, works.ends, guess, past.step).end
    last = past.steps(past.last_year)
    run = run_past(works.tables, last, works.ends, before, past.step)
    lacking = _lacking(_kept(works, run, past, steps), run.end[slow] - guess[slow])
    in_years_before = _kept(works, run, past, past.last_year) * lacking
    in_all = _kept(works, run, past, steps) * lacking
    return before, run.end[slow] + in_all - before[slow] - in_years_before


def _lacking(kept: np.ndarray, risen: np.ndarray) -> np.ndarray:
    """What groundwater began too low by, where it should not have risen so [m3]."""
    return np.where(kept < 1.0, risen / np.maximum(1.0 - kept, 1e-12), 0.0)


def _kept(works: Works, run: Means, past: Past, steps: int) -> np.ndarray:
    """Share of an error in the level of groundwater that is left after some steps [-]."""
    out = np.zeros(len(run.volume) + 1)
    by_level = _by_level(works)
    np.add.at(out, works.ends.source[by_level], run.rate[by_level])
    slow = works.tables.aquifers["s_store"]
    above = run.volume[slow] - works.tables.aquifers["drained_volume"]
    share = np.divide(past.step * out[slow], above, out=np.zeros(len(slow)), where=above > 0.0)
    return (1.0 - np.minimum(share, 1.0)) ** steps


def _by_level(works: Works) -> np.ndarray:
    """Flows that leave groundwater the faster the higher it stands."""
    return np.concatenate(
        [works.tables.aquifers["f_baseflow"], works.tables.towns["f_infiltration"]]
    )


def _of_land(works: Works) -> np.ndarray:
    """Stores of land and ground, which need no town to fill."""
    drawn = works.tables
    tables = ((drawn.lands, "s_outlet"), (drawn.aquifers, "s_river"), (drawn.streams, ""))
    found = [
        table[name]
        for table, elsewhere in tables
        for name in table.dtype.names or ()
        if name.startswith("s_") and name != elsewhere
    ]
    stores = np.unique(np.concatenate(found))
    return stores[stores >= 0]
