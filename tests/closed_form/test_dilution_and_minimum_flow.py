"""Dilution and days under the minimum flow of a record worked out by hand.

Three days. Down the river come 90, 50, 20 m3/d to the intake, which takes 10, 10, 0; what is left,
80, 40, 20, goes on to the outfall, where 8, 8, 0 m3/d of effluent join: dilution 10 and 5, and none
on the third day. The minimum flow is 40: only the third day is under it, 40 itself is not.
"""

from __future__ import annotations

import numpy as np
import pytest
import xarray as xr
from conserves import assert_closes

from hydroloop.measures import (
    cut_share,
    days_in_stages,
    days_under_minimum,
    dilution,
    run_of,
    supply,
)
from hydroloop.measures.supply import lowest
from hydroloop.record import Network, build_record, edges_of

FLOWS = [
    # source, target, kind, three days
    ("upstream", "wren/a", "upstream", (90, 50, 20)),
    ("wren/a", "mill/plant", "intake", (10, 10, 0)),
    ("wren/a", "wren/b", "river", (80, 40, 20)),
    ("mill/plant", "mill/homes", "home_use", (10, 10, 0)),
    ("mill/homes", "sky", "evaporation", (2, 2, 0)),
    ("mill/homes", "wren/b", "outfall", (8, 8, 0)),
    ("wren/b", "downstream", "downstream", (88, 48, 20)),
]


@pytest.fixture
def record():
    stores = ["wren/a", "wren/b", "mill/plant", "mill/homes"]
    network = Network(stores, *([flow[end] for flow in FLOWS] for end in range(3)))
    made = build_record(
        network,
        edges_of("2031-07-01", 3),
        np.full((4, 4), 5.0),
        np.array([flow[3] for flow in FLOWS], dtype=float).T,
    )
    assert_closes(made)
    made = made.assign_coords(town=["mill"])
    made["minimum_flow"] = (("time", "town"), np.full((3, 1), 40.0))
    return made


def diluted(record):
    """Dilution of the one town, day by day."""
    return dilution(run_of(record))[:, 0, 0]


def test_dilution(record):
    """River over effluent is 10 and 5, and its lowest 5; a day without effluent has none."""
    found = diluted(record)
    assert found[:2].tolist() == [10.0, 5.0]
    assert np.isnan(found[2])
    assert lowest(found) == 5.0


def test_overflow_is_diluted_too(record):
    """Half of the 8 overflows instead: the river is over 8 as before, and not over 4."""
    record = record.assign_coords(flow=record["flow"])
    extra = record.isel(flow=[5]).assign_coords(flow=["overflow of homes"])
    extra["kind"] = ("flow", ["overflow"])
    both = xr.concat([record, extra], "flow", data_vars="minimal", coords="minimal")
    both["rate"][{"flow": [5, -1]}] *= 0.5
    assert diluted(both)[:2].tolist() == [10.0, 5.0]


def test_a_river_drawn_empty_has_no_dilution(record):
    """What rounding leaves in a river, 1e-15 m3/d, dilutes nothing: zero, not 1e-16."""
    rate = record["rate"].copy()
    rate.loc[{"flow": rate["flow"][record["kind"].values == "river"]}] = [[1e-15], [40.0], [20.0]]
    kept = record["volume"].copy()
    kept.loc[{"store": ["wren/a", "wren/b"]}] = [[5, 85], [85, 5], [85, 5], [85, 5]]
    found = diluted(record.assign(rate=rate, volume=kept))
    assert found[:2].tolist() == [0.0, 5.0]
    assert lowest(found) == 0.0
    assert np.isnan(found[2])


def test_days_under_the_minimum(record):
    """One day of three; a river that just keeps its minimum is not under it."""
    assert days_under_minimum(run_of(record)).item() == 1.0
    assert np.isnan(days_under_minimum(run_of(record.drop_vars("minimum_flow")))).all()


def test_a_town_without_intake_or_outfall_has_neither(record):
    """Nothing taken and nothing returned: both measures have no meaning."""
    kinds = record["kind"].copy()
    kinds[np.isin(kinds, ("intake", "outfall"))] = "leak"
    run = run_of(record.assign(kind=kinds))
    assert np.isnan(dilution(run)).all()
    assert np.isnan(days_under_minimum(run)).all()


def test_supply_of_a_season():
    """Asked 10 a day at homes and 5 in yards; on the second day 3 are short in yards, on the third
    all: two of three days fail in one failure of two days, worst 15; 18 of 45 m3 unmet."""
    demand = np.array([[10.0, 5.0]] * 3).reshape(3, 1, 2, 1)
    unmet = np.array([[0.0, 0.0], [0.0, 3.0], [10.0, 5.0]]).reshape(3, 1, 2, 1)
    found = supply(unmet, demand, np.ones(3))
    assert found["reliability"].item() == pytest.approx(1 / 3, rel=1e-15)
    assert found["resilience"].item() == 0.0
    assert found["vulnerability"].item() == found["largest_shortage"].item() == 15.0
    assert found["longest_failure"].item() == 2.0
    assert found["unmet_total"].ravel().tolist() == [10.0, 8.0]
    assert found["volume_reliability"].item() == pytest.approx(1 - 18 / 45, rel=1e-15)


def test_days_in_stages():
    """A stage that stood on two of three days counts two."""
    counter = np.array([0.0, 1.0, 2.0]).reshape(3, 1, 1)
    assert days_in_stages(counter, np.ones(3)).ravel().tolist() == [2.0]


def test_share_cut_by_stages_is_of_what_would_be_used():
    """Ten a day are wanted on three days; cuts of 2 and 4 leave 8 and 6: 6 of 30, a fifth."""
    cut = np.array([[0.0, 0.0], [0.5, 1.5], [1.0, 3.0]]).reshape(3, 1, 2, 1)
    wanted = np.array([[6.0, 4.0]] * 3).reshape(3, 1, 2, 1)
    share = cut_share(cut, wanted - cut, np.ones(3))
    assert share.item() == pytest.approx(6 / 30, rel=1e-15)
    assert cut_share(0.0 * cut, 0.0 * wanted, np.ones(3)).item() == 0.0
