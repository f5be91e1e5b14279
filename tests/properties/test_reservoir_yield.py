"""Laws of the sequent peak: Rippl's range, and yield and storage as each other's inverse."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.measures.reservoir_yield import storage_for_draft, yield_for_storage

inflows = st.lists(st.floats(0.0, 1e3), min_size=1, max_size=60).map(np.array)


@given(inflows)
@settings(max_examples=100, deadline=None)
def test_storage_at_the_mean_is_the_range_of_departures(inflow):
    """With the draft equal to the mean, storage is the range of the cumulative departures.

    The departures return to zero at the end of the series, so the largest fall in two runs is from
    the highest to the lowest point, whichever comes first (Rippl; Hurst).
    """
    departures = np.concatenate([[0.0], np.cumsum(inflow - inflow.mean())])
    span = departures.max() - departures.min()
    assert abs(storage_for_draft(inflow, float(inflow.mean())) - span) <= 1e-9 * max(
        1.0, inflow.sum()
    )


@given(inflows, st.floats(0.0, 1.0))
@settings(max_examples=100, deadline=None)
def test_yield_undoes_storage(inflow, share):
    """The storage of a draft gives that draft back, if it needs any storage at all."""
    draft = share * float(inflow.mean())
    storage = storage_for_draft(inflow, draft)
    scale = max(1.0, float(inflow.max()))
    found = yield_for_storage(inflow, storage)
    assert found >= draft - 1e-9 * scale
    if storage > 1e-6 * scale:
        assert abs(found - draft) <= 1e-9 * scale


@given(inflows, st.floats(0.0, 5e3))
@settings(max_examples=100, deadline=None)
def test_yield_is_the_least_of_all_stretches(inflow, storage):
    """Of every stretch of the doubled series (storage + inflow) / length: yield is the least."""
    twice = np.concatenate([[0.0], np.cumsum(np.tile(inflow, 2))])
    n = len(inflow)
    least = min(float((storage + (twice[k:] - twice[:-k]).min()) / k) for k in range(1, 2 * n + 1))
    expected = min(least, float(inflow.mean()))
    assert abs(yield_for_storage(inflow, storage) - expected) <= 1e-9 * max(1.0, inflow.max())


@given(inflows, st.floats(0.0, 1e3), st.floats(0.0, 1e3))
@settings(max_examples=60, deadline=None)
def test_more_storage_never_yields_less(inflow, one, other):
    """A larger reservoir gives as much or more."""
    small, large = sorted((one, other))
    assert yield_for_storage(inflow, large) >= yield_for_storage(inflow, small) - 1e-9
