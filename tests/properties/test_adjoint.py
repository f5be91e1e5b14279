"""The transposed solve is the transpose of the solve."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from random_records import random_record

from hydroloop.tracing import find_gate, operator
from hydroloop.tracing.elimination import At, assemble, factor, room, solve, solve_transposed


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 2**32 - 1), st.integers(1, 12), st.booleans())
def test_dot_product(seed, stores, shut):
    """y' (A x) = (A' y)' x for random x and y, with the gate shut or open, in 16, 8 and 1 lanes."""
    op = operator(random_record(seed, stores=stores, steps=2, members=25))
    gate = find_gate(op, "home_use") if shut else None
    rng = np.random.default_rng(seed)
    for first, lanes in op.blocks():
        work = room(op.program, lanes)
        assemble(op.program, op.water, op.split(gate), work, At(1, first))
        factor(op.program, work)
        x, y = rng.random((2, stores * lanes))
        forward, back = x.copy(), y.copy()
        solve(op.program, work, forward)
        solve_transposed(op.program, work, back)
        one, other = (
            (a * b).reshape(stores, lanes).sum(axis=0) for a, b in ((y, forward), (back, x))
        )
        assert np.allclose(one, other, rtol=1e-12, atol=0)
