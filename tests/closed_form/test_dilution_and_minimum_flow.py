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

from hydroloop.measures.supply import cut_share, days_in_stages, low_river, supply
from hydroloop.record import Network, build_record, edges_of, flow_mask

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
    made = build_record(network, edges_of("2031-07-01", 3), np.full((4, 4), 5.0),
                        np.array([flow[3] for flow in FLOWS], dtype=float).T)
    assert_closes(made)
    made = made.assign_coords(town=["mill"])
    made["minimum_flow"] = (("time", "town"), np.full((3, 1), 40.0))
    return made


def flows_of(record):
    return {"withdrawn": flow_mask(record, kind="intake"),
            "effluent": flow_mask(record, kind="outfall"),
            "overflowed": flow_mask(record, kind="overflow")}


def test_dilution(record):
    """River over effluent is 10 and 5, and its lowest 5; a day without effluent has none."""
    found = low_river(record, "mill", flows_of(record))
    assert found["dilution"].values[:2].tolist() == [10.0, 5.0]
    assert np.isnan(found["dilution"].values[2])
    assert float(found["lowest_dilution"]) == 5.0


def test_overflow_is_diluted_too(record):
    """Half of the 8 overflows instead: the river is over 8 as before, and not over 4."""
    record = record.assign_coords(flow=record["flow"])
    extra = record.isel(flow=[5]).assign_coords(flow=["overflow of homes"])
    extra["kind"] = ("flow", ["overflow"])
    both = xr.concat([record, extra], "flow", data_vars="minimal", coords="minimal")
    both["rate"][{"flow": [5, -1]}] *= 0.5
    assert low_river(both, "mill", flows_of(both))["dilution"].values[:2].tolist() == [10.0, 5.0]


def test_a_river_drawn_empty_has_no_dilution(record):
    """What rounding leaves in a river, 1e-15 m3/d, dilutes nothing: zero, not 1e-16."""
    rate = record["rate"].copy()
    rate.loc[{"flow": rate["flow"][record["kind"].values == "river"]}] = [[1e-15], [40.0], [20.0]]
    found = low_river(record.assign(rate=rate), "mill", flows_of(record))
    assert found["dilution"].values[:2].tolist() == [0.0, 5.0]
    assert float(found["lowest_dilution"]) == 0.0
    assert np.isnan(found["dilution"].values[2])


def test_days_under_the_minimum(record):
    """One day of three; a river that just keeps its minimum is not under it."""
    assert float(low_river(record, "mill", flows_of(record))["days_under_minimum_flow"]) == 1.0
    unknown = low_river(record.drop_vars("minimum_flow"), "mill", flows_of(record))
    assert np.isnan(unknown["days_under_minimum_flow"])


def test_a_town_without_intake_or_outfall_has_neither(record):
    """Nothing taken and nothing returned: both measures have no meaning."""
    nothing = dict.fromkeys(("withdrawn", "effluent", "overflowed"),
                            np.zeros(len(FLOWS), dtype=bool))
    found = low_river(record, "mill", nothing)
    assert np.isnan(found["lowest_dilution"])
    assert np.isnan(found["days_under_minimum_flow"])


def test_supply_of_a_season(record):
    """Asked 10 a day at homes and 5 in yards; on the second day 3 are short in yards, on the third
    all: two of three days fail in one failure of two days, worst 15; 18 of 45 m3 unmet."""
    coords = {"time": record["time"], "purpose": ["homes", "yards"]}
    demand = xr.DataArray([[10.0, 5.0]] * 3, coords, ("time", "purpose"))
    unmet = xr.DataArray([[0.0, 0.0], [0.0, 3.0], [10.0, 5.0]], coords, ("time", "purpose"))
    found = supply(record, unmet, demand)
    assert float(found["reliability"]) == pytest.approx(1 / 3, rel=1e-15)
    assert float(found["resilience"]) == 0.0
    assert float(found["vulnerability"]) == float(found["largest_shortage"]) == 15.0
    assert float(found["longest_failure"]) == 2.0
    assert found["unmet_total"].values.tolist() == [10.0, 8.0]
    assert float(found["volume_reliability"]) == pytest.approx(1 - 18 / 45, rel=1e-15)


def test_days_in_stages(record):
    """A stage that stood on two of three days counts two."""
    counter = (("time", "stage"), np.array([[0.0], [1.0], [2.0]]))
    assert days_in_stages(record.assign(stage_days=counter)).values.tolist() == [2.0]


def test_share_cut_by_stages_is_of_what_would_be_used(record):
    """Ten a day are wanted on three days; cuts of 2 and 4 leave 8 and 6: 6 of 30, a fifth."""
    coords = {"time": record["time"], "town": ["here"], "purpose": ["homes", "yards"]}
    cut = xr.DataArray([[[0.0, 0.0]], [[0.5, 1.5]], [[1.0, 3.0]]], coords, list(coords))
    wanted = xr.DataArray([[[6.0, 4.0]]] * 3, coords, list(coords))
    edge = {"edge": record["edge"]}
    share = cut_share(xr.Dataset({"cut": cut, "demand": wanted - cut}, edge), "here")
    assert float(share) == pytest.approx(6 / 30, rel=1e-15)
    nothing = xr.Dataset({"cut": 0.0 * cut, "demand": 0.0 * wanted}, edge)
    assert float(cut_share(nothing, "here")) == 0.0
