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
    """Contribution of each change, averaged over every order in which they can be made.

    Where changes help or hinder each other the order matters, and no order is the right one; the
    mean over all of them is the one split that adds up, treats like changes alike and gives
    nothing to a change that does nothing. It says nothing of what a change would do alone.

    Parameters
    ----------
    count : int
        Number of changes.
    values : callable
        Measures after each of some sets of changes; bit i of a set stands for change i.

    Returns
    -------
    numpy.ndarray
        Shape (change, ...), in the unit of the measures; they add up to the whole difference.

    Notes
    -----
    phi_i = sum over sets S without i of |S|! (n - |S| - 1)! / n! (v(S and i) - v(S)).

    References
    ----------
    Shapley 1953, A value for n-person games, Annals of Mathematics Studies 28:307.

    Examples
    --------
    >>> both = lambda sets: np.array([{0: 0.0, 1: 1.0, 2: 2.0, 3: 5.0}[s] for s in sets])
    >>> exact_contributions(2, both).tolist()
    [2.0, 3.0]
    """
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
    """Contributions averaged over some orders, drawn by lot, with their standard error.

    For more changes than every set can be run of. Every order adds up to the whole difference, and
    so does their mean.

    Parameters
    ----------
    count : int
        Number of changes.
    values : callable
        As `exact_contributions` takes it.
    orders : int
        Number of pairs of orders; each order comes with its reverse.
    seed : int
        The same seed gives the same orders.

    Returns
    -------
    tuple of numpy.ndarray
        Contributions, and the standard error of each; shape (change, ...).

    References
    ----------
    Castro, Gomez and Tejada 2009, Computers & Operations Research 36:1726.

    Examples
    --------
    >>> alone = lambda sets: np.array([float(s.bit_count()) for s in sets])
    >>> phi, error = drawn_contributions(10, alone, orders=4, seed=1)
    >>> phi.tolist() == [1.0] * 10, error.max()
    (True, np.float64(0.0))
    """
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
