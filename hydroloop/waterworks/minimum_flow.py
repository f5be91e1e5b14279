"""Minimum flow left in a river, by a share of its mean flow or by its low flow."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np

from hydroloop.errors import InputError, Problem
from hydroloop.scenario import Scenario
from hydroloop.scenario.schema_river import FlowFile, River
from hydroloop.scenario.schema_town import Town
from hydroloop.waterworks.file_record import flow_record
from hydroloop.weather.low_flow import low_flow, yearly_minima

# Tennant 1976, Fisheries 1 (from memory): October to March, April to September.
TENNANT = {
    "poor": (0.10, 0.10),
    "fair": (0.10, 0.30),
    "good": (0.20, 0.40),
    "excellent": (0.30, 0.50),
    "outstanding": (0.40, 0.60),
}
RULES = ("fixed", "share_of_mean", "tennant", "7q10")
_WARM_MONTHS = range(4, 10)


def tennant_share(time: np.ndarray, name: str, *, southern: bool = False) -> np.ndarray:
    """Share of the mean flow to be left in the river [-].

    More in the growing season than in the cold half of the year.
    Drawn up for streams of the western United States; elsewhere a starting point for talk.

    Parameters
    ----------
    time : ndarray of shape (time,)
        Start of each step, as datetime64
    name : {"poor", "fair", "good", "excellent", "outstanding"}
        How well the river is to be kept
    southern : bool
        Whether the halves of the year are exchanged

    Returns
    -------
    ndarray of shape (time,)
        Share of each step [-]

    Raises
    ------
    InputError
        There is no such class.

    References
    ----------
    Tennant 1976, Instream flow regimens, Fisheries 1 (the table from memory; 10, 30 and 60 % read
    in the abstract).

    Examples
    --------
    >>> days = np.array(["2031-03-31", "2031-04-01"], dtype="datetime64[D]")
    >>> tennant_share(days, "good").tolist()
    [0.2, 0.4]
    """
    if name not in TENNANT:
        what = f'there is no class "{name}".'
        raise InputError(Problem("minimum_flow_class", what, f"There are {', '.join(TENNANT)}."))
    cold, warm = TENNANT[name]
    month = np.asarray(time).astype("datetime64[M]").astype(int) % 12 + 1
    is_warm = np.isin(month, list(_WARM_MONTHS)) != southern
    return np.where(is_warm, warm, cold)


def minimum_flow_series(
    rule: str,
    inflow: np.ndarray,
    days: np.ndarray,
    time: np.ndarray,
    *,
    share: float = 0.3,
    tennant_class: str = "good",
    southern: bool = False,
) -> np.ndarray:
    """Minimum flow that an intake must leave in the river [m3/d].

    From the whole record of the river's inflow, so that a dry season does not lower its own mark.
    A real minimum flow is set by the authorities, for that river and its life.

    Parameters
    ----------
    rule : {"share_of_mean", "tennant", "7q10"}
        How it is set; a fixed flow needs no series
    inflow : ndarray of shape (day,)
        Daily inflow of the record [m3/d]
    days : ndarray of shape (day,)
        Days of the record, as datetime64[D]
    time : ndarray of shape (time,)
        Start of each step of the season
    share : float
        Share of the mean (share_of_mean) [-]
    tennant_class : str
        How well the river is to be kept (tennant)
    southern : bool
        Whether the halves of the year are exchanged, and years for low flow begin in October

    Returns
    -------
    ndarray of shape (time,)
        Minimum flow of each step [m3/d]

    Raises
    ------
    InputError
        The rule is not known, or the record has too few whole years for a 7Q10.

    Notes
    -----
    7Q10: lowest 7-day mean once in 10 years, log-Pearson III, years from April to March (in the
    south from October to September).

    Examples
    --------
    >>> days = np.array(["2031-03-31", "2031-04-01"], dtype="datetime64[D]")
    >>> minimum_flow_series("tennant", np.array([100.0, 300.0]), days, days).tolist()
    [40.0, 80.0]
    """
    steps = len(time)
    if rule == "share_of_mean":
        return np.full(steps, share * float(np.mean(inflow)))
    if rule == "tennant":
        return float(np.mean(inflow)) * tennant_share(time, tennant_class, southern=southern)
    if rule == "7q10":
        minima = yearly_minima(inflow, days, starts_in=10 if southern else 4).minima
        return np.full(steps, low_flow(minima, 10.0).value)
    what = f'there is no rule "{rule}".'
    raise InputError(Problem("minimum_flow_rule", what, f"There are {', '.join(RULES[1:])}."))


def river_minimum_flows(scenario: Scenario, time: np.ndarray) -> dict[str, np.ndarray]:
    """Minimum flow of each river by its rule [m3/d]."""
    return {name: _of_river(scenario, river, time) for name, river in scenario.river.items()}


def town_minimum_flows(towns: Mapping[str, Town], rivers: Mapping[str, np.ndarray]) -> np.ndarray:
    """Flow that must pass each town's intake [m3/d]. The intake's own where it is given, or else
    its river's."""
    steps = len(next(iter(rivers.values())))
    flows = np.zeros((steps, len(towns)))
    for number, town in enumerate(towns.values()):
        if town.intake is not None and town.intake.river is not None:
            own = town.intake.minimum_flow
            flows[:, number] = rivers[town.intake.river] if own is None else own
    return flows


def _of_river(scenario: Scenario, river: River, time: np.ndarray) -> np.ndarray:
    if river.minimum_flow_rule == "fixed":
        return np.full(len(time), river.minimum_flow)
    if isinstance(river.inflow, FlowFile):
        days, inflow = flow_record(scenario, river.inflow)
    else:
        days, inflow = time[:1], np.array([river.inflow], dtype=float)
    return minimum_flow_series(
        river.minimum_flow_rule,
        inflow,
        days,
        time,
        share=river.minimum_flow_share,
        tennant_class=river.minimum_flow_class,
        southern=scenario.weather.latitude < 0,
    )
