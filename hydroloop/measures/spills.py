"""Sewage that a town could not treat, or not in full: overflow and bypass."""

from __future__ import annotations

import numpy as np


def spilled(rate: np.ndarray, days: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """How much went untreated over the season, on how many days, and the largest of a step.

    A step counts as whole in which any does. A day's mean hides a short and heavy overflow, so that
    real ones are more frequent than this in daily steps.

    Parameters
    ----------
    rate : numpy.ndarray
        Flow of overflow, or of bypass, shape (time, ...) [m3/d].
    days : numpy.ndarray
        Lengths of the steps, shape (time) [d].

    Returns
    -------
    tuple of numpy.ndarray
        Volume [m3], days [d], and the largest flow [m3/d]; each of shape (...).

    Examples
    --------
    >>> volume, on, largest = spilled(np.array([0.0, 30.0, 10.0]), np.ones(3))
    >>> float(volume), float(on), float(largest)
    (40.0, 2.0, 30.0)
    """
    return (np.asarray(np.tensordot(days, rate, axes=1)),
            np.asarray(np.tensordot(days, rate > 0.0, axes=1)), np.asarray(rate.max(axis=0)))
