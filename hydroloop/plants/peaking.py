"""Peaks: how far the busiest day and hour stand above the average."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from hydroloop.errors import AskError, Problem
from hydroloop.plants.standards import At

MAXIMUM_DAY, HOUR_OVER_MAXIMUM_DAY = 1.5, 2.0
"""Water supply: maximum day over average, maximum hour over maximum day (35 IAC 653.105) [-]."""

SEWAGE_PEAK_DAY = 1.8
"""Sewage: peak day over annual average (Civil Engineering License Review, ch. 9) [-]."""

FULL_TREATMENT_OVER_DESIGN = 2.7
"""Peak hour over the average of a year (Civil Engineering License Review, ch. 9) [-]."""

DWELLING_FLOWS_GAL_PER_D = {"FHA": (400.0, 800.0, 2000.0), "metered": (400.0, 870.0, 2120.0)}
"""A dwelling's average, maximum day and peak hour (WE Table 4.10) [gal/d]."""

_AT: tuple[At, ...] = ("average", "maximum_day", "peak_hour")
_LITRES_A_GALLON = 3.785411784


@dataclass(frozen=True)
class Flows:
    """Flows that a plant has to meet.

    Attributes
    ----------
    average, maximum_day, peak_hour : float
        On the mean of the year, on the busiest day, in the busiest hour [m3/d].
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

        What comes from use grows in proportion; what seeps and rains in stays as it is.
        """
        beside = dict(zip(_AT, self.beside, strict=True))
        times = (flow - beside[at]) / (getattr(self, at) - beside[at])
        return max(0.0, beside[basis] + times * (getattr(self, basis) - beside[basis]))

    @property
    def peaks(self) -> tuple[float, float]:
        """Maximum day and peak hour over the average [-]."""
        return self.maximum_day / self.average, self.peak_hour / self.average


def peak_hour_ratio(people: float) -> float:
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


def gifft_ratios(people: float) -> tuple[float, float, float]:
    """Extremes of sewage: maximum day, minimum day, one over the other [-].

    Small places swing more than large ones, both ways.
    For residential districts; industry has its own hours.

    Parameters
    ----------
    people : float, or array of any shape
        People served, above zero [people]

    Returns
    -------
    tuple of float, or of arrays of that shape
        Maximum over average, minimum over average, maximum over minimum [-]

    Notes
    -----
    5 P^(-1/6), 0.2 P^(1/6), 25 P^(-1/3), P in thousands.

    References
    ----------
    Shammas & Wang 2011, Fair, Geyer and Okun's Water and Wastewater Engineering, eq. 4.23-4.25
    (Gifft).

    Examples
    --------
    >>> gifft_ratios(1000.0)
    (5.0, 0.2, 25.0)
    """
    thousands = np.asarray(people, dtype=float) / 1000.0
    sixth = thousands ** (1.0 / 6.0)
    return _plain(5.0 / sixth), _plain(0.2 * sixth), _plain(25.0 / sixth**2)


def dwelling_flows(dwellings: float, survey: str = "FHA") -> Flows:
    """Flows of a number of dwellings, by a published survey [m3/d].

    A rule for a new quarter that nobody has metered yet.
    American houses with gardens: others use far less.

    Parameters
    ----------
    dwellings : float
        Number of dwellings, above zero [-]
    survey : str
        ``"FHA"`` or ``"metered"``

    Returns
    -------
    Flows
        Average, maximum day and peak hour [m3/d]

    Raises
    ------
    AskError
        If there is no such survey, or no dwelling.

    Notes
    -----
    400, 800 and 2,000 gal/d for each dwelling (FHA); 400, 870 and 2,120 (metered, national).

    References
    ----------
    Shammas & Wang 2015, Water Engineering, Table 4.10.

    Examples
    --------
    >>> dwelling_flows(100, "FHA").peaks
    (2.0, 5.0)
    """
    if survey not in DWELLING_FLOWS_GAL_PER_D:
        raise AskError(
            Problem("survey", f'there is no survey "{survey}".', "There are: FHA, metered.")
        )
    average, day, hour = (
        dwellings * each_gal * _LITRES_A_GALLON / 1000.0
        for each_gal in DWELLING_FLOWS_GAL_PER_D[survey]
    )
    return Flows(average, day, hour, f"survey of dwellings, {survey}")


def dwelling_peak_hour_gal_per_d(maximum_day_gal_per_d: float) -> float:
    """Peak hour of a dwelling from its maximum day [gal/d].

    A line drawn through many metered places.
    For one dwelling, in gallons, as it was fitted.

    Parameters
    ----------
    maximum_day_gal_per_d : float
        Use on the maximum day [gal/d]

    Returns
    -------
    float
        Flow in the peak hour [gal/d]

    Notes
    -----
    334 + 2.02 x maximum day.

    References
    ----------
    Shammas & Wang 2015, Water Engineering, eq. 4.21a.

    Examples
    --------
    >>> round(dwelling_peak_hour_gal_per_d(1000.0))
    2354
    """
    return 334.0 + 2.02 * maximum_day_gal_per_d


def instantaneous_ratio(people: float) -> float:
    """Highest flow of a moment over the average [-].

    What a pipe to a few houses must carry when all taps are open.
    For pipes and meters, not for plants, which tanks protect.

    Parameters
    ----------
    people : float, or array of any shape
        People served, above zero [people]

    Returns
    -------
    float, or array of that shape
        Ratio [-]

    Notes
    -----
    9 up to 220 people; beyond, 7 / P^0.167, P in thousands. The two meet within 0.2 %.

    References
    ----------
    Shammas & Wang 2011, Fair, Geyer and Okun's Water and Wastewater Engineering.

    Examples
    --------
    >>> instantaneous_ratio(100), instantaneous_ratio(1000)
    (9.0, 7.0)
    """
    served = np.asarray(people, dtype=float)
    large = 7.0 / (np.maximum(served, 1.0) / 1000.0) ** 0.167
    return _plain(np.where(served <= 220.0, 9.0, large))


def supply_flows(average: float) -> Flows:
    """Water-supply flows where only the average is known [m3/d].

    The published rule for a town's busiest day and hour.
    Dry towns with many lawns peak higher: use the season's own demand where there is one.

    Parameters
    ----------
    average : float
        Average day, above zero [m3/d]

    Returns
    -------
    Flows
        Average, maximum day (1.5 times) and peak hour (2.0 times that) [m3/d]

    Raises
    ------
    AskError
        If the average is not above zero.

    Notes
    -----
    Maximum day 1.5 x average; maximum hour 2.0 x maximum day.

    References
    ----------
    35 Ill. Adm. Code 653.105.

    Examples
    --------
    >>> supply_flows(1000.0).peak_hour
    3000.0
    """
    day = MAXIMUM_DAY * average
    return Flows(average, day, HOUR_OVER_MAXIMUM_DAY * day, "35 Ill. Adm. Code 653.105")


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
