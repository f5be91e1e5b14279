"""Equalising volume of simple days, by hand."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hydroloop.plants.storage import day_equalising_volumes, equalising_volume


def test_twelve_hours_on_and_twelve_off():
    """All of a day's D in 12 h, made evenly: D/2 is filled by night and drawn by day."""
    demand = np.repeat([0.0, 200.0], 12)
    assert equalising_volume(demand, np.full(24, 100.0), 1.0 / 24.0) == pytest.approx(50.0)


@given(
    low=st.floats(0.0, 50.0),
    hours=st.integers(1, 23),
    start=st.integers(0, 23),
    mean=st.floats(60.0, 1e5),
)
def test_one_block_of_high_demand(low, hours, start, mean):
    """Demand q for h hours of a day and low for the rest, mean m: (q - m) h / 24 of storage.

    From m = (q h + low (24 - h)) / 24 follows (q - m) h = (m - low) (24 - h). A block that does not
    cross midnight: the curve rises at m - low, falls at q - m, and rises again to where it began,
    so its range is the fall.
    """
    start = min(start, 24 - hours)
    demand = np.full(24, low)
    demand[start : start + hours] = (24.0 * mean - low * (24 - hours)) / hours
    found = equalising_volume(demand, np.full(24, mean), 1.0 / 24.0)
    assert found == pytest.approx((mean - low) * (24 - hours) / 24.0, rel=1e-9)


def test_a_sine_takes_its_amplitude_over_pi():
    """Demand m (1 + a sin(2 pi t)) needs the integral of its upper half: a m / pi.

    In steps of 1/n, each with the mean of its span, the curve's points are exact, so for an even n
    the range is too.
    """
    edges = np.linspace(0.0, 1.0, 25)
    integral = 100.0 * (edges - 0.6 * (np.cos(2 * np.pi * edges) - 1.0) / (2 * np.pi))
    demand = np.diff(integral) * 24.0
    found = equalising_volume(demand, np.full(24, 100.0), 1.0 / 24.0)
    assert found == pytest.approx(0.6 * 100.0 / np.pi, rel=1e-12)


def test_days_are_taken_one_by_one():
    """A day in steps of half a day at 0 and 48 takes (24 - 0) / 2 = 12; an even day nothing."""
    assert day_equalising_volumes(np.array([0.0, 48.0, 30.0, 30.0]), 2).tolist() == [12.0, 0.0]
