"""A linear store holds mean inflow times time constant, and comes near it by 1 - exp(-t / k)."""

from __future__ import annotations

import numpy as np
import pytest
from file_years import steady_catchment

import hydroloop as hl


def groundwater(record):
    """Groundwater of the catchment, the level of no baseflow, and what seeps into it [m3, m3/d]."""
    volume = record["volume"].sel(store="wren/groundwater").values
    into = record["rate"][:, (record["target"] == "wren/groundwater").values].sum("flow").values
    out = (
        record["rate"]
        .sel(
            flow=(record["kind"] == "baseflow").values
            & (record["source"] == "wren/groundwater").values
        )
        .sum("flow")
        .values
    )
    # Baseflow V (1 - exp(-dt / k)) / dt tells how much of the volume is above it.
    above = out / (1.0 - np.exp(-1.0 / 60.0))
    return volume[:-1] - above, above, into, out


def test_steady_rain_holds_up_a_steady_level(tmp_path):
    """With the same rain every day the store begins, and stays, at R k: the outflow is R."""
    record = hl.simulate(steady_catchment(tmp_path, "2031-01-01", "2031-03-31"))
    _, above, into, out = groundwater(record)
    assert into.min() > 0.0
    assert out == pytest.approx(into, rel=1e-3)
    # V at the start of a step of exact outflow: R dt / (1 - exp(-dt / k)) = R k (1 + dt / 2k).
    assert above == pytest.approx(into * 60.0 * (1.0 + 0.5 / 60.0), rel=1e-3)


@pytest.mark.parametrize(("k_passed", "share"), [(1, 0.632), (2, 0.865), (3, 0.950)])
def test_an_empty_store_fills(tmp_path, k_passed, share):
    """From a first day without baseflow: 0.632, 0.865 and 0.950 of rest after 1, 2 and 3 k."""
    scenario = steady_catchment(tmp_path, "2031-01-01", "2031-12-31")
    record = hl.simulate(scenario.changed({"river.wren.baseflow": "0 m3/day"}))
    _, _, into, out = groundwater(record)
    assert out[60 * k_passed] / into[-1] == pytest.approx(share, abs=0.001)
