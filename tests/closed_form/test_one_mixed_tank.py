"""One well-mixed tank in steady flow: volume V, flow q, turnover time tau = V / q.

In a step dt a drop leaves with probability p = dt q / (V + dt q) = dt / (tau + dt) and stays
otherwise. It stands through K edges with P(K = k) = p (1 - p)^k, so the transit time dt K has

    mean      dt (1 - p) / p   = tau
    variance  dt^2 (1 - p) / p^2 = tau^2 + tau dt

The age of what leaves has the law of the transit time; in a mixed tank the age inside is the same.
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes, assert_conserves, assert_whole

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import age_distribution, ages, count_uses, drops, follow


def tank(volume, rate, steps, days=1.0):
    """Record of one tank in steady flow."""
    network = Network(["tank"], ["import", "tank"], ["tank", "downstream"], ["home_use", "river"])
    edges = edges_of("2031-01-01", steps, days)
    record = build_record(network, edges, [[volume]] * (steps + 1), [[rate, rate]] * steps)
    assert_closes(record)
    return record


def transit(record, at):
    """Share of a parcel that leaves in each step."""
    fate = follow(record, at=at, on=record["time"].values[0], gate=_none(record), steps=True)
    assert_whole(fate["share"])
    gone = fate["share_by_step"].sum("use").sel(place="downstream").values
    return np.diff(gone, prepend=0.0)


def _none(record):
    return np.zeros(record.sizes["flow"], dtype=bool)


@pytest.mark.parametrize(
    ("volume", "rate", "days"), [(10, 2, 1), (5, 1, 1), (3, 7, 0.5), (1, 9, 30)]
)
def test_transit_time(volume, rate, days):
    """Mean exactly V/q and variance exactly tau^2 + tau dt, at any step."""
    tau = volume / rate
    share = transit(tank(volume, rate, 400, days), "tank")
    time = days * np.arange(400)
    mean = share @ time
    assert share.sum() == pytest.approx(1, abs=1e-12)
    assert mean == pytest.approx(tau, rel=1e-9)
    assert share @ (time - mean) ** 2 == pytest.approx(tau**2 + tau * days, rel=1e-9)


def test_age_is_the_turnover_time():
    """Q 2, S 10, dt 1: the mean age is exactly 5 in every step, however it is warmed up."""
    record = tank(10, 2, 20)
    for way in ("repeat", "steady"):
        assert np.abs(ages(record, warm_up=way)["mean_age"].values - 5).max() <= 1e-7


def test_age_counted_from_an_empty_past():
    """From age zero, a_k = (1 - p)(a_(k-1) + dt): a_k = tau (1 - (1 - p)^k)."""
    record = tank(10, 2, 20, days=2.0)
    kept = 10 / 14
    expected = 5 * (1 - kept ** np.arange(21))
    found = ages(record, warm_up="none")["mean_age"].values[:, 0]
    assert np.abs(found - expected).max() <= 1e-12


def test_age_distribution_is_geometric():
    """Share that entered k steps ago is p (1 - p)^k, and (1 - p)^n was there at the first edge."""
    record = tank(10, 2, 12)
    found = age_distribution(record, at="tank", on="2031-01-12")
    p = 2 / 12
    assert np.abs(found["share"].values - p * (1 - p) ** np.arange(12)).max() <= 1e-15
    assert float(found["unknown"]) == pytest.approx((1 - p) ** 12, abs=1e-15)
    assert_whole(found["share"], found["unknown"])


def test_water_of_unknown_past_is_diluted():
    """Without warm-up what is unknown falls by 1 - p in a step, and all that enters is known."""
    record = tank(10, 2, 12)
    uses = count_uses(record, warm_up="none")
    assert_conserves(record, uses, "home_use")
    kept = (10 / 12) ** np.arange(13)
    assert np.abs(uses["unknown"].values[:, 0] - kept).max() <= 1e-15
    assert np.abs(uses["share"].sel(use=1).values[:, 0] - (1 - kept)).max() <= 1e-14


def test_a_store_without_volume_passes_water_on_at_once():
    """V = 0: every drop leaves in the step in which it entered."""
    record = tank(0, 3, 4)
    assert transit(record, "tank").tolist() == [1, 0, 0, 0]
    walk = drops(record, n=5, at="tank", on="2031-01-02")
    assert walk["store"].tolist() == ["tank", "downstream"] * 5
    assert (walk["step"] == 1).all()


def test_an_empty_store_has_no_label():
    """Neither volume nor inflow: all shares are zero, and none of them is NaN."""
    record = tank(0, 0, 3)
    uses = count_uses(record)
    assert_conserves(record, uses, "home_use")
    assert not uses["has_water"].any()
    assert float(np.abs(uses["share"]).max()) == 0
    assert float(np.abs(ages(record)["mean_age"]).max()) == 0
