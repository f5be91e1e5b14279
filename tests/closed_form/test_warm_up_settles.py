"""A warm-up goes on until what is still to come is small, however slowly the labels settle."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import count_uses, operator
from hydroloop.tracing.warm_up import SETTLED, gain, retained, settle


def _pipe():
    """A store that keeps nothing over the year, so that changes are taken as they are."""
    network = Network(["pipe"], ["upstream", "pipe"], ["pipe", "downstream"], ["upstream", "river"])
    rates = [[100.0, 100.0]] * 40
    return operator(build_record(network, edges_of("2031-01-01", 40), [[1.0]] * 41, rates))


@pytest.mark.parametrize("factor", [0.0, 0.02, 0.3, 0.6, 0.9])
def test_what_is_left_is_small_and_told(factor):
    """A year that takes the error e to factor * e leaves at most the error that is told.

    One row has such an error of 1e-4, so after n repeats ``1e-4 factor^n`` is left. The other is
    off by 0.2 and right after one repeat: how fast the changes fall at first tells nothing of the
    slow row.
    """
    slow = 1e-4

    def year(state):
        # Row 0 settles on 0.5 by the factor; row 1 is there at once.
        return np.stack([0.5 + factor * (state[0] - 0.5), np.full_like(state[1], 0.2)])

    first = np.stack([np.full((1, 1), 0.5 + slow), np.zeros((1, 1))])
    found = settle(_pipe(), year, first)
    left = abs(found.state[0, 0, 0] - 0.5)
    assert found.change <= SETTLED
    assert left <= 1.01 * found.change + 1e-15
    assert left == pytest.approx(slow * factor**found.repeats, rel=1e-5, abs=1e-15)


def _halfway_to(goal):
    """A year that takes each label half of the way to a goal."""
    return lambda state: 0.5 * (state + goal)


@pytest.mark.parametrize(
    "forward",
    [lambda change: change * 1e12, lambda change: change * np.nan],
    ids=["too far", "no number"],
)
def test_a_way_forward_that_leads_astray_is_not_taken(forward):
    """Shares that start at 1/2 and settle on 1/4: the plain repeats come there all the same."""
    found = settle(_pipe(), _halfway_to(0.25), np.full((1, 1, 1), 0.5), forward, most=1.0)
    assert found.change <= SETTLED
    assert found.state[0, 0, 0] == pytest.approx(0.25, abs=1e-8)


def test_labels_without_an_end_are_told_and_not_shown():
    """A label that doubles in each repeat, beside one that is settled: it alone is no number."""
    network = Network(
        ["a", "b"], ["upstream", "a", "b"], ["a", "b", "downstream"], ["upstream", "river", "river"]
    )
    record = build_record(network, edges_of("2031-01-01", 40), [[1.0, 1.0]] * 41, [[9.0] * 3] * 40)
    found = settle(operator(record), lambda state: state * [[[2.0], [1.0]]], np.ones((1, 2, 1)))
    assert found.change >= 1.0
    told = found.told(np.ones((41, 2, 1)))
    assert np.isnan(told[:, 0]).all()
    assert (told[:, 1] == 1.0).all()


def test_a_store_that_hardly_changes_is_not_brought_forward_by_its_rounding():
    """Of 1e12 m3 one enters in a day: with a gain of 1e9 the labels' last digits would show."""
    network = Network(["deep"], ["rain", "deep"], ["deep", "downstream"], ["rain", "baseflow"])
    record = build_record(network, edges_of("2031-01-01", 365), [[1e12]] * 366, [[1.0, 1.0]] * 365)
    assert gain(retained(operator(record))).max() * np.finfo(float).eps <= 1e-10


def test_water_that_only_goes_round_has_no_mean_of_uses():
    """A tank whose water all comes back from homes: it was used, and once more in each repeat."""
    network = Network(["tank", "home"], ["tank", "home"], ["home", "tank"], ["home_use", "sewage"])
    record = build_record(
        network, edges_of("2031-01-01", 40), [[10.0, 0.0]] * 41, [[5.0, 5.0]] * 40
    )
    found = count_uses(record, most=3).sel(store="tank")
    assert np.isnan(found["mean_uses"]).all()
    assert found["share"].values[-1] == pytest.approx(1.0, abs=1e-9)


def test_snow_that_melts_was_rain():
    """Snow that lies on the first day and has melted by the last never was in a home: it has a past
    though no year's end tells of it."""
    network = Network(
        ["snow", "river"],
        ["rain", "snow", "river"],
        ["snow", "river", "downstream"],
        ["rain", "melt", "river"],
    )
    rates = [[0.0, 10.0, 10.0]] * 5 + [[0.0, 0.0, 0.0]] * 30 + [[2.0, 2.0, 2.0]] * 5
    snow = [50.0 - 10.0 * min(edge, 5) for edge in range(41)]
    record = build_record(
        network, edges_of("2031-01-01", 40), [[held, 80.0] for held in snow], rates
    )
    found = count_uses(record)
    assert float(found["unknown"].max()) == pytest.approx(0.0, abs=1e-9)
    assert float(found["share"].sel(use=0, store="snow").isel(edge=0)) == pytest.approx(1.0)
