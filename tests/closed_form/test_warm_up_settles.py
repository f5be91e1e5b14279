"""A warm-up goes on until what is still to come is small, however slowly the labels settle."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import operator
from hydroloop.tracing.warm_up import SETTLED, settle


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
