"""The used share behind any gate of a small town is that of dense matrices."""

from __future__ import annotations

import numpy as np
import pytest
from dense_steps import Dense, handed_on, town

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import operator, used_shares

GATES = [(1, 8, 10), (9, 11), (0,), (), (2, 3), (6, 10), (1,), (7, 4), (8,)]


def masks(count):
    found = np.zeros((count, 12), dtype=bool)
    for gate, flows in zip(found, GATES, strict=False):
        gate[list(flows)] = True
    return found


@pytest.mark.parametrize("members", [0, 2])
@pytest.mark.parametrize("above", ["all", "none", "some"])
@pytest.mark.parametrize("warm_up", ["none", "steady"])
@pytest.mark.parametrize("count", [1, 3, 9])
def test_each_gate(members, above, warm_up, count):
    """Used share behind each of so many gates, with or without the uses above the record."""
    record = town(9, members=members)
    gates = masks(count)
    counts = [above == "all" or (above == "some" and k % 2 == 0) for k in range(count)]
    found = used_shares(operator(record), np.array([3, 1]), gates, counts, warm_up=warm_up)
    assert found.shape == (count, 5, 2, max(1, members))
    for member in range(max(1, members)):
        for k, (gate, counted) in enumerate(zip(gates, counts, strict=True)):
            dense = Dense.of(record, member if members else None)
            if not counted:
                dense.before = np.ones((12, 1))
            first = np.zeros((4, 5))
            first[2] = 1.0
            if warm_up == "steady":
                first = dense.steady_uses(gate, 1)
            expected = dense.uses(gate, 1, first)[1][:, [3, 1]]
            assert np.abs(found[k, ..., member] - expected).max() <= 1e-12


@pytest.mark.parametrize("deep", [0.0, 40.0, 3000.0])
def test_after_repeats(deep):
    """The label that the year ends with as it began, where groundwater stays for days or years."""
    record = town(9, deep=deep)
    dense, gates = Dense.of(record), masks(4)
    found = used_shares(operator(record), np.arange(5), gates, [True] * 4, warm_up="repeat")
    for share, gate in zip(found, gates, strict=True):
        first = handed_on(lambda x, gate=gate: dense.uses(gate, 1, x)[:, -1], (4, 5))
        expected = dense.uses(gate, 1, first)[1]
        expected[0, 0] = 0.0  # no water stands in the homes
        assert np.abs(share[..., 0] - expected).max() <= 1e-7


def test_dry_stores_begin_as_their_mean_inflow():
    """A pan that dries up on its last day had 1 m3: like an average inflow, 3 of 4 m3 used."""
    pan = Network(
        ["pan"], ["rain", "import", "pan"], ["pan", "pan", "sky"], ["rain", "home_use", "sky"]
    )
    record = build_record(
        pan, edges_of("2031-01-01", 2), [[1.0], [2.0], [0.0]], [[1, 3, 3], [0, 0, 2]]
    )
    gate = np.array([False, True, False])
    found = used_shares(operator(record), np.array([0]), [gate], [True], warm_up="repeat")
    # Day 1 mixes 1 m3 of 3/4 with 1 m3 unused and 3 m3 used: 3.75 of 5 m3. Day 2 hands it on.
    assert found[0, :, 0, 0] == pytest.approx([0.75, 0.75, 0.75])
