"""What was read through the last day, whatever the length of a step."""

from __future__ import annotations

import numpy as np
from numba import njit


@njit
def latest(kept: np.ndarray, t: int, value: float) -> np.ndarray:
    """What was read in the steps of the last day, in no order, with that of now: `kept` has one
    place for each step of a day. On the first day only its own steps are known."""
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
