"""Labels of the water that is there when the record begins.

Its past is not in the record. Either the first year is repeated until the labels settle, or the
steady state of the year's mean flows is taken, or the past is left open and called unknown.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any, NamedTuple

import numpy as np

from hydroloop.compiling import compiled
from hydroloop.errors import AskError, Problem
from hydroloop.record import nearest
from hydroloop.tracing.operator import Operator

WAYS = ("repeat", "steady", "none")
"""Ways to warm up."""

SETTLED = 1e-9
MOST_REPEATS = 200
UNSETTLED = 1e-6
"""Labels that are further than this from settled cannot be told: shown are three figures [-]."""

NEVER_LEAVES = 1.0 - 1e-12  # share that stays over the year, from which nothing leaves at all
_ENDLESS = 1e100  # larger than any label
_MOST_GAIN = 1e5  # what is brought forward is then exact to 1e-10: a year's labels are to 1e-15
_ROUNDING = 1e-9
_LEAST_FACTOR, _MOST_FACTOR = 0.02, 0.999


class Settled(NamedTuple):
    """Labels at the first edge and what is left of the warm-up."""

    state: np.ndarray  # labels, shape (row, store, member)
    change: float  # estimate of how far the labels are from settled
    repeats: int  # repeats of the first year
    # the same estimate for each label, relative to it if it is more than one; shape (row, store,
    # member). What is above `UNSETTLED` cannot be told
    left: np.ndarray

    def told(self, labels: np.ndarray) -> np.ndarray:
        """Labels (edge, store, member) with NaN in stores in which they have not settled."""
        return np.where((self.left > UNSETTLED).any(axis=0), np.nan, labels)


def as_begun(state: np.ndarray) -> Settled:
    """Labels that are taken as they are, without a repeat."""
    return Settled(state, 0.0, 0, np.zeros_like(state))


def check_warm_up(way: Any) -> str:
    """The way to warm up, if there is such a way."""
    if way in WAYS:
        return str(way)
    cure = nearest(str(way), WAYS) or f"Choose from {', '.join(WAYS)}."
    raise AskError(Problem("warm_up", f'"{way}" is no way to warm up.', cure))


def first_year(op: Operator) -> int:
    """Number of steps that begin within a year of the first edge, or all."""
    first = op.edge[0]
    same_day = first.astype("datetime64[M]") + np.timedelta64(12, "M")
    end = same_day + (first - first.astype("datetime64[M]"))
    return max(1, int(np.searchsorted(op.edge[:-1], end)))


Change = Callable[[np.ndarray], np.ndarray]


def settle(
    op: Operator,
    year: Change,
    guess: np.ndarray,
    forward: Change | None = None,
    *,
    most: np.ndarray | float = np.inf,
) -> Settled:
    """Repeat the first year until its end hands on the labels that it began with, none above
    `most`.

    A store that is slow to change would need many repeats, so what they would bring is added at
    once, by `forward` or else by its own `gain`. That is never more than they would bring, so it
    settles on the same labels, and never slower (a regular splitting of an M-matrix). From one
    repeat to the next the changes r shrink by a factor g, so what is still to come is about r g
    / (1 - g). The first changes are those of quick stores, and tell nothing of slow ones: g is
    the larger of the last two factors, and never taken as less than 0.02. Each member stops by
    itself, where it would end alone.
    """
    if forward is None:
        forward = partial(np.multiply, gain(retained(op)))
    has_water = op.water.volume[0] > 0
    state, repeats = guess, 0
    left = np.zeros_like(guess)
    change = np.full(guess.shape[-1], np.inf)
    sizes: list[np.ndarray] = []
    while (change > SETTLED).any() and repeats < MOST_REPEATS:
        moves = change > SETTLED
        once = np.where(has_water & moves, year(state.copy()) - state, 0.0)
        endless = ~(np.abs(once) < _ENDLESS)  # nor is nan
        once[endless] = 0.0
        step = _forward_or_once(state, once, forward, has_water, most)
        state = state + step
        largest = np.maximum(1.0, np.abs(state).max(axis=(0, 1), initial=0.0))
        sizes = [*sizes[-2:], np.abs(step).max(axis=(0, 1), initial=0.0) / largest]
        change[moves] = _still_to_come(sizes)[moves]
        more = change / np.maximum(sizes[-1], 1e-300)  # of what the last repeat brought
        left[..., moves] = (np.abs(step) / np.maximum(1.0, np.abs(state)) * more)[..., moves]
        left[endless] = 1.0
        change[endless.any(axis=(0, 1))] = 1.0
        repeats += 1
        if endless.any():
            break
    return Settled(np.maximum(state, 0.0), float(change.max(initial=0.0)), repeats, left)


def _forward_or_once(
    state: np.ndarray,
    once: np.ndarray,
    forward: Change,
    has_water: np.ndarray,
    most: np.ndarray | float,
) -> np.ndarray:
    """Changes brought forward, or those of one repeat for members that would be led astray."""
    with np.errstate(over="ignore", invalid="ignore"):
        step = np.where(has_water, forward(once), 0.0)
        found = state + step
        is_label = (found >= -_ROUNDING) & (found <= most + _ROUNDING)  # nan is neither
    return np.where((is_label | ~has_water).all(axis=(0, 1)), step, once)


def _still_to_come(sizes: list[np.ndarray]) -> np.ndarray:
    """Sum of the changes that further repeats would bring, from the last three."""
    if len(sizes) < 3:
        return sizes[-1]
    first, second, last = sizes
    factors = np.stack([second, last]) / np.maximum(np.stack([first, second]), 1e-300)
    factor = np.clip(factors.max(axis=0), _LEAST_FACTOR, _MOST_FACTOR)
    return np.asarray(last * factor / (1.0 - factor))


def retained(op: Operator) -> np.ndarray:
    """Share of each store's first water that has surely not left it by the year's end, (store,
    member).

    p_i = prod V_i[t] / max(V_i[t] + dt in_i, V_i[t+1] + dt out_i): what has left and come back
    does not count. For water both are the same; a label may be left behind, or go on with other
    flows.
    """
    kept = np.ones(op.shape[1:])
    into, out = np.flatnonzero(op.target >= 0), np.flatnonzero(op.source >= 0)
    _keep(op.water, first_year(op), (into, op.target[into]), (out, op.source[out]), kept)
    return kept


def gain(kept: np.ndarray) -> np.ndarray:
    """What a change of one repeat comes to with all further ones, in a store by itself: 1 / (1 -
    p), at most 1e5, so that the last digit of a year's labels stays small; 0 for a store that
    nothing enters: it keeps its label for ever, and there is nothing to bring forward."""
    return np.where(kept < NEVER_LEAVES, 1.0 / np.maximum(1.0 - kept, 1.0 / _MOST_GAIN), 0.0)


@compiled
def _keep(water, steps, into, out, kept):
    total, after = np.empty_like(kept), np.empty_like(kept)
    for t in range(steps):
        total[:] = water.volume[t]
        after[:] = water.volume[t + 1]
        for n in range(len(into[0])):
            for member in range(kept.shape[1]):
                total[into[1][n], member] += water.days[t] * water.rate[t, into[0][n], member]
        for n in range(len(out[0])):
            for member in range(kept.shape[1]):
                after[out[1][n], member] += water.days[t] * water.rate[t, out[0][n], member]
        for store in range(len(kept)):
            for member in range(kept.shape[1]):
                held = water.volume[t, store, member]
                through = max(total[store, member], after[store, member])
                kept[store, member] *= held / through if held > 0.0 else 0.0
