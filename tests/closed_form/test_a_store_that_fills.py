"""The long run of a tank that gains water: of 3 m3/d that come, 2 leave and 1 stays. So a drop
leaves with the chance 2/3 and ends in the tank with 1/3, and nothing else can become of it."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import long_run


@pytest.fixture(scope="module")
def found():
    """Long run of a full pipe of no volume that feeds the tank, and of the tank."""
    network = Network(
        ["a/pipe", "b/tank"],
        ["rain", "a/pipe", "b/tank"],
        ["a/pipe", "b/tank", "downstream"],
        ["rain", "river", "river"],
    )
    record = build_record(
        network,
        edges_of("2031-01-01", 4),
        np.array([[0.0, 5.0 + day] for day in range(5)]),
        [[3.0, 3.0, 2.0]] * 4,
    )
    assert_closes(record)
    return long_run(record, gate="river")


def test_what_stays_is_an_end_too(found):
    """One third of what comes stays, from wherever it is looked at."""
    left = found["ends"].sel(exit="downstream").values
    assert left == pytest.approx([2 / 3, 2 / 3])
    assert found["ends"].sum("exit").values == pytest.approx([1.0, 1.0])
    assert found["ends"].isel(exit=-1).values == pytest.approx([1 / 3, 1 / 3])


def test_the_tank_lets_through_what_leaves_and_what_stays(found):
    """Throughflow counts the gain, so that it is 3 m3/d in both stores."""
    assert found["throughflow"].values == pytest.approx([3.0, 3.0])
