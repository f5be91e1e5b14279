"""The traced return ratio, and the way of national studies: discharges upstream over streamflow.

The second way takes both flows of the same step, the first lets water take its time; over a season
they come to the same.
"""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from conserves import assert_closes

import hydroloop as hl


def both_ways(name: str, upper: str, lower: str) -> tuple[xr.Dataset, xr.DataArray]:
    """Measures of the lower town, and what the upper one discharges over the river flow there."""
    record = hl.simulate(hl.read_scenario(name))
    assert_closes(record)
    table = hl.measures(record)
    above, here = table.sel(town=upper), table.sel(town=lower)
    return here, (above.effluent + above.overflowed) / here.river_flow_at_intake


@pytest.mark.parametrize(
    ("name", "upper", "lower"),
    [
        ("first_town", "larkmill", "penhollow"),
        ("old_town", "galderwick", "marlbeck"),
    ],
)
def test_season(name, upper, lower):
    """Weighted by withdrawal, both ways agree within a fiftieth, storms and all."""
    here, discharged = both_ways(name, upper, lower)
    season = float((discharged * here.withdrawn).sum() / here.withdrawn.sum())
    assert float(here.season_return_ratio) == pytest.approx(season, rel=0.02)


def test_quiet_days():
    """Where the river is steady, half of the days agree within a hundredth."""
    here, discharged = both_ways("first_town", "larkmill", "penhollow")
    assert float(np.abs(here.return_ratio / discharged - 1).median()) < 0.01


def test_order_of_the_three_in_a_dry_season():
    """At an intake in the river f <= m <= S, and effluent share <= S, on every day."""
    here, _ = both_ways("first_town", "larkmill", "penhollow")
    assert (here.used_share_at_intake <= here.mean_uses_at_intake + 1e-12).all()
    assert (here.mean_uses_at_intake <= here.return_ratio + 1e-12).all()
    assert (here.effluent_share_at_intake <= here.return_ratio + 1e-12).all()
