"""Passes of a parcel in a season of length T, round a loop of mean time mu.

One mixed tank, closed: a step hands on dt/mu passes (p/(1-p), with p = dt q/(V + dt q): a drop that
has come back within the step may go again), so T/mu in the season, exactly, at any step.

Leaky, the share rho comes back (and the pass is counted there): a step keeps the share
k = mu/(mu + dt (1-rho)) of the tank's own water, which makes rho/(1-rho) (1 - k^n) passes in n
steps; for dt -> 0 it is rho/(1-rho) (1 - e^(-(1-rho) T/mu)).

Two equal tanks, closed, tau = mu/2 each: the changes N of tank in n steps have the mean T/tau, and
of N changes floor(N/2) end a round: (E N - P(N odd))/2 with P(N odd) = (1 - E (-1)^N)/2. The
changes in one step are geometric, with the generating function (1 - p)/(1 - p z), so E (-1)^N = r^n
with r = (1 - p)/(1 + p) = tau/(tau + 2 dt), and there are T/mu - (1 - r^n)/4 passes. For dt -> 0
that is T/mu - (1 - e^(-4T/mu))/4.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from conserves import assert_closes, assert_whole

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import follow


def ring(tanks, steps, days, mu=20.0, rho=1.0):
    """Tanks in a ring with a home of no volume; rho of the flow 1 comes back."""
    stores = [f"ring/tank_{k}" for k in range(tanks)] + ["ring/home"]
    flows = [(a, b, "supply", 1.0) for a, b in pairwise(stores)]
    flows.append((stores[-1], stores[0], "home_use", rho))
    flows += [(stores[-1], "sky", "evaporation", 1 - rho), ("import", stores[0], "import", 1 - rho)]
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(stores, source, target, kind)
    volume = [mu / tanks] * tanks + [0.0]
    edges = edges_of("2031-01-01", steps, days)
    record = build_record(network, edges, [volume] * (steps + 1), [rate] * steps)
    assert_closes(record)
    return record


def passes(record, most=60):
    """Mean passes of a parcel that begins in the first tank on the first day."""
    fate = follow(record, at="ring/tank_0", on="2031-01-01", most=most)
    assert_whole(fate["share"], tolerance=1e-11)
    assert float(fate["share"].isel(use=-1).sum()) < 1e-12
    return float((fate["share"] * fate["use"]).sum())


@pytest.mark.parametrize("days", [0.5, 1.0, 4.0])
def test_closed_loop_of_one_tank(days):
    """T 152, mu 20: 7.60 passes, at any step."""
    assert passes(ring(1, round(152 / days), days), most=120) == pytest.approx(7.6, abs=1e-9)


@pytest.mark.parametrize("rho", [0.3, 0.9])
def test_leaky_loop(rho):
    """The sum of the geometric series, exactly; the exponential law at order one."""
    record = ring(1, 152, 1.0, rho=rho)
    kept = 20 / (20 + (1 - rho))
    expected = rho / (1 - rho) * (1 - kept**152)
    assert passes(record) == pytest.approx(expected, abs=1e-10)
    law = rho / (1 - rho) * (1 - np.exp(-(1 - rho) * 152 / 20))
    errors = [abs(passes(ring(1, n, 152 / n, rho=rho)) - law) for n in (304, 608)]
    assert errors[1] < 0.02
    assert errors[0] / errors[1] == pytest.approx(2, abs=0.1)


@pytest.mark.parametrize("days", [0.25, 1.0, 4.0])
def test_closed_loop_of_two_tanks(days):
    """T 152, mu 20: 7.35 (to h); the sum above exactly, also in a short season of 4 days."""
    for season in (152, 4):
        n = round(season / days)
        expected = season / 20 - (1 - (10 / (10 + 2 * days)) ** n) / 4
        assert passes(ring(2, n, days), most=90) == pytest.approx(expected, abs=1e-9)
    assert passes(ring(2, 608, 0.25), most=90) == pytest.approx(7.35, abs=0.005)


def test_many_tanks_come_to_whole_rounds():
    """Plug flow makes floor(T/mu) = 7 passes; 200 tanks come within a tenth of it.

    Renewal theory: T/mu + (s2 - mu^2)/(2 mu^2) with s2 = mu^2/n + mu dt is 7.11 for large T; at
    T = 7.6 mu the rounds of 200 tanks are still well apart, and the count lies at 7.
    """
    assert passes(ring(200, 1520, 0.1)) == pytest.approx(7, abs=0.1)
