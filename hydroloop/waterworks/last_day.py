"""What was read through the last day, whatever the length of a step."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit
def latest(kept: np.ndarray, t: int, value: float) -> np.ndarray:
    """What was read in the steps of the last day, with that of now.

    Plants are run, and lawns watered, by what the last day asked for. On the first day only its own
    steps are known.

    Parameters
    ----------
    kept : ndarray of shape (time,)
        One place for each step of a day, in turn; the oldest is replaced.
    t : int
        Number of the step [-].
    value : float
        What is read now.

    Returns
    -------
    ndarray of shape (time,)
        Readings of the last day, in no order.

    Examples
    --------
    >>> import numpy as np
    >>> from hydroloop.waterworks.last_day import latest
    >>> kept = np.zeros(2)
    >>> [float(latest(kept, t, value).mean()) for t, value in enumerate((1.0, 3.0, 5.0))]
    [1.0, 2.0, 4.0]
    """
    kept[t % len(kept)] = value
    return kept[: t + 1]


@njit
def mean_of_day(kept: np.ndarray, t: int, value: float) -> float:
    """Mean of `latest`, which a step of a day is by itself."""
    return value if len(kept) == 1 else latest(kept, t, value).mean()


@njit
def most_of_day(kept: np.ndarray, t: int, value: float) -> float:
    """The same for the largest."""
    return value if len(kept) == 1 else latest(kept, t, value).max()
