"""Balance: what came into each place, what left it, what it stores, and the gap."""

from __future__ import annotations

import numpy as np

from hydroloop.measures.run_arrays import Run

WHOLE = "whole map"
TERMS = ("inflow", "outflow", "change", "gap")


def balance(run: Run) -> tuple[list[str], np.ndarray]:
    """Water balance of every place and of the whole map.

    In, out, change of storage and gap over the season. A gap above rounding would mean that water
    was made or lost.

    Parameters
    ----------
    run : Run
        Arrays of the record.

    Returns
    -------
    tuple of list of str and numpy.ndarray
        Places, the whole map last, and their terms, shape (place, term, member) [m3].

    Notes
    -----
    gap = change - inflow + outflow, summed over the stores of a place; flows within it cancel.

    Examples
    --------
    >>> from hydroloop.measures import run_of
    >>> from hydroloop.record import Network, build_record, edges_of
    >>> pond = Network(["a/pond"], ["rain"], ["a/pond"], ["rain"])
    >>> record = build_record(pond, edges_of("2031-01-01", 1), [[1], [3]], [[2]])
    >>> balance(run_of(record))[1][0].ravel().tolist()
    [2.0, 0.0, 2.0, 0.0]
    """
    op, names = run.op, list(dict.fromkeys(run.op.places))
    number = {name: k for k, name in enumerate(names)}
    place = np.array([*(number[name] for name in op.places), -1])
    leaves, enters = place[op.source], place[op.target]
    table = np.zeros((len(names) + 1, len(TERMS), op.shape[2]))
    for term, (here, there) in enumerate(((enters, leaves), (leaves, enters))):
        across = (here >= 0) & (here != there)
        np.add.at(table[:, term], here[across], run.moved[across])
        table[-1, term] = run.moved[(here >= 0) & (there < 0)].sum(axis=0)
    np.add.at(table[:, 2], place[:-1], run.stored)
    table[-1, 2] = run.stored.sum(axis=0)
    table[:, 3] = table[:, 2] - table[:, 0] + table[:, 1]
    return [*names, WHOLE], table


def largest_gap(run: Run) -> np.ndarray:
    """Largest gap of a store over the season, over what it held and took in; (member) [-]."""
    op = run.op
    sides = np.zeros((2, len(op.stores) + 1, op.shape[2]))
    for side, end in zip(sides, (op.target, op.source), strict=True):
        np.add.at(side, end, run.moved)
    into, out = sides[:, :-1]
    through = np.maximum(into, out) + op.water.volume[0]
    gap = np.divide(
        np.abs(run.stored - into + out), through, out=np.zeros_like(through), where=through > 0
    )
    return np.asarray(gap.max(axis=0))
