"""The peak-hour ratio of sewage in closed form.

r(P) = (18 + sqrt P) / (4 + sqrt P), P in thousands of people. With s = sqrt P:

    r = ((4 + s) + 14) / (4 + s) = 1 + 14 / (4 + s),

which is Harmon's form. At s = 0, r = 18 / 4 = 4.5. At P = 1, s = 1: 19 / 5 = 3.8. At P = 100, s =
10: 28 / 14 = 2. At P = 5 and 10 the roots 2.2360680 and 3.1622777 give 20.2360680 / 6.2360680 =
3.24500 and 21.1622777 / 7.1622777 = 2.95469.
"""

from __future__ import annotations

from math import inf, sqrt

import pytest

from hydroloop.plants.peaking import Flows, peak_hour_ratio


@pytest.mark.parametrize(
    ("thousands", "ratio"),
    [
        (0, 4.5),
        (1, 3.8),
        (5, 3.24500),
        (10, 2.95469),
        (100, 2.0),
    ],
)
def test_ratio_at_round_numbers(thousands, ratio):
    """The formula gives the values worked out above."""
    assert peak_hour_ratio(1000 * thousands) == pytest.approx(ratio, abs=5e-6)


@pytest.mark.parametrize("people", [0.0, 3.0, 250.0, 24_000.0, 7e6])
def test_the_same_as_harmon(people):
    """1 + 14 / (4 + sqrt P) is the same formula."""
    assert peak_hour_ratio(people) == pytest.approx(1 + 14 / (4 + sqrt(people / 1000)), rel=1e-12)


def test_without_use_no_growth_of_it_reaches_a_limit():
    """Where all that comes is seepage and rain, a flow is never reached or passed at the start."""
    flows = Flows(100.0, 150.0, 300.0, beside=(100.0, 150.0, 300.0))
    assert flows.at_average(400.0, "peak_hour", "average") == inf
    assert flows.at_average(200.0, "peak_hour", "average") == 0.0
