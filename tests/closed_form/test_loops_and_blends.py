"""Loops and blends from the table of measures.

One town that drinks from its own loop, steady: the tank gives 1, of which the share rho comes back
and 1 - rho is made up fresh. What the home gets was used k times with P(k) = (1 - rho) rho^k, so
f = rho and m = rho / (1 - rho). No river flows on from the tank: what is withdrawn takes its count
along, and S = m. A drop makes 1 pass and then comes back with rho: 1 / (1 - rho) in its life.

Bank filtrate: the effluent share at the tap is the share of bank filtrate times that of the river.
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes

import hydroloop as hl
from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import trace


def record_of(flows, volumes, days=4):
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(list(volumes), source, target, kind)
    held = [list(volumes.values())] * (days + 1)
    record = build_record(network, edges_of("2031-01-01", days), held, [rate] * days)
    assert_closes(record)
    return record


def own_loop(rho):
    flows = [
        ("upstream", "wren/lake", "upstream", 1 - rho),
        ("wren/lake", "mill/mains", "intake", 1.0),
        ("mill/mains", "mill/taps", "home_use", 1.0),
        ("mill/taps", "sky", "evaporation", 1 - rho),
        ("mill/taps", "mill/contact", "sewage", rho),
        ("mill/contact", "wren/lake", "outfall", rho),
    ]
    return record_of(
        flows, {"wren/lake": 3.0, "mill/mains": 1.0, "mill/taps": 0.0, "mill/contact": 0.5}
    )


@pytest.mark.parametrize(("rho", "mean"), [(0.2, 0.25), (0.5, 1.0), (0.8, 4.0)])
def test_own_loop(rho, mean):
    """f = rho, P(k) = (1 - rho) rho^k, m = rho/(1 - rho) = S; 1/(1 - rho) passes in a life."""
    table = hl.measures(own_loop(rho), most=6).sel(town="mill")
    shares = (1 - rho) * rho ** np.arange(6)
    assert np.abs(table.use_share.isel(use=slice(0, 6)) - shares).max() <= 1e-7
    assert np.abs(table.use_share.isel(use=6) - rho**6).max() <= 1e-7
    assert np.abs(table.used_share - rho).max() <= 1e-7
    assert np.abs(table.mean_uses - mean).max() <= 1e-7
    assert np.abs(table.return_ratio - mean).max() <= 1e-7
    assert float(table.lifetime_passes) == pytest.approx(1 / (1 - rho), abs=1e-9)


def test_cycling_of_the_loop():
    """rho .5: lake, mains and taps pass 1, the contact tank .5; each comes back with .5.

    N_ii = 2 for all four, so half of the throughflow of 3.5 is cycled.
    """
    table = hl.measures(own_loop(0.5))
    assert float(table.cycling_index) == pytest.approx(0.5, abs=1e-12)
    assert float(table.path_length) == pytest.approx(3.5 / 0.5, abs=1e-12)


def test_bank_filtrate():
    """.6 bank filtrate of a river with .2 effluent makes .12; no f, for no home is above."""
    flows = [
        ("upstream", "wren/reach", "upstream", 80.0),
        ("import", "wren/reach", "outfall", 20.0),
        ("wren/reach", "mill/groundwater", "recharge", 6.0),
        ("rain", "mill/groundwater", "rain", 4.0),
        ("mill/groundwater", "mill/mains", "intake", 10.0),
        ("mill/mains", "mill/taps", "home_use", 10.0),
        ("mill/taps", "sky", "evaporation", 10.0),
        ("wren/reach", "downstream", "downstream", 94.0),
    ]
    record = record_of(
        flows, {"wren/reach": 50.0, "mill/groundwater": 3000.0, "mill/mains": 1.0, "mill/taps": 0.0}
    )
    town = hl.measures(record).sel(town="mill")
    assert np.abs(town.effluent_share_at_intake - 0.12).max() <= 1e-7
    assert float(town.season_effluent_share_at_intake) == pytest.approx(0.12, abs=1e-7)
    assert float(town.season_used_share) == 0.0
    assert (town.pumped == 10.0).all()
    assert (town.withdrawn == 0.0).all()


def test_a_third_from_a_half():
    """A third of the supply from a lake that is half effluent: one sixth of the supply.

    The rest is rain. The used share is less: a quarter of the effluent never was in a home.
    """
    flows = [
        ("rain", "trinity/reservoir", "rain", 50.0),
        ("upstream", "up/mains", "intake", 50.0),
        ("up/mains", "up/taps", "home_use", 37.5),
        ("up/mains", "up/contact", "work_use", 12.5),
        ("up/taps", "up/contact", "sewage", 37.5),
        ("up/contact", "trinity/reservoir", "outfall", 50.0),
        ("trinity/reservoir", "down/mains", "intake", 5.0),
        ("import", "down/mains", "import", 10.0),
        ("trinity/reservoir", "downstream", "release", 95.0),
        ("down/mains", "down/taps", "home_use", 15.0),
        ("down/taps", "sky", "evaporation", 15.0),
    ]
    stores = ("trinity/reservoir", "up/mains", "up/taps", "up/contact", "down/mains", "down/taps")
    record = record_of(flows, dict.fromkeys(stores, 2.0))
    town = hl.measures(record).sel(town="down")
    assert float(town.season_effluent_share_at_intake) == pytest.approx(0.5, abs=1e-7)
    assert float(town.season_return_ratio) == pytest.approx(0.5, abs=1e-7)
    assert float(town.season_used_share) == pytest.approx(0.375 / 3, abs=1e-7)
    at_tap = hl.measures(record, gate="outfall").sel(town="down").season_used_share
    assert float(at_tap) == pytest.approx(1 / 6, abs=1e-7)


def test_salt_stays_where_used_water_leaves():
    """Half the lake's inflow evaporates: salt doubles; the used share stays .2; S becomes .4."""
    flows = [
        ("upstream", "wren/lake", "upstream", 80.0),
        ("import", "mill/mains", "import", 20.0),
        ("mill/mains", "mill/taps", "home_use", 20.0),
        ("mill/taps", "wren/lake", "outfall", 20.0),
        ("wren/lake", "sky", "evaporation", 50.0),
        ("wren/lake", "low/taps", "home_use", 1.0),
        ("low/taps", "sky", "evaporation", 1.0),
        ("wren/lake", "downstream", "downstream", 49.0),
    ]
    record = record_of(
        flows, {"wren/lake": 10.0, "mill/mains": 0.0, "mill/taps": 0.0, "low/taps": 0.0}
    )
    town = hl.measures(record).sel(town="low").isel(time=-1)
    assert float(town.used_share) == pytest.approx(0.2, abs=1e-7)
    assert float(town.return_ratio) == pytest.approx(20 / 50, abs=1e-7)
    salt = trace(record, inflow={"upstream": 3.0, "import": 3.0}, carries={"evaporation": 0.0})
    lake = salt["label"].sel(store="wren/lake").isel(edge=-1)
    assert float(lake) == pytest.approx(3.0 * 100 / 50, abs=1e-6)


def test_return_flow_that_piles_up_has_no_ratio():
    """A lake that only evaporates keeps all that was returned: no ratio, but the town has f."""
    flows = [
        ("import", "mill/mains", "import", 4.0),
        ("mill/mains", "mill/taps", "home_use", 5.0),
        ("mill/taps", "wren/lake", "outfall", 5.0),
        ("wren/lake", "mill/mains", "intake", 1.0),
        ("upstream", "wren/lake", "upstream", 5.0),
        ("wren/lake", "sky", "evaporation", 9.0),
    ]
    record = record_of(flows, {"wren/lake": 10.0, "mill/mains": 1.0, "mill/taps": 0.0})
    town = hl.measures(record).sel(town="mill")
    assert town.return_ratio.isnull().all()
    # u = used share of the lake: 10 u = 5 from the town, whatever the home had before.
    assert np.abs(town.used_share - 0.5 / 5).max() <= 1e-7
