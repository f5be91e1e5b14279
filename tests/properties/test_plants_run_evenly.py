"""Within a day a plant runs evenly and the tanks take the peaks, whatever the town."""

from __future__ import annotations

import numpy as np
from conserves import assert_closes
from hypothesis import given, settings
from hypothesis import strategies as st
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.waterworks.sizes import town_sizes


@settings(max_examples=12, deadline=None)
@given(
    people=st.integers(500, 200_000),
    losses=st.floats(0.01, 0.3),
    work=st.floats(0.01, 0.4),
    steps=st.sampled_from([2, 24]),
    refill=st.floats(0.1, 4.0),
)
def test_without_yards_production_comes_to_rest(people, losses, steps, work, refill):
    """Homes and workplaces repeat day by day, so the plant settles to one rate, the day's mean.

    The tanks hold a day and are at their target when they are fullest. The gap to the target
    shrinks by 1 - 1 d / max(refill, 1 d) a day: in 60 days with a refill of 4 d to 3e-8.
    """
    scenario = one_town(
        season__start="2031-05-01",
        season__end="2031-06-30",
        season__step=f"{24 // steps} hour",
        river__wren__inflow="90 m3/s",
        town__larkmill__people=people,
        town__larkmill__yards__area_per_person="0 m2",
        town__larkmill__mains__real_losses=losses,
        town__larkmill__tanks__refill=f"{refill} day",
        town__larkmill__workplaces__use_per_person=f"{work} m3/person/day",
    )
    record = hl.simulate(scenario)
    assert_closes(record)
    made = record["rate"].sel(flow="larkmill/clearwell > larkmill/tanks").values[-steps:]
    asked = record["demand"].sel(town="larkmill").values.sum(axis=1)[-steps:].mean()
    assert np.allclose(made, asked / (1.0 - losses), rtol=1e-6)
    tanks = record["volume"].sel(store="larkmill/tanks").values
    capacity = town_sizes(scenario.town["larkmill"]).tanks_volume
    assert np.isclose(tanks[-steps - 1 : -1].max(), 0.9 * capacity, rtol=1e-6)
