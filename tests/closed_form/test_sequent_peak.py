"""Reservoir yield worked out by hand.

Inflow 1 3 3 5 8 6 7 2 1 run through twice, K = max(0, K + R - Q). With draft R = 3.5:

    Q    1   3   3   5   8 6 7  2   1   1   3   3   5   8   6 7  2   1
    K   2.5 3.0 3.5 2.0  0 0 0 1.5 4.0 6.5 7.0 7.5 6.0 1.5  0 0 1.5 4.0

so the storage is 7.5. The stretch that needs it is 2 1 1 3 3: 5 x 3.5 - 10 = 7.5; a draft R asks
5 R - 10 there, and no other stretch asks more near 3.5, so storage 7.5 gives back 3.5. The mean is
4; at that draft the storage is 10 (departures 3 1 1 -1 -4 -2 -3 2 3: the stretch 2 3 3 1 1). Below
the least inflow (R <= 1) nothing is needed. (Inputs from memory of Loucks & van Beek; the answers
are this arithmetic.)
"""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.measures.reservoir_yield import (
    sequent_peak,
    storage_for_draft,
    yield_for_storage,
)

INFLOW = np.array([1, 3, 3, 5, 8, 6, 7, 2, 1], dtype=float)


def test_storage_step_by_step():
    """The drawn-down storage follows the table, and its largest is 7.5."""
    expected = [2.5, 3, 3.5, 2, 0, 0, 0, 1.5, 4, 6.5, 7, 7.5, 6, 1.5, 0, 0, 1.5, 4]
    assert sequent_peak(INFLOW, 3.5).tolist() == expected
    assert storage_for_draft(INFLOW, 3.5) == 7.5


def test_draft_equal_to_the_mean():
    """A draft of the mean, 4, needs 10; more cannot be had from any storage."""
    assert storage_for_draft(INFLOW, 4.0) == 10.0
    assert yield_for_storage(INFLOW, 10.0) == 4.0
    assert yield_for_storage(INFLOW, 1000.0) == 4.0
    with pytest.raises(ValueError, match="mean"):
        storage_for_draft(INFLOW, 4.1)


def test_yield_of_a_storage():
    """Storage 7.5 gives 3.5; none gives the least inflow, 1.

    With storage 1 the stretch 1 1 binds: (1 + 2) / 2 = 1.5.
    """
    assert yield_for_storage(INFLOW, 7.5) == 3.5
    assert yield_for_storage(INFLOW, 0.0) == 1.0
    assert yield_for_storage(INFLOW, 1.0) == 1.5


def test_a_negative_storage_is_refused():
    """A storage below zero is an error, not a small yield."""
    with pytest.raises(ValueError, match="negative"):
        yield_for_storage(INFLOW, -1.0)
