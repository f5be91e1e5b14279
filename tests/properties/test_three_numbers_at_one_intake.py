"""f <= m <= S at every river intake, for a town that takes, loses and returns what it likes."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

import hydroloop as hl
from hydroloop.gates import USES

ROOM = 1e-9


@settings(max_examples=6, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from(list(USES)))
def test_three_numbers_keep_their_order(seed, count_as):
    """Over the season, whatever counts as a use; on single days f <= m alone must hold.

    Wells have no S. Direct reuse and leaks are in it: what is not in the river is in neither.
    """
    rng = np.random.default_rng(seed)
    towns = ("town.larkmill.", "town.penhollow.")
    values = {"season.end": "2031-06-30", "season.count_as": count_as}
    for town in towns:
        values |= {
            f"{town}people": int(rng.uniform(2_000, 60_000)),
            f"{town}mains.real_losses": float(rng.uniform(0.0, 0.3)),
            f"{town}homes.septic": float(rng.choice([0.0, rng.uniform(0.0, 0.8)])),
            f"{town}homes.consumed": float(rng.uniform(0.0, 0.2)),
            f"{town}workplaces.toilets": float(rng.uniform(0.0, 1.0)),
        }
    scenario = hl.read_scenario("first_town").changed(values)
    table = hl.measures(hl.simulate(scenario), scenario)
    for f, m in (("used_share", "mean_uses"), ("used_share_at_intake", "mean_uses_at_intake")):
        day = (table[m] - table[f]).values
        assert (day[np.isfinite(day)] >= -ROOM).all()
        season = (table[f"season_{m}"] - table[f"season_{f}"]).values
        assert (season[np.isfinite(season)] >= -ROOM).all()
    slack = (table.season_return_ratio - table.season_mean_uses_at_intake).values
    assert (slack[np.isfinite(slack)] >= -ROOM).all(), (seed, count_as, slack)
    assert np.isfinite(slack).any()
