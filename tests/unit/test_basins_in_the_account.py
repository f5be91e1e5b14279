"""Basins that a scenario sizes hold that much water in the account."""

from __future__ import annotations

import pytest
from conserves import assert_closes
from small_scenarios import one_town

import hydroloop as hl


def test_given_basins_are_the_stores():
    """Four settling basins of 80 x 30 x 12 ft hold 4 x 28,800 ft3 = 3,262.1 m3; the clearwell, of
    two tanks of 1,000 m3, holds 2,000 m3; others keep the volume of their times."""
    plain = hl.simulate(one_town())
    sized = hl.simulate(
        one_town("""
[town.larkmill.plant.basins.sedimentation]
count = 4
length = "80 ft"
width = "30 ft"
depth = "12 ft"
[town.larkmill.plant.basins.clearwell]
count = 2
volume = "1000 m3"
""")
    )
    assert_closes(sized)
    volume = sized["volume"].isel(edge=0)
    cubic_foot = 0.3048**3
    settling = float(volume.sel(store="larkmill/sedimentation"))
    assert settling == pytest.approx(4 * 80 * 30 * 12 * cubic_foot)
    assert float(volume.sel(store="larkmill/clearwell")) == pytest.approx(2000.0)
    for part in ("filters", "flocculation", "aeration"):
        same = plain["volume"].isel(edge=0).sel(store=f"larkmill/{part}")
        assert float(volume.sel(store=f"larkmill/{part}")) == pytest.approx(float(same))
