"""Sobol shares of a withdrawal that is a product, against the variances of its two factors."""

from __future__ import annotations

import numpy as np
import pytest

import hydroloop as hl
from hydroloop.errors import InputError
from hydroloop.whatif import season_table, sobol_shares

PEOPLE, USE = (2_000.0, 6_000.0), (0.15, 0.45)  # people, and m3 a person and day


def product_town():
    """A town that only homes take water from: withdrawn = people x (slope x use + fixed)."""
    return hl.read_scenario("first_town").changed({
        "season.end": "2031-04-20", "town.penhollow": None,
        "town.larkmill.yards.area_per_person": 0.0,
        "town.larkmill.people": "2000 to 6000",
        "town.larkmill.homes.use_per_person": "150 L/person/day to 450 L/person/day"})


def withdrawn(scenario, people, use):
    changes = {"town.larkmill.people": people, "town.larkmill.homes.use_per_person": use}
    table = season_table([scenario.changed(changes)])
    return float(table["mean_withdrawn"].sel(town="larkmill").item())


def test_shares_are_those_of_a_product():
    """For y = p q with p and q independent the variance splits into E(q)^2 V(p) by p alone,
    E(p)^2 V(q) by q alone, and V(p) V(q) by both; that y is such a product is looked up first."""
    scenario = product_town()
    corners = np.array([[withdrawn(scenario, p, u) for u in USE] for p in PEOPLE])
    middle = withdrawn(scenario, np.mean(PEOPLE), np.mean(USE))
    assert corners[1] == pytest.approx(PEOPLE[1] / PEOPLE[0] * corners[0], rel=1e-6)
    assert middle == pytest.approx(corners.mean(), rel=1e-6)

    p_mean, p_variance = np.mean(PEOPLE), np.ptp(PEOPLE) ** 2 / 12.0
    per_head = corners[0] / PEOPLE[0]
    q_mean, q_variance = per_head.mean(), np.ptp(per_head) ** 2 / 12.0
    parts = np.array([q_mean**2 * p_variance, p_mean**2 * q_variance])
    both = p_variance * q_variance
    whole = parts.sum() + both

    found = sobol_shares(scenario, "mean_withdrawn", "larkmill", base=256)
    order = [list(found.key.values).index(f"town.larkmill.{key}")
             for key in ("people", "homes.use_per_person")]
    assert found.first.values[order] == pytest.approx(parts / whole, abs=0.03)
    assert found.total.values[order] == pytest.approx((parts + both) / whole, abs=0.03)


def test_all_that_is_wrong_is_told_at_once():
    """No such town, no such measure and no power of two."""
    with pytest.raises(InputError) as told:
        sobol_shares(product_town(), "mean_withdrawnn", "larkmil", base=3)
    assert [one.where for one in told.value.problems] == ["town", "base", "measure"]
    assert 'Did you mean "mean_withdrawn"?' in str(told.value)
