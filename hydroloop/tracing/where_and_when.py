"""Find the store, the date and the gate that a question asks for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from numbers import Integral
from typing import Any

import numpy as np

from hydroloop.errors import AskError, Problem
from hydroloop.gates import FLOWS, USES, ready_gate
from hydroloop.record import KINDS, nearest
from hydroloop.tracing.operator import Operator

Gate = str | Sequence[str] | np.ndarray | None
"""A ready gate, a flow kind, flow names, or a mask over flows; None is what the scenario counts."""


MOST_CLASSES = 1000
"""Highest use class that may be asked for: every class takes its room and its time."""


def find_most(most: Any) -> int:
    """Highest use class that is asked for, from 1 to `MOST_CLASSES`."""
    is_whole = isinstance(most, Integral) and not isinstance(most, bool)
    if is_whole and 1 <= int(most) <= MOST_CLASSES:
        return int(most)
    raise AskError(
        Problem(
            "most",
            f"{most!r} is not a number of uses.",
            f"Choose a whole number from 1 to {MOST_CLASSES:,}.",
        )
    )


def find_gate(op: Operator, gate: Any, *, where: str = "gate") -> np.ndarray:
    """Flows that a gate stands for, shape (flow): a ready gate of `hydroloop.gates`, kinds or names
    of flows, or one truth value per flow. None is what the scenario of the record counts as a use,
    else flows into homes; in a record without any it is no flow at all."""
    if gate is None:
        return _flows_of(op, op.count_as)
    if not isinstance(gate, str):
        mask = np.asarray(gate)
        if mask.dtype == bool:
            return _checked(op, mask, where)
    names = [gate] if isinstance(gate, str) else [str(name) for name in np.ravel(gate)]
    mask = np.zeros(len(op.flows), dtype=bool)
    kinds, place = np.array(op.kinds), {name: k for k, name in enumerate(op.flows)}
    nothing = Problem(where, "names no flow.", "Give a kind, for example home_use.")
    problems = [] if names else [nothing]
    for name in names:
        if name in place:
            mask[place[name]] = True
        elif name in op.kinds:
            mask |= kinds == name
        elif name in USES:
            mask |= _ready(op, name, where, problems)
        else:
            problems.append(_unknown(op, name, where))
    if problems:
        raise AskError(problems)
    return mask


def as_counted(op: Operator, gate: Any) -> Operator:
    """The operator with what is known of uses above the record, for what counts as a use.

    Of water that was used above the record nobody knows whether it passed a toilet.
    """
    is_toilet = isinstance(gate, str | None) and (op.count_as if gate is None else gate) == "toilet"
    return replace(op, used_before=np.ones((len(op.flows), 1))) if is_toilet else op


def _flows_of(op: Operator, name: str) -> np.ndarray:
    ends = op.source.tolist(), op.target.tolist()
    return np.array(ready_gate(name, op.kinds, ends, op.roles), dtype=bool)


def _ready(op: Operator, name: str, where: str, problems: list[Problem]) -> np.ndarray:
    mask = _flows_of(op, name)
    if not mask.any():
        there = ", ".join(sorted(set(op.kinds)))
        problems.append(
            Problem(
                where,
                f'the record has no flow that is a use by "{name}" ({FLOWS[name]}).',
                f"It has {there}.",
            )
        )
    return mask


def _checked(op: Operator, mask: np.ndarray, where: str) -> np.ndarray:
    if mask.shape != (len(op.flows),):
        what = f"a mask of shape {mask.shape} does not fit {len(op.flows)} flows."
        raise AskError(Problem(where, what, "Give one truth value per flow."))
    return mask.copy()


def _unknown(op: Operator, name: str, where: str) -> Problem:
    if name in KINDS:
        there = ", ".join(sorted(set(op.kinds)))
        return Problem(where, f'the record has no flow of kind "{name}".', f"It has {there}.")
    cure = nearest(name, [*USES, *op.kinds, *KINDS, *op.flows])
    return Problem(where, f'"{name}" is neither a flow nor a kind of flow.', cure)


def find_store(op: Operator, at: str) -> int:
    """Place in the record of the store that a question asks for."""
    if at in op.stores:
        return op.stores.index(at)
    cure = nearest(at, op.stores) or f"Stores are {', '.join(op.stores[:6])}, ..."
    raise AskError(Problem("at", f'there is no store "{at}".', cure))


def find_step(op: Operator, on: Any) -> int:
    """Step that contains a date."""
    try:
        # Through text, so that every kind of date means the same.
        instant = on if isinstance(on, np.datetime64) else np.datetime64(str(on).replace(" ", "T"))
        instant = instant.astype("datetime64[ns]")
        if np.isnat(instant):
            raise ValueError(on)
    except ValueError as error:
        raise AskError(Problem("on", f'"{on}" is no date.', "Write it as 2031-05-01.")) from error
    if not op.edge[0] <= instant < op.edge[-1]:
        first, last = (np.datetime_as_string(op.edge[k], "D") for k in (0, -2))
        what = f"{on} lies outside the record."
        raise AskError(Problem("on", what, f"Choose a date from {first} to {last}."))
    return int(np.searchsorted(op.edge, instant, side="right")) - 1
