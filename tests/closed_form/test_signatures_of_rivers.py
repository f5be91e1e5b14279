"""Signatures of rivers, where they can be worked out by hand.

The filter with a = 0.5 on 1, 3, 1: the quick flow is 0, 0.75 x 2 = 1.5 and 0.75 - 0.75 x 2, less
than nothing; 1, 1.5, 1 stays. Back over it 0.375 is quick, forward again 0.09375: of 5 there is
1 + 1.03125 + 1 left.
"""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.errors import AskError
from hydroloop.weather.signatures import baseflow_index, flashiness, low_flow_ratio


def test_the_signatures_of_a_few_days():
    """Three passes of the filter; up 3 and down 4 while 6 flows, the first day's flow not counted;
    of 1 to 21 the twentieth part lies at or below 2, and the mean is 11."""
    assert baseflow_index(np.array([1.0, 3.0, 1.0]), 0.5) == pytest.approx(3.03125 / 5, rel=1e-14)
    assert flashiness(np.array([2.0, 5.0, 1.0])) == pytest.approx(7.0 / 6.0, rel=1e-14)
    assert low_flow_ratio(np.arange(21.0, 0.0, -1.0)) == pytest.approx(2.0 / 11.0, rel=1e-14)


@pytest.mark.parametrize("ask", [baseflow_index, flashiness, low_flow_ratio])
def test_a_dry_river_has_no_signature(ask):
    """There is nothing to divide by, which is said."""
    with pytest.raises(AskError, match="dry throughout"):
        ask(np.zeros(5))
