"""What drops were before they are followed: earlier uses, and drops that were used often."""

from __future__ import annotations

from typing import Any, NamedTuple

import numpy as np
import pandas as pd

from hydroloop.compiling import compiled
from hydroloop.errors import AskError, Problem
from hydroloop.tracing.operator import Operator
from hydroloop.tracing.passing import entering
from hydroloop.tracing.use_shares import uses_at
from hydroloop.tracing.where_and_when import MOST_CLASSES, Gate, as_counted

_MOST = 12  # classes of earlier uses that are told apart


class Past(NamedTuple):
    """How often water had been used, of one member."""

    used: int  # least number of uses of the drops that are drawn
    # share of a store's water at each edge that had been used at least so often, shape (use, edge,
    # store) [-]
    inside: np.ndarray
    # and of what each flow brings over the boundary, its own gate left out, shape (use, flow) [-]
    outside: np.ndarray
    # shares by number of uses at the first edge, and of what each flow brings, shapes (use, store)
    # and (use, flow) [-]
    first: np.ndarray
    entered: np.ndarray


NO_PAST = Past(0, *(np.zeros(shape) for shape in ((1, 0, 0), (1, 0), (1, 0), (1, 0))))
"""Of drops that are drawn whatever their past."""


def pasts(op: Operator, gate: Gate, used: int, begin: tuple[int, int]) -> list[Past]:
    """How often the water of each member had been used; refused where, in the store and the step
    that a glass is drawn from, none had been used so often."""
    most = max(used, _MOST)
    uses, _ = uses_at(op, np.arange(len(op.stores)), gate, most, warm_up="repeat")
    counted = as_counted(op, gate)
    entered = entering(counted, np.zeros(len(op.flows), dtype=bool), most)[: most + 1]
    outside = _at_least(entered)[: used + 1]
    found = []
    for member in range(op.shape[2]):
        share = uses.share[..., member]
        first = share[:, 0].copy()
        first[0] += uses.unknown[0, :, member]  # what nothing is known of counts as new
        found.append(Past(used, _at_least(share)[: used + 1], outside, first, entered))
    if used:
        _check(op, used, begin, uses.share)
    return found


def _at_least(share: np.ndarray) -> np.ndarray:
    return np.ascontiguousarray(share[::-1].cumsum(axis=0)[::-1])


def _check(op: Operator, used: int, begin: tuple[int, int], share: np.ndarray) -> None:
    store, step = begin
    there = share[:, step + 1, store]
    if (there[used:].sum(axis=0) > 0.0).all():
        return
    date = np.datetime_as_string(op.edge[step], "D")
    times = np.flatnonzero((there > 0.0).all(axis=-1))
    most = int(times.max()) if times.size else 0
    raise AskError(
        Problem(
            "used",
            f"no water in {op.stores[store]} on {date} had been used {used} times or more.",
            f"The most is {most}: ask for that or less."
            if most
            else "None of it had been used at all: choose another date or store.",
        )
    )


def check_used(used: Any, *, backward: bool) -> None:
    """Refuse a least number of uses that cannot be asked for."""
    if used is None:
        return
    if not backward:
        raise AskError(
            Problem(
                "used",
                "is asked of drops that are followed forward.",
                "Earlier uses are those of a glass: give backward=True.",
            )
        )
    if (
        isinstance(used, bool)
        or not isinstance(used, (int, np.integer))
        or not (0 <= used <= MOST_CLASSES)
    ):
        raise AskError(
            Problem(
                "used",
                f"{used!r} is not a number of uses.",
                f"Give a whole number from 0 to {MOST_CLASSES:,}.",
            )
        )


@compiled
def weight(past, need, t, store, flow):
    """Share of the water at a place before a step that has so many uses behind it: in a store at an
    edge, or outside."""
    if need <= 0:
        return 1.0
    if store < 0:
        return past.outside[need, flow]
    return past.inside[need, t, store]


def earlier_uses(past: Past, ends: pd.DataFrame, drawn: np.random.Generator) -> np.ndarray:
    """Uses before the record began or above it, drawn for the last row of each drop: store (-1
    outside), flow and uses within the record."""
    store, flow, uses = (ends[name].to_numpy() for name in ("store", "flow", "uses"))
    share = np.where(store >= 0, past.first[:, store], past.entered[:, flow]).T
    need = np.maximum(past.used - uses, 0)
    share = np.where(np.arange(share.shape[1]) < need[:, None], 0.0, share)
    up_to = share.cumsum(axis=1)
    chance = drawn.random(len(share)) * up_to[:, -1]
    return np.asarray((up_to <= chance[:, None]).sum(axis=1))
