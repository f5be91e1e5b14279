"""The labels that a warm-up comes to are those of a year that hands on what it began with."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import count_uses
from hydroloop.tracing.warm_up import SETTLED

STEPS, LAKE, EXCHANGE = 365, 1000.0, 500.0


def two_lakes(swing: float, through: float):
    """Two lakes that exchange water, a home on one of them, and a quick pipe beside."""
    network = Network(
        ["lake_a", "lake_b", "home", "pipe"],
        ["upstream", "lake_a", "lake_b", "lake_a", "home", "lake_b", "import", "home", "pipe"],
        ["lake_a", "lake_b", "lake_a", "home", "lake_a", "downstream", "pipe", "pipe",
         "downstream"],
        ["upstream", "river", "river", "home_use", "outfall", "river", "import", "sewage",
         "downstream"],
    )
    day = np.arange(STEPS)
    entering = through * (1.0 + swing * np.sin(2.0 * np.pi * day / STEPS))
    home = np.full(STEPS, 0.5 * through)
    back = home * np.where(day < STEPS / 2, 1.0, 1.0 - swing)
    across, one = entering + EXCHANGE + back - home, np.ones(STEPS)
    rates = np.column_stack([entering, across, EXCHANGE * one, home, back, across - EXCHANGE, one,
                             home - back, one + home - back])
    volumes = np.tile([LAKE, LAKE, 0.0, 0.5], (STEPS + 1, 1))
    return build_record(network, edges_of("2031-01-01", STEPS), volumes, rates)


def settled_mean_uses(record) -> np.ndarray:
    """Mean uses at the first edge, from the year's linear map put together step by step."""
    stores = list(record["store"].values)
    number = {name: k for k, name in enumerate(stores)}
    source, target = ([number.get(str(name), -1) for name in record[end].values]
                      for end in ("source", "target"))
    volume, rate = record["volume"].values, record["rate"].values
    many, added = np.eye(len(stores)), np.zeros(len(stores))
    for t in range(len(rate)):
        matrix, used = np.diag(volume[t + 1]), np.zeros(len(stores))
        for q, (a, b) in enumerate(zip(source, target, strict=True)):
            if a >= 0:
                matrix[a, a] += rate[t, q]
            if a >= 0 and b >= 0:
                matrix[b, a] -= rate[t, q]
                used[b] += rate[t, q] * (record["kind"].values[q] == "home_use")
        many = np.linalg.solve(matrix, volume[t][:, None] * many)
        added = np.linalg.solve(matrix, volume[t] * added + used)
    return np.linalg.solve(np.eye(len(stores)) - many, added)


@pytest.mark.parametrize(("swing", "through"), [(0.03, 0.3), (0.003, 0.3), (0.0003, 1.0)])
def test_slow_lakes_beside_a_quick_pipe(swing, through):
    """Within what is told to be left, though the lakes forget only some percent of it in a year."""
    record = two_lakes(swing, through)
    found = count_uses(record)
    exact = settled_mean_uses(record)
    left = np.abs(found["mean_uses"].values[0] - exact)[[0, 1, 3]]  # the home holds no water
    assert found.attrs["warm_up_change"] <= SETTLED
    assert left.max() <= 2.0 * found.attrs["warm_up_change"] + 1e-12
