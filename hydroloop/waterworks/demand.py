"""Rules of demand: the hours of a day."""

from __future__ import annotations

import numpy as np

# Share of a day's indoor use in each hour from midnight, homes: a quiet night, a morning and an
# evening peak. Common practice; the shape is our own, scaled so that the mean is one.
_HOMES_BY_HOUR = (
    0.35,
    0.25,
    0.22,
    0.22,
    0.30,
    0.70,
    1.50,
    1.95,
    1.70,
    1.35,
    1.15,
    1.05,
    1.05,
    1.00,
    0.95,
    0.95,
    1.05,
    1.30,
    1.60,
    1.60,
    1.40,
    1.15,
    0.80,
    0.46,
)
_WORK_BY_HOUR = (
    0.20,
    0.20,
    0.20,
    0.20,
    0.25,
    0.40,
    0.80,
    1.40,
    1.80,
    1.90,
    1.90,
    1.90,
    1.80,
    1.90,
    1.90,
    1.80,
    1.60,
    1.30,
    0.80,
    0.60,
    0.45,
    0.35,
    0.25,
    0.20,
)
# Lawns are watered early and late, when less of it dries up on the way. In quarters, so that their
# mean is one to the last bit and a daily step does not feel the curve.
_YARDS_BY_HOUR = (
    0.25,
    0.25,
    0.25,
    0.50,
    1.00,
    2.00,
    2.50,
    2.25,
    1.50,
    0.75,
    0.50,
    0.50,
    0.50,
    0.50,
    0.50,
    0.50,
    0.75,
    1.00,
    1.75,
    2.25,
    2.00,
    1.25,
    0.50,
    0.25,
)


def hourly_factors(steps: int, dt: float, first: int = 0) -> tuple[np.ndarray, ...]:
    """How use at homes, workplaces and yards varies through the day.

    A daily step sees the mean, one; shorter steps see a morning and an evening peak. The curves are
    typical, not measured anywhere.

    Parameters
    ----------
    steps : int
        Number of steps [-].
    dt : float
        Length of a step [d]; a whole number of steps makes a day.
    first : int
        Step of the day with which the season begins [-].

    Returns
    -------
    tuple of ndarray, each of shape (time,)
        Factors on the mean use of homes, workplaces and yards [-]; their mean over a day is one.

    Notes
    -----
    Each step takes the mean of the hourly curve over its length. Common practice.

    Examples
    --------
    >>> from hydroloop.waterworks.demand import hourly_factors
    >>> homes, work, yards = hourly_factors(3, 1.0)
    >>> homes.round(12).tolist()
    [1.0, 1.0, 1.0]
    """
    per_day = max(1, round(1.0 / dt))
    wanted = np.arange(first, first + steps) % per_day
    curves = (_HOMES_BY_HOUR, _WORK_BY_HOUR, _YARDS_BY_HOUR)
    return tuple(_averaged(curve, per_day)[wanted] for curve in curves)


def _averaged(curve: tuple[float, ...], per_day: int) -> np.ndarray:
    hourly = np.asarray(curve) / np.mean(curve)
    gathered = np.concatenate([[0.0], np.cumsum(hourly)])
    edges = np.linspace(0.0, 24.0, per_day + 1)
    return np.diff(np.interp(edges, np.arange(25.0), gathered)) * per_day / 24.0
