"""Tanks in series in steady flow, each with turnover time tau.

Transit times of tanks add up, and each is geometric (see test_one_mixed_tank): for n tanks the mean
is n tau and the variance n (tau^2 + tau dt). In the limit of small steps a reach of total time T,
cut into n tanks, has the variance T^2 / n. The mean age of what is inside, over all tanks, is
(T / 2)(1 + variance / T^2), which for n tanks and small steps is T (1 + 1/n) / 2: tank i has the
age i tau, and the mean of tau, 2 tau, ... n tau is tau (n + 1) / 2.
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes, assert_whole

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import ages, follow, long_run


def chain(taus, steps, days=1.0):
    """Record of tanks in series, flow 1."""
    stores = [f"reach/tank_{k}" for k in range(len(taus))]
    names = ["upstream", *stores, "downstream"]
    network = Network(stores, names[:-1], names[1:], ["river"] * (len(taus) + 1))
    edges = edges_of("2031-01-01", steps, days)
    record = build_record(network, edges, [taus] * (steps + 1), [[1.0] * (len(taus) + 1)] * steps)
    assert_closes(record)
    return record


def moments(record):
    """Mean and variance of the transit time through the whole chain."""
    fate = follow(record, at="reach/tank_0", on=record["time"].values[0], gate="river", steps=True)
    assert_whole(fate["share"])
    gone = fate["share_by_step"].sum("use").sel(place="downstream").values
    share = np.diff(gone, prepend=0.0)
    days = (record["edge"][1] - record["edge"][0]).values / np.timedelta64(1, "D")
    time = days * np.arange(len(share))
    return share @ time, share @ (time - share @ time) ** 2


@pytest.mark.parametrize(("days", "steps", "variance"), [(1.0, 200, 18.0), (0.1, 1500, 12.6)])
def test_three_tanks(days, steps, variance):
    """tau 2: mean 6; variance 18 at dt 1 and 12.6 at dt 0.1 (the exact law has 12)."""
    mean, spread = moments(chain([2.0] * 3, steps, days))
    assert mean == pytest.approx(6, abs=1e-6)
    assert spread == pytest.approx(variance, abs=1e-6)


@pytest.mark.parametrize("n", [1, 2, 5])
def test_number_of_tanks_sets_the_spread(n):
    """Total time T: variance T^2/n + T dt."""
    mean, spread = moments(chain([10.0 / n] * n, 600))
    assert mean == pytest.approx(10, rel=1e-9)
    assert spread == pytest.approx(100 / n + 10, rel=1e-9)


def test_fast_stores_cost_no_day():
    """Twenty stores far faster than a step: the mean is the sum of their times, not twenty days."""
    mean, _ = moments(chain([0.01] * 20 + [3.0], 300))
    assert mean == pytest.approx(3.2, rel=1e-9)


@pytest.mark.parametrize(("n", "factor"), [(1, 1.0), (2, 0.75), (5, 0.6)])
def test_mean_internal_age(n, factor):
    """n tanks: T (1 + 1/n) / 2, at any step."""
    record = chain([10.0 / n] * n, 30)
    inside = ages(record, warm_up="steady")["mean_age"].values
    assert np.abs(inside.mean(axis=1) - 10 * factor).max() <= 1e-9


def test_two_pools():
    """k1 .5, k2 .1, and .6 of what leaves pool 1 goes to pool 2: ages 2 and 12, transit 8, age 9.5.

    Input 1 gives x1 = 1/k1 = 2 and x2 = .6/k2 = 6. Age 1 is 1/k1 = 2; all that enters pool 2 comes
    from pool 1, so age 2 is 2 + 1/k2 = 12. The system has (2 * 2 + 6 * 12)/8 = 9.5. Transit:
    1/k1 + .6/k2 = 8.
    """
    network = Network(
        ["pool/one", "pool/two"],
        ["import", "pool/one", "pool/one", "pool/two"],
        ["pool/one", "pool/two", "sky", "downstream"],
        ["import", "supply", "evaporation", "river"],
    )
    record = build_record(
        network, edges_of("2031-01-01", 10), [[2.0, 6.0]] * 11, [[1.0, 0.6, 0.4, 0.6]] * 10
    )
    assert_closes(record)
    for way in ("steady", "repeat"):
        found = ages(record, warm_up=way)["mean_age"].values
        assert np.abs(found - [2, 12]).max() <= 1e-7
    assert np.abs(found @ [2.0, 6.0] / 8 - 9.5).max() <= 1e-7
    assert float(long_run(record, gate="supply")["time_to_leave"][0]) == pytest.approx(8, abs=1e-9)


def test_growing_stock():
    """Stock growing at rate G with outflow time To: mean age 1/(G + 1/To), in the limit dt -> 0.

    da/dt = 1 - a I/S with inflow I = S (G + 1/To). Its own steps: a = (a + dt)/(1 + dt I/S), with
    I/S taken at the step's begin, settle exactly on S/I.
    """
    growth, out, days, steps = 0.02, 1 / 5, 0.5, 300
    stock = 10 * (1 + growth * days) ** np.arange(steps + 1)
    network = Network(["pond"], ["rain", "pond"], ["pond", "downstream"], ["rain", "river"])
    rate = np.stack([(growth + out) * stock[:-1], out * stock[:-1]], axis=1)
    record = build_record(network, edges_of("2031-01-01", steps, days), stock[:, None], rate)
    assert_closes(record)
    found = float(ages(record, warm_up="none")["mean_age"][-1, 0])
    assert found == pytest.approx(1 / (growth + out), abs=1e-9)
