"""Coarse steps against the exact law of linear stores under constant flows.

With rates q and volumes V constant in time, the amounts x in the stores obey dx/dt = A x with
A_ij = q_ji / V_j - [i = j] sum_out q / V_i, so x(t) = expm(A t) x(0); see Higham's and Van Loan's
augmented matrices for what has left. A step of the operator is (I - dt A)^-1: order one in dt.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from conserves import assert_closes, assert_whole
from scipy.linalg import expm

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import follow

STORES = ["river/reach", "town/tanks", "town/sewers"]
FLOWS = [
    ("upstream", "river/reach", "upstream", 6.0),
    ("river/reach", "town/tanks", "intake", 5.0),
    ("river/reach", "downstream", "river", 4.0),
    ("town/tanks", "town/sewers", "home_use", 5.0),
    ("town/sewers", "river/reach", "outfall", 3.0),
    ("town/sewers", "sky", "evaporation", 2.0),
]
VOLUME = np.array([9.0, 12.0, 4.0])
SEASON = 4.0


def _record(steps):
    source, target, kind, rate = (list(column) for column in zip(*FLOWS, strict=True))
    network = Network(STORES, source, target, kind)
    edges = edges_of("2031-01-01", steps, SEASON / steps)
    record = build_record(network, edges, [VOLUME] * (steps + 1), [rate] * steps)
    assert_closes(record)
    return record


def _generator():
    matrix = np.zeros((3, 3))
    for a, b, _, rate in FLOWS:
        if a in STORES:
            j = STORES.index(a)
            matrix[j, j] -= rate / VOLUME[j]
            if b in STORES:
                matrix[STORES.index(b), j] += rate / VOLUME[j]
    return matrix


def _fate(steps, at):
    fate = follow(_record(steps), at=at, on="2031-01-01")
    assert_whole(fate["share"])
    return fate["share"].sum("use").sel(place=STORES).values


@pytest.mark.parametrize("at", STORES)
def test_order_one(at):
    """Half the step, half the error: the error over dt settles, and a step is (I - dt A)^-1."""
    exact = expm(_generator() * SEASON)[:, STORES.index(at)]
    errors = [np.abs(_fate(steps, at) - exact).max() for steps in (400, 800, 1600)]
    assert errors[-1] < 2e-3
    for coarse, fine in pairwise(errors):
        assert np.log2(coarse / fine) == pytest.approx(1.0, abs=0.03)
    one = np.linalg.inv(np.eye(3) - SEASON / 5 * _generator())
    expected = np.linalg.matrix_power(one, 5)[:, STORES.index(at)]
    assert np.abs(_fate(5, at) - expected).max() <= 1e-14


@pytest.mark.parametrize("steps", [1, 7, 50])
@pytest.mark.parametrize("at", STORES)
def test_mean_time_to_leave_is_exact(at, steps):
    """At any step: dt times the sum over edges of what is still there is -1' A^-1, exactly.

    sum_{k >= 1} (I - dt A)^-k = -(dt A)^-1. What the season leaves out is what is left of it at
    the end, x, whose own time is -1' A^-1 x.
    """
    dt = SEASON / steps
    fate = follow(_record(steps), at=at, on="2031-01-01", steps=True)
    still = fate["share_by_step"].sum("use").sel(place=STORES)
    ahead = -np.linalg.inv(_generator()).sum(axis=0)
    mean = dt * float(still.sum()) + float(ahead @ still.isel(edge=-1).values)
    assert mean == pytest.approx(ahead[STORES.index(at)], rel=1e-12)
