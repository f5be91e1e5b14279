"""Peaks: how far the busiest day and hour stand above the average."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from hydroloop.arguments import CROWD, FLOW_RATES, PEAK, PEOPLE, POSITIVE, STEP, bounded
from hydroloop.errors import AskError, Problem
from hydroloop.plants.standards import At

HOUR_OVER_MAXIMUM_DAY = 2.0
"""Water supply: maximum hour over maximum day (35 Ill. Adm. Code 653.105) [-]."""

SEWAGE_PEAK_DAY = 1.8
"""Sewage: peak day over annual average (Civil Engineering License Review, ch. 9) [-]."""

FULL_TREATMENT_OVER_DESIGN = 2.7
"""Peak hour over the average of a year (Civil Engineering License Review, ch. 9) [-]."""

_AT: tuple[At, ...] = ("average", "maximum_day", "peak_hour")


@dataclass(frozen=True)
class Flows:
    """Flows that a plant has to meet.

    Attributes
    ----------
    average, maximum_day, peak_hour : float
        On average over the year, on the busiest day, in the busiest hour [m3/d].
    source : str
        Where the peaks come from, in words.
    beside : tuple of float
        What of each does not rise and fall with use: seepage and rain in the sewers [m3/d].
    """

    average: float
    maximum_day: float
    peak_hour: float
    source: str = ""
    beside: tuple[float, float, float] = (0.0, 0.0, 0.0)

    def __post_init__(self) -> None:
        ordered = 0.0 < self.average <= self.maximum_day <= self.peak_hour
        if not ordered or not np.isfinite(self.peak_hour):
            raise AskError(
                Problem(
                    "flows",
                    f"average {self.average:g}, maximum day {self.maximum_day:g} and peak hour "
                    f"{self.peak_hour:g} m3/d do not rise from above zero.",
                    "Give three flows, each at least the one before.",
                )
            )

    def at_average(self, flow: float, at: At, basis: At) -> float:
        """The flow of the basis at which the flow of another day or hour comes to so much [m3/d].

        What comes from use grows in proportion; what seeps and rains in stays as it is. Where there
        is no use, no growth of it comes to more: none is reached, or it is passed from the start.
        """
        beside = dict(zip(_AT, self.beside, strict=True))
        used = getattr(self, at) - beside[at]
        if used <= 0.0:
            return math.inf if flow >= beside[at] else 0.0
        times = (flow - beside[at]) / used
        return max(0.0, beside[basis] + times * (getattr(self, basis) - beside[basis]))

    @property
    def peaks(self) -> tuple[float, float]:
        """Maximum day and peak hour over the average [-]."""
        return self.maximum_day / self.average, self.peak_hour / self.average


@bounded(people=CROWD)
def peak_hour_ratio(people: Any) -> float:
    """Peak hour of sewage over its average [-].

    In a village all get up at once; in a city the peaks blur.
    Dry weather only: rain in the sewers comes on top.

    Parameters
    ----------
    people : float, or array of any shape
        People served [people]

    Returns
    -------
    float, or array of that shape
        Ratio [-]

    Notes
    -----
    (18 + sqrt P) / (4 + sqrt P), P in thousands; the same as Harmon's 1 + 14 / (4 + sqrt P). At
    most 4.5, for a handful of people.

    References
    ----------
    10 CSR 20-8.110, eq. 110-1.

    Examples
    --------
    >>> peak_hour_ratio(1000.0)
    3.8
    """
    root = np.sqrt(np.asarray(people, dtype=float) / 1000.0)
    return _plain((18.0 + root) / (4.0 + root))


@bounded(average=POSITIVE, people=PEOPLE)
def sewage_flows(average: float, people: float) -> Flows:
    """Sewage flows where only the average is known [m3/d].

    The published rules for a plant's busiest day and hour in dry weather.
    Storms and leaky sewers bring more.

    Parameters
    ----------
    average : float
        Average day, above zero [m3/d]
    people : float
        People served, above zero [people]

    Returns
    -------
    Flows
        Average, maximum day and peak hour [m3/d]

    Raises
    ------
    AskError
        If the average is not above zero.

    Notes
    -----
    Peak hour (18 + sqrt P) / (4 + sqrt P); peak day 1.8, but never more than the peak hour.

    References
    ----------
    10 CSR 20-8.110, eq. 110-1; Civil Engineering License Review, 15th ed., ch. 9.

    Examples
    --------
    >>> sewage_flows(1000.0, 1000.0).peak_hour
    3800.0
    """
    hour = peak_hour_ratio(people) * average
    day = min(SEWAGE_PEAK_DAY * average, hour)
    return Flows(average, day, hour, "10 CSR 20-8.110 and Civil Engineering License Review")


@bounded(rate=FLOW_RATES, step=STEP, hour_over_day=PEAK)
def season_flows(rate: np.ndarray, step: float, hour_over_day: float | None = None) -> Flows:
    """Flows of a season's own demand [m3/d].

    What a run of the model shows: its mean, its busiest day, its busiest hour.
    A season without its hot weeks has no true maximum day.

    Parameters
    ----------
    rate : array (time)
        Flow of each step [m3/d]
    step : float
        Length of a step; divides a day [d]
    hour_over_day : float, optional
        Peak hour over maximum day where steps are longer than an hour; 2.0 if left out [-]

    Returns
    -------
    Flows
        Average, maximum day, peak hour [m3/d]

    Raises
    ------
    AskError
        If there is no flow, or not one whole day of it.

    Notes
    -----
    Days are cut from the first step; a last day that is not whole is left out of the maximum.

    Examples
    --------
    >>> season_flows(np.array([1.0, 2.0, 3.0]), 1.0).maximum_day
    3.0
    """
    flow = np.asarray(rate, dtype=float)
    steps_a_day = max(1, round(1.0 / step))
    days = len(flow) // steps_a_day
    if days == 0:
        raise AskError(Problem("season", "is shorter than a day.", "Run at least one day."))
    maximum_day = float(flow[: days * steps_a_day].reshape(days, steps_a_day).mean(axis=1).max())
    if steps_a_day >= 24:
        hour, told = float(flow.max()), "the season's own days and hours"
    else:
        ratio = HOUR_OVER_MAXIMUM_DAY if hour_over_day is None else hour_over_day
        hour = max(float(flow.max()), ratio * maximum_day)
        told = f"the season's own days; peak hour {ratio:g} times the maximum day"
    average = float(flow[: days * steps_a_day].mean())
    return Flows(average, maximum_day, max(hour, maximum_day), told)


def _plain(value: np.ndarray) -> float:
    """A float for a float, an array for an array."""
    return float(value) if np.ndim(value) == 0 else value  # type: ignore[return-value]
