"""Arithmetic on lanes does what a loop over the lanes would."""

from __future__ import annotations

import numpy as np
import pytest
from random_records import random_record

from hydroloop.compiling import compiled
from hydroloop.tracing import operator
from hydroloop.tracing.lanes import NOTHING, add_product, add_scaled, aligned, invert, multiply

SIZES = pytest.mark.parametrize("lanes", [1, 8, 16])


@compiled
def _each(to, one, other, lanes):
    size = np.uint32(len(lanes))
    add_product((to, 0), (one, len(lanes)), (other, size), lanes)
    add_scaled((to, size), 3.0, (one, 0), lanes)
    multiply((to, 2 * len(lanes)), (other, 0), lanes)
    invert((to, 3 * len(lanes)), lanes)


@SIZES
def test_each_operation_touches_its_own_lanes(lanes):
    """A product, a multiple, a factor and an inverse, each at its place and nowhere else."""
    rng = np.random.default_rng(lanes)
    to, one, other = rng.uniform(1.0, 2.0, (3, 5, lanes))
    expected = to.copy()
    expected[0] += one[1] * other[1]
    expected[1] += 3.0 * one[0]
    expected[2] *= other[0]
    expected[3] = 1.0 / expected[3]
    _each(to.reshape(-1), one.reshape(-1), other.reshape(-1), (0,) * lanes)
    assert np.allclose(to, expected, rtol=4e-16, atol=0)


@SIZES
def test_nothing_has_no_inverse(lanes):
    """Zero and what is too small to be water give zero, in its lane alone."""
    to = np.ones((4, lanes))
    to[3, 0] = NOTHING
    _each(to.reshape(-1), np.ones(4 * lanes), np.ones(4 * lanes), (0,) * lanes)
    assert to[3].tolist() == [0.0] + [1.0] * (lanes - 1)


@pytest.mark.parametrize("shape", [(0,), (3,), (2, 8), (5, 7)])
def test_aligned_room_begins_a_line(shape):
    """Zeros of the shape asked for, that begin at a multiple of 64 bytes."""
    room = aligned(*shape)
    assert room.shape == shape
    assert not room.any()
    assert room.size == 0 or room.ctypes.data % 64 == 0


@pytest.mark.parametrize(
    ("members", "lanes"),
    [(1, [1]), (7, [1] * 7), (8, [8]), (16, [16]), (25, [16, 8, 1]), (40, [16, 16, 8])],
)
def test_blocks_take_every_member_once(members, lanes):
    """As many side by side as there are, and none left out."""
    op = operator(random_record(1, stores=3, steps=2, members=members))
    blocks = list(op.blocks())
    assert [size for _, size in blocks] == lanes
    assert [first for first, _ in blocks] == np.cumsum([0, *lanes[:-1]]).tolist()
