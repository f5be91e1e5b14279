"""Storage of treated water: what the hours of a day ask of the tanks."""

from __future__ import annotations

import numpy as np

from hydroloop.arguments import COUNT, FLOW_RATES, STEP, bounded
from hydroloop.errors import AskError, Problem


@bounded(demand=FLOW_RATES, production=FLOW_RATES, step=STEP)
def equalising_volume(demand: np.ndarray, production: np.ndarray, step: float) -> float:
    """Equalising volume: what tanks must hold to even out the hours [m3].

    The plant runs evenly and people do not: this much is filled by night and drawn by day.
    Water to fight fires, and for a plant that stands still, comes on top.

    Parameters
    ----------
    demand : array (time)
        Flow out of the tanks [m3/d]
    production : array (time)
        Flow into the tanks [m3/d]
    step : float
        Length of a step [d]

    Returns
    -------
    float
        Volume [m3]

    Notes
    -----
    Highest less lowest of the sum of (production - demand) dt, the start of the span included.

    References
    ----------
    The mass curve of W. Rippl, 1883, Minutes of Proceedings of the Institution of Civil Engineers
    71 (from memory).

    Examples
    --------
    >>> demand = np.array([0.0, 0.0, 48.0, 48.0])       # two quarters of a day off, two on
    >>> equalising_volume(demand, np.full(4, 24.0), 0.25)
    12.0
    """
    level = np.concatenate([[0.0], np.cumsum((np.asarray(production) - demand) * step)])
    return float(level.max() - level.min())


@bounded(demand=FLOW_RATES, steps_a_day=COUNT)
def day_equalising_volumes(demand: np.ndarray, steps_a_day: int) -> np.ndarray:
    """Equalising volume of each day if the plant ran evenly through it [m3].

    How large the daily breath of the tanks is, whatever the plant did.
    A day is taken for itself: what it takes over from the day before is not in it.

    Parameters
    ----------
    demand : array (time)
        Flow out of the tanks, whole days of it [m3/d]
    steps_a_day : int
        Steps of a day [-]

    Returns
    -------
    array (time)
        One volume a day [m3]

    Raises
    ------
    AskError
        An argument is out of its bounds, or the last day is not whole.

    Examples
    --------
    >>> day_equalising_volumes(np.array([0.0, 48.0, 24.0, 24.0]), 2).tolist()
    [12.0, 0.0]
    """
    if len(demand) % steps_a_day:
        raise AskError(
            Problem(
                "day_equalising_volumes",
                f"{len(demand)} values are not whole days of {steps_a_day}.",
                "Leave out the rest of a day.",
                "demand",
            )
        )
    days = np.asarray(demand, dtype=float).reshape(-1, steps_a_day)
    return np.array(
        [
            equalising_volume(day, np.full(steps_a_day, day.mean()), 1.0 / steps_a_day)
            for day in days
        ]
    )
