"""Order-averaged contributions, worked out by hand.

Two changes a and b with values v() = 0, v(a) = 1, v(b) = 2, v(ab) = 5. In the order a, b the change
a brings 1 - 0 = 1 and b brings 5 - 1 = 4; in the order b, a the change b brings 2 - 0 = 2 and a
brings 5 - 2 = 3. The means over both orders are a = (1 + 3) / 2 = 2 and b = (4 + 2) / 2 = 3.

Three players of whom the first owns a left glove and the two others a right glove each; a pair is
worth 1. The first brings 1 in every order in which he does not come first, that is in 4 of 6; each
other brings 1 in the order in which he comes right after the first and before the other right
glove: 1 of 6. So 2/3, 1/6, 1/6.
"""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.whatif.contributions import drawn_contributions, exact_contributions


def test_two_changes_that_help_each_other():
    """Means over both orders: 2 and 3."""
    values = {0b00: 0.0, 0b01: 1.0, 0b10: 2.0, 0b11: 5.0}
    found = exact_contributions(2, lambda sets: np.array([values[one] for one in sets]))
    assert found.tolist() == [2.0, 3.0]


def test_a_left_and_two_right_gloves():
    """Two thirds, and a sixth each."""

    def worth(sets):
        return np.array([float(one & 1 and one >> 1 > 0) for one in sets])

    assert exact_contributions(3, worth) == pytest.approx([2 / 3, 1 / 6, 1 / 6], abs=1e-15)


def test_drawn_orders_come_near_and_say_how_near():
    """With many orders drawn the gloves' shares are met within four standard errors."""

    def worth(sets):
        return np.array([float(one & 1 and one >> 1 > 0) for one in sets])

    found, error = drawn_contributions(3, worth, orders=400, seed=2)
    assert found.sum() == pytest.approx(1.0, abs=1e-12)
    assert (np.abs(found - [2 / 3, 1 / 6, 1 / 6]) <= 4 * error + 1e-12).all()
    assert 0.0 < error.max() < 0.05
