"""Labels moved apart, each as little as it takes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> np.ndarray:
    """Heights of labels, wanted in rising order, that would overlap: at least `gap` apart, least
    squares of moves, evenly where there is no room. With `z_i = y_i - i gap` it is the nearest
    rising z, which pooling of neighbours in the wrong order solves; clipping keeps it the
    nearest."""
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
