"""The order in which stores are eliminated, and the list of operations, worked out by hand."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.tracing.along_the_flow import along_the_flow, plan, spread


@pytest.mark.parametrize(
    ("after", "groups"),
    [
        ([set()], [[0]]),
        ([{1}, {2}, set()], [[0], [1], [2]]),
        ([set(), {0}, {1}], [[2], [1], [0]]),
        ([{1}, {0}, {0}], [[2], [0, 1]]),
        ([{1}, {2}, {0, 3}, {4}, {3}], [[0, 1, 2], [3, 4]]),
        # a loop within a loop, and a store that two lead to
        ([{1, 2}, {3}, {3}, set()], [[0], [2], [1], [3]]),
        ([{1}, {2, 4}, {1, 3}, {0}, set()], [[0, 1, 2, 3], [4]]),
        ([{2}, {0, 2}, {3}, {2}], [[1], [0], [2, 3]]),
    ],
)
def test_groups_along_the_flow(after, groups):
    """Stores that reach each other stand together, those upstream of others before them."""
    assert [sorted(group) for group in along_the_flow(after)] == groups


def test_a_chain():
    """From store 2 by 0 to 1, with a boundary at both ends: two slots below the diagonal.

    Order 2, 0, 1; slot 0 is (row 1, column 0), slot 1 (row 2, column 1); nothing to the right.
    """
    program = plan(3, np.array([-1, 0, 2, 1]), np.array([2, 1, 0, -1]))
    assert program.order.tolist() == [2, 0, 1]
    assert program.row.tolist() == [1, 2]
    assert program.column.tolist() == [0, 1]
    assert program.pair.tolist() == []
    assert program.slot.tolist() == [2, 1, 0, 2]  # the third takes what belongs nowhere
    assert program.tail.tolist() == [3, 1, 0, 2]
    assert program.head.tolist() == [0, 2, 1, 3]
    assert program.start.tolist() == [0, 1, 2, 2]
    assert program.across.tolist() == [2, 2, 2, 2]
    assert program.pair_start.tolist() == [0, 0, 0, 0]


def test_a_hub_comes_last():
    """0 to and fro with 1, 2 and 3: the spokes have least to fill in, and leave a number each.

    Order 1, 2, then 0 with 3 left (1 x 1, the smaller number first), then 3. Columns: of 1, 2 the
    hub; of the hub 3. Each pivot has one slot below and one beside; of the spokes they meet on the
    hub's diagonal, of the hub on that of 3: no slot.
    """
    tail, head = np.array([0, 0, 0, 1, 2, 3]), np.array([1, 2, 3, 0, 0, 0])
    program = plan(4, tail, head)
    assert program.order.tolist() == [1, 2, 0, 3]
    ends = list(zip(program.row.tolist(), program.column.tolist(), strict=True))
    assert ends == [(2, 0), (2, 1), (3, 2), (2, 3), (1, 2), (0, 2)]
    assert program.start.tolist() == [0, 1, 2, 3, 3]
    assert program.across.tolist() == [6, 5, 4, 3, 3]
    assert program.pair.tolist() == [6, 6, 6]
    assert program.pair_start.tolist() == [0, 1, 2, 3, 3]
    assert program.slot.tolist() == [5, 4, 2, 0, 1, 3]


def test_what_is_filled_in():
    """A ring of four: taking 0 out joins 3 to 1, and 1 out joins 3 to 2.

    Slots below: (1,0), (2,1), (3,2); beside, the last row first: (2,3), (1,3), (0,3). Pairs:
    of 0 (1,0) x (0,3) adds to (1,3); of 1 (2,1) x (1,3) adds to (2,3); of 2 to a diagonal.
    """
    program = plan(4, np.array([0, 1, 2, 3]), np.array([1, 2, 3, 0]))
    assert program.order.tolist() == [0, 1, 2, 3]
    ends = list(zip(program.row.tolist(), program.column.tolist(), strict=True))
    assert ends == [(1, 0), (2, 1), (3, 2), (2, 3), (1, 3), (0, 3)]
    assert program.pair.tolist() == [4, 3, 6]
    assert program.slot.tolist() == [0, 1, 2, 5]


def test_the_store_with_least_fill_is_taken_first():
    """A wheel: 0 has two ways in and two out (4), 1 to 4 have 2 x 1, 1 x 2 and so on (2).

    0 leads to 1 and 2, 3 and 4 lead to it, 1 to 3, 2 to 4 and 1 to 2. Costs before x after: 0: 2x2,
    1: 1x2, 2: 2x1, 3: 1x1, 4: 1x1. So 3 (1 joins 0), 4 (2 joins 0), then 0: 2x2, 1: 1x2, 2: 2x1:
    1 is taken, 0 and 2 are left with 1x1 each: 0 first.
    """
    tail, head = np.array([0, 0, 3, 4, 1, 2, 1]), np.array([1, 2, 0, 0, 3, 4, 2])
    program = plan(5, tail, head)
    assert program.order.tolist() == [3, 4, 1, 0, 2]


def test_the_same_network_has_the_same_plan():
    """Made once, for the same ends in whatever form."""
    one = plan(2, np.array([0, -1]), np.array([1, 0]))
    assert plan(2, np.array([0.0, -1.0]), np.array([1, 0], dtype=np.int8)) is one
    assert plan(2, np.array([1, -1]), np.array([0, 1])) is not one


@pytest.mark.parametrize("turn", [1, -1])
def test_what_can_be_reached(turn):
    """By links in the order of the flow or against it, and by no other."""
    tail, head = np.array([0, 1, 2, 4, 5]), np.array([1, 2, 3, 5, 6])
    reached = np.array([False, True, False, False, False, False, False])
    spread(reached, tail[::turn].copy(), head[::turn].copy())
    assert np.flatnonzero(reached).tolist() == [1, 2, 3]


def test_what_can_be_reached_to_and_fro():
    """A way that runs with the list, then against it, and with it again takes further rounds."""
    tail = np.array([5, 3, 0, 1, 4, 2])
    head = np.array([6, 4, 1, 3, 2, 5])
    reached = np.zeros(7, dtype=bool)
    reached[0] = True
    spread(reached, tail, head)
    assert reached.all()
