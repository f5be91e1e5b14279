"""The traced return ratio, and the way of national studies: discharges upstream over streamflow.

The second way takes both flows of the same day, the first lets water take its time; over a season
they come to the same.
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes

import hydroloop as hl


@pytest.mark.parametrize(("name", "upper", "lower"), [
    ("first_town", "larkmill", "penhollow"), ("old_town", "galderwick", "marlbeck"),
])  # fmt: skip
def test_season(name, upper, lower):
    """Weighted by withdrawal, both ways agree within a fiftieth; half of the steps within 5 %."""
    record = hl.simulate(hl.read_scenario(name))
    assert_closes(record)
    table = hl.measures(record)
    above, here = table.sel(town=upper), table.sel(town=lower)
    discharged = (above.effluent + above.overflowed) / here.river_flow_at_intake
    season = float((discharged * here.withdrawn).sum() / here.withdrawn.sum())
    assert float(here.season_return_ratio) == pytest.approx(season, rel=0.02)
    days = np.abs(here.return_ratio / discharged - 1)
    assert float(days.median()) < 0.05


def test_order_of_the_three_in_a_dry_season():
    """At intakes in the river f <= m <= S on every day of the two-town season."""
    table = hl.measures(hl.simulate(hl.read_scenario("first_town"))).sel(town="penhollow")
    assert (table.used_share_at_intake <= table.mean_uses_at_intake + 1e-12).all()
    assert (table.mean_uses_at_intake <= table.return_ratio + 1e-12).all()
    assert (table.effluent_share_at_intake <= table.return_ratio + 1e-12).all()
