"""The labels that a warm-up comes to are those of a year that hands on what it began with."""

from __future__ import annotations

import numpy as np
import pytest
from random_records import random_record

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import count_uses, operator
from hydroloop.tracing.carried_over import carried_over
from hydroloop.tracing.passing import passing
from hydroloop.tracing.warm_up import SETTLED, retained

STEPS, LAKE, EXCHANGE = 365, 1000.0, 500.0


def two_lakes(swing: float, through: float, exchange: float = EXCHANGE):
    """Two lakes that exchange water, a home on one of them, and a quick pipe beside."""
    network = Network(
        ["lake_a", "lake_b", "home", "pipe"],
        ["upstream", "lake_a", "lake_b", "lake_a", "home", "lake_b", "import", "home", "pipe"],
        [
            "lake_a",
            "lake_b",
            "lake_a",
            "home",
            "lake_a",
            "downstream",
            "pipe",
            "pipe",
            "downstream",
        ],
        [
            "upstream",
            "river",
            "river",
            "home_use",
            "outfall",
            "river",
            "import",
            "sewage",
            "downstream",
        ],
    )
    day = np.arange(STEPS)
    entering = through * (1.0 + swing * np.sin(2.0 * np.pi * day / STEPS))
    home = np.full(STEPS, 0.5 * through)
    back = home * np.where(day < STEPS / 2, 1.0, 1.0 - swing)
    across, one = entering + exchange + back - home, np.ones(STEPS)
    rates = np.column_stack(
        [
            entering,
            across,
            exchange * one,
            home,
            back,
            across - exchange,
            one,
            home - back,
            one + home - back,
        ]
    )
    volumes = np.tile([LAKE, LAKE, 0.0, 0.5], (STEPS + 1, 1))
    return build_record(network, edges_of("2031-01-01", STEPS), volumes, rates)


def year_of(record, *, gate_shut: bool = False) -> tuple[np.ndarray, np.ndarray]:
    """Map of first labels to last ones, and what uses add, put together step by step."""
    stores = list(record["store"].values)
    number = {name: k for k, name in enumerate(stores)}
    source, target = (
        [number.get(str(name), -1) for name in record[end].values] for end in ("source", "target")
    )
    volume, rate = record["volume"].values, record["rate"].values
    many, added = np.eye(len(stores)), np.zeros(len(stores))
    for t in range(len(rate)):
        matrix, used = np.diag(volume[t + 1]), np.zeros(len(stores))
        for q, (a, b) in enumerate(zip(source, target, strict=True)):
            is_use = record["kind"].values[q] == "home_use"
            if a >= 0:
                matrix[a, a] += rate[t, q]
            if a >= 0 and b >= 0 and not (gate_shut and is_use):
                matrix[b, a] -= rate[t, q]
                used[b] += rate[t, q] * is_use
        many = np.linalg.solve(matrix, volume[t][:, None] * many)
        added = np.linalg.solve(matrix, volume[t] * added + used)
    return many, added


def used_once(record) -> np.ndarray:
    """Map of first labels to those of water that passed the gate once, with the gate shut twice."""
    stores = list(record["store"].values)
    number = {name: k for k, name in enumerate(stores)}
    volume, rate = record["volume"].values, record["rate"].values
    never, once = np.eye(len(stores)), np.zeros((len(stores), len(stores)))
    for t in range(len(rate)):
        matrix, passing_on = np.diag(volume[t + 1]), np.zeros((len(stores), len(stores)))
        for q, kind in enumerate(record["kind"].values):
            a, b = (number.get(str(record[end].values[q]), -1) for end in ("source", "target"))
            if a >= 0:
                matrix[a, a] += rate[t, q]
            if a >= 0 and b >= 0 and kind == "home_use":
                passing_on[b, a] += rate[t, q]
            elif a >= 0 and b >= 0:
                matrix[b, a] -= rate[t, q]
        never = np.linalg.solve(matrix, volume[t][:, None] * never)
        once = np.linalg.solve(matrix, volume[t][:, None] * once + passing_on @ never)
    return once


def settled_mean_uses(record) -> np.ndarray:
    """Mean uses at the first edge, from the year's linear map."""
    many, added = year_of(record)
    return np.linalg.solve(np.eye(len(many)) - many, added)


@pytest.mark.parametrize(("swing", "through"), [(0.03, 0.3), (0.003, 0.3), (0.0003, 1.0)])
def test_slow_lakes_beside_a_quick_pipe(swing, through):
    """Within what is told to be left, though the lakes forget only some percent of it in a year."""
    record = two_lakes(swing, through)
    found = count_uses(record)
    exact = settled_mean_uses(record)
    left = np.abs(found["mean_uses"].values[0] - exact)[[0, 1, 3]]  # the home holds no water
    assert found.attrs["warm_up_change"] <= SETTLED
    assert left.max() <= 2.0 * found.attrs["warm_up_change"] + 1e-12


def test_what_slow_lakes_hand_on_is_the_map_of_the_year():
    """Shares of their water a year later, used never and once, are those of the year's map."""
    record = two_lakes(0.3, 0.3, exchange=1.0)
    op = operator(record)
    gate = passing(op, np.array(record["kind"].values == "home_use"), 1)
    over = carried_over(op, gate, STEPS, retained(op))
    assert [op.stores[store] for store in over.slow] == ["lake_a", "lake_b"]
    never = year_of(record, gate_shut=True)[0]
    assert np.allclose(over.unused[..., 0], never[:, :2].T, rtol=2e-6, atol=1e-12)
    assert np.allclose(over.used[..., 0], used_once(record)[:, :2].T, rtol=2e-6, atol=1e-12)
    assert over.used.max() > 0.01


# In the last three, some stores get all their water from each other, by way of homes.
@pytest.mark.parametrize("seed", [*range(20), 74, 165, 180])
def test_a_year_hands_on_the_shares_that_it_began_with(seed):
    """In random networks too, where the mean of uses may grow without end."""
    record = random_record(seed, stores=5, steps=3)
    found = count_uses(record, most=3)
    shares = np.concatenate([found["share"].values, found["unknown"].values[None]])
    has_water = (record["volume"].values[[0, -1]] > 0.0).all(axis=0)
    assert np.abs(shares[:, 0] - shares[:, -1])[:, has_water].max(initial=0.0) <= 2.0 * SETTLED


@pytest.mark.parametrize("exchange", [0.1, 1.0, 3.0])
def test_lakes_that_feed_each_other_settle_at_once(exchange):
    """What goes round between slow lakes and homes is brought forward, not waited for."""
    record = two_lakes(0.3, 0.3, exchange)
    op, found = operator(record), count_uses(record)
    left = np.abs(found["mean_uses"].values[0] - settled_mean_uses(record))[[0, 1, 3]]
    assert (retained(op)[:2] > 0.1).all()
    assert found.attrs["warm_up_repeats"] <= 6
    assert left.max() <= 2.0 * SETTLED


def test_many_slow_stores_settle_on_the_same(monkeypatch):
    """Where too many stores are slow to be followed, more repeats come to the same labels."""
    record = two_lakes(0.3, 0.3, exchange=1.0)
    followed = count_uses(record)
    monkeypatch.setattr("hydroloop.tracing.carried_over.MOST_SLOW", 1)
    waited = count_uses(record)
    assert waited.attrs["warm_up_repeats"] > 2 * followed.attrs["warm_up_repeats"]
    assert np.allclose(followed["share"], waited["share"], rtol=0, atol=1e-8)
