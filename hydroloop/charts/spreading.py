"""Labels moved apart, each as little as it takes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> np.ndarray:
    """Heights of labels that would overlap where they are wanted.

    The order stays, neighbours are at least `gap` apart, and the sum of squared moves is least.
    Where there is no room for all within `low` and `high`, they share the room evenly.

    Parameters
    ----------
    wanted : sequence of float
        Where the labels belong, in rising order.
    gap : float
        Least distance of neighbours.
    low, high : float
        Where the first and the last may be at most.

    Returns
    -------
    numpy.ndarray
        Where the labels go.

    Raises
    ------
    ValueError
        `wanted` does not rise.

    Notes
    -----
    With ``z_i = y_i - i gap`` the task is to find the nearest rising z, which pooling of neighbours
    that are in the wrong order solves exactly; clipping z to a range keeps it the nearest.

    Examples
    --------
    >>> spread([1.0, 1.0, 5.0], 1.0, 0.0, 10.0).tolist()
    [0.5, 1.5, 5.0]
    """
    count = len(wanted)
    if any(later < earlier for earlier, later in pairwise(wanted)):
        raise ValueError("wanted must rise.")
    if count > 1 and (count - 1) * gap > high - low:
        return np.linspace(low, high, count)
    pools: list[list[float]] = []  # mean and number of each pool
    for index, value in enumerate(wanted):
        pools.append([value - index * gap, 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            mean, size = pools.pop()
            before = pools[-1]
            before[0] = (before[0] * before[1] + mean * size) / (before[1] + size)
            before[1] += size
    level = np.repeat([mean for mean, _ in pools], [int(size) for _, size in pools])
    steps = gap * np.arange(count)
    return np.clip(level, low, high - gap * (count - 1)) + steps
