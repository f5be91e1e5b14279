"""What each of several changes contributes to the change of a measure."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

import numpy as np

MOST_EXACT = 8
"""Changes up to which every set of them is run; beyond it orders are drawn."""

Values = Callable[[Sequence[int]], np.ndarray]
"""Takes sets of changes as bit masks and returns measures of shape (set, ...)."""


def exact_contributions(count: int, values: Values) -> np.ndarray:
    """Contribution of each change, shape (change, ...), averaged over every order in which they can
    be made: phi_i = sum over sets S without i of |S|! (n - |S| - 1)! / n! (v(S and i) - v(S)). Bit
    i of a set stands for change i.
    Shapley 1953, A value for n-person games, Annals of Mathematics Studies 28:307."""
    found = values(range(2**count))
    phi = np.zeros((count, *found.shape[1:]))
    for change in range(count):
        for without in range(2**count):
            if without >> change & 1:
                continue
            size = without.bit_count()
            weight = math.factorial(size) * math.factorial(count - size - 1)
            step = found[without | 1 << change] - found[without]
            phi[change] += weight / math.factorial(count) * step
    return phi


def drawn_contributions(
    count: int, values: Values, *, orders: int, seed: int
) -> tuple[np.ndarray, np.ndarray]:
    """Contributions averaged over pairs of orders drawn at random, each with its reverse, and their
    standard errors, shape (change, ...): for more changes than every set can be run of.
    Castro, Gomez and Tejada 2009, Computers & Operations Research 36:1726."""
    chance = np.random.default_rng(seed)
    drawn = [chance.permutation(count).tolist() for _ in range(orders)]
    paths = [(_sets_along(order), _sets_along(order[::-1])) for order in drawn]
    sets = sorted({one for pair in paths for path in pair for one in path})
    where = {one: k for k, one in enumerate(sets)}
    found = values(sets)
    pairs = np.zeros((orders, count, *found.shape[1:]))
    for k, (order, pair) in enumerate(zip(drawn, paths, strict=True)):
        for path, turn in zip(pair, (order, order[::-1]), strict=True):
            steps = np.diff(found[[where[one] for one in path]], axis=0)
            pairs[k, turn] += 0.5 * steps
    error = pairs.std(axis=0, ddof=1) / math.sqrt(orders) if orders > 1 else pairs[0] * np.inf
    return pairs.mean(axis=0), error


def _sets_along(order: Sequence[int]) -> list[int]:
    """Sets that grow from none to all as changes are made in an order."""
    sets = [0]
    for change in order:
        sets.append(sets[-1] | 1 << change)
    return sets
