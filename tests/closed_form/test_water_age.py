"""Water age in mixed tanks behind a plant: the exponential law and its sums."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from conserves import assert_closes

import hydroloop as hl
from hydroloop.measures.water_age import oldest_tenth, system_input, water_ages
from hydroloop.tracing import Way, follow_cohorts, operator, time_within


def supply(tank: float, mains: float, steps_a_day: int = 1, days: int = 60):
    edges = pd.date_range(
        "2031-01-01", periods=days * steps_a_day + 1, freq=pd.Timedelta(days=1) / steps_a_day
    )
    volumes = pd.DataFrame(
        {"a/clearwell": 5.0, "a/tanks": tank, "a/mains": mains, "a/taps": 0.0}, index=edges
    )
    flows = [
        ("import", "a/clearwell", "import"),
        ("a/clearwell", "a/tanks", "supply"),
        ("a/tanks", "a/mains", "supply"),
        ("a/mains", "a/taps", "home_use"),
        ("a/taps", "sky", "evaporation"),
    ]
    rows = [(day, *flow, 1.0) for day in edges[:-1] for flow in flows]
    table = pd.DataFrame(rows, columns=["time", "source", "target", "kind", "rate"])
    record = hl.water_record(volumes, table)
    assert_closes(record)
    return record


def ages_of(record):
    taps = record["kind"].values == "home_use"
    found = water_ages(operator(record), [taps])
    return {name: values[..., 0, 0] for name, values in found.items()}


def test_age_of_one_mixed_tank_is_exponential():
    """Mains of 2 days and no tank: mean 2, the oldest tenth beyond 2 ln 10 = 4.6 days."""
    found = ages_of(supply(0.0, 2.0, steps_a_day=24, days=50))
    assert float(found["season_water_age"]) == pytest.approx(2.0, rel=0.01)
    assert float(found["season_water_age_oldest"]) == pytest.approx(2.0 * np.log(10.0), rel=0.02)


def test_a_tank_of_which_a_quarter_is_replaced_in_a_day():
    """Mean 4 days, one over the rate, and exp(-0.75) = .472 of the water older than 3."""
    found = ages_of(supply(0.0, 4.0, steps_a_day=12, days=60))
    assert float(found["season_water_age"]) == pytest.approx(4.0, rel=0.01)
    op = operator(supply(0.0, 4.0, days=60))
    way = Way(system_input(op, ["a/mains"]), np.zeros(len(op.flows), dtype=bool), (), 30.0, 0.05)
    cohorts = follow_cohorts(op, way, (op.stores.index("a/mains"),))
    older = 1.0 - cohorts.seen[-1, 0, cohorts.days <= 3.0, 0].sum()
    assert older == pytest.approx(0.472, abs=0.01)


def test_age_counts_from_the_plant():
    """The clearwell's five days do not count; tank and mains do: 0.6 + 0.4 days."""
    assert float(ages_of(supply(0.6, 0.4))["season_water_age"]) == pytest.approx(1.0, rel=0.001)


def test_daily_steps_hardly_age_the_oldest_water():
    """A day of supply in mixed mains: the oldest tenth is beyond ln 10 days, daily steps or not."""
    daily, hourly = (ages_of(supply(0.0, 1.0, steps_a_day=n)) for n in (1, 24))
    assert float(hourly["season_water_age_oldest"]) == pytest.approx(np.log(10.0), rel=0.02)
    assert float(daily["season_water_age_oldest"]) == pytest.approx(np.log(10.0), rel=0.08)


def test_oldest_tenth_agrees_with_looking_back():
    """The shares by age of the last day, forward by cohorts and backward from the glass."""
    record = supply(0.7, 0.9, steps_a_day=8, days=40)
    op = operator(record)
    nothing = np.zeros(len(op.flows), dtype=bool)
    way = Way(system_input(op, ["a/mains"]), nothing, (), 20.0, 0.125)
    cohorts = follow_cohorts(op, way, (op.stores.index("a/mains"),))
    expected = time_within(cohorts.days, cohorts.seen[-1, 0, :, 0], 0.9, 1.0)
    found = oldest_tenth(op, "a/mains", [0, op.shape[0] - 1])
    assert found.over[1] == pytest.approx(float(expected), rel=1e-6)
    assert found.age[1] > found.over[1]
    assert np.isnan(found.over[0])
