"""Materials against closed forms: loops that gain salt, tanks in which chlorine decays, filters."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from random_records import random_record

from hydroloop.errors import AskError
from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import Material, trace_material


def steady(stores, flows, volume, steps=3):
    """A record of constant volumes and rates; flows are (source, target, kind, rate)."""
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(stores, source, target, kind)
    return build_record(
        network, edges_of("2031-01-01", steps), [volume] * (steps + 1), [rate] * steps
    )


@pytest.mark.parametrize(("rho", "gain"), [(0.2, 66.25), (0.5, 265.0), (0.8, 1060.0)])
def test_salt_in_a_loop_gains_dc_rho_over_one_minus_rho(rho, gain):
    """A home draws rho of its water from its own return and adds 265 mg/L: the tap gains
    dC rho / (1 - rho), from c = (1 - rho) c0 + rho (c + dC)."""
    record = steady(
        ["tap", "home"],
        [
            ("upstream", "tap", "upstream", 100 * (1 - rho)),
            ("tap", "home", "home_use", 100.0),
            ("home", "tap", "reclaimed", 100 * rho),
            ("home", "downstream", "outfall", 100 * (1 - rho)),
        ],
        [10.0, 10.0],
    )
    found = trace_material(record, Material(inflow=40.0, added={"home_use": 265.0}))
    tap = found["concentration"].isel(edge=-1).sel(store="tap")
    assert float(tap) == pytest.approx(40.0 + gain, abs=1e-5)
    assert float(np.abs(found["gap"]).max()) <= 1e-12


def test_chlorine_in_a_mixed_tank():
    """A dose C0 into a tank with turnover time tau and decay k leaves C0 / (1 + k tau)."""
    record = steady(
        ["tank"],
        [("upstream", "tank", "supply", 20.0), ("tank", "downstream", "supply", 20.0)],
        [30.0],
    )
    dosed = Material(added={"upstream > tank": 2.0}, decay={"tank": 0.55})
    found = trace_material(record, dosed)["concentration"].isel(edge=-1, store=0)
    assert float(found) == pytest.approx(2.0 / (1.0 + 0.55 * 1.5), abs=1e-9)


def test_steps_in_a_row_let_through_the_product_of_what_each_lets_through():
    """Settling that catches 70 % and filters that catch 98 % leave 0.3 x 0.02 of the particles."""
    record = steady(
        ["settling", "filters", "clearwell"],
        [
            ("upstream", "settling", "intake", 50.0),
            ("settling", "filters", "treatment", 50.0),
            ("filters", "clearwell", "treatment", 50.0),
            ("clearwell", "downstream", "supply", 50.0),
        ],
        [8.0, 1.0, 5.0],
    )
    removed = {"settling > filters": 0.70, "filters > clearwell": 0.98}
    found = trace_material(record, Material(inflow=25.0, removed=removed))
    clear = found["concentration"].isel(edge=-1).sel(store="clearwell")
    assert float(clear) == pytest.approx(25.0 * 0.3 * 0.02, abs=1e-9)
    caught = found["caught"].isel(time=-1)
    assert float(caught.sel(flow="settling > filters")) == pytest.approx(0.7 * 25.0 * 50.0)
    assert float(caught.sum() + found["left"][-1]) == pytest.approx(25.0 * 50.0)


def test_evaporation_concentrates_salt():
    """A pond that evaporates a fifth of its inflow holds C / (1 - 0.2)."""
    record = steady(
        ["pond"],
        [
            ("upstream", "pond", "upstream", 10.0),
            ("pond", "sky", "evaporation", 2.0),
            ("pond", "downstream", "downstream", 8.0),
        ],
        [5.0],
    )
    salt = Material(inflow=100.0, carries={"evaporation": 0.0})
    found = trace_material(record, salt)["concentration"].isel(edge=-1, store=0)
    assert float(found) == pytest.approx(125.0, abs=1e-6)


@settings(max_examples=30, deadline=None)
@given(seed=st.integers(0, 10_000), share=st.floats(0.0, 1.0), decay=st.floats(0.0, 5.0))
def test_mass_closes_on_random_records(seed, share, decay):
    """In, caught, decayed, out and stored add up to 1e-12 on random networks with loops."""
    record = random_record(seed)
    store = str(record["store"].values[0])
    flows = record["flow"].values
    material = Material(
        inflow=3.0,
        added={str(flows[-1]): 2.0},
        removed={str(flows[0]): share},
        decay={store: decay},
    )
    found = trace_material(record, material, warm_up="none")
    assert float(np.abs(found["gap"]).max()) <= 1e-12
    assert float(found["concentration"].min()) >= 0.0


def test_a_share_above_one_is_refused():
    """A filter cannot catch more than all."""
    record = steady(
        ["tank"], [("upstream", "tank", "rain", 1.0), ("tank", "sky", "river", 1.0)], [1.0]
    )
    with pytest.raises(AskError, match="more than all"):
        trace_material(record, Material(removed={"rain": 1.5}))
