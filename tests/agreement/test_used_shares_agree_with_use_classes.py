"""The used share followed as one label, and as the sum of the use classes from one use on."""

from __future__ import annotations

import numpy as np
import pytest
from random_records import random_record

import hydroloop as hl
from hydroloop.record import flow_mask
from hydroloop.tracing import count_uses, operator, used_shares
from hydroloop.tracing.warm_up import WAYS


def check_agree(record, gates, way, atol):
    """Both routes, for every gate and in every store."""
    op = operator(record)
    above = [True] * len(gates)
    found = used_shares(op, np.arange(len(op.stores)), gates, above, warm_up=way)
    for gate, share in zip(gates, found, strict=True):
        classes = count_uses(op, gate, most=2, warm_up=way)["share"].values[1:].sum(axis=0)
        assert np.allclose(share.reshape(classes.shape), classes, rtol=0, atol=atol)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("seed", range(12))
def test_in_random_networks(seed, way):
    """Loops, stores that run empty, gates over a boundary."""
    record = random_record(seed, stores=6, steps=20)
    rng = np.random.default_rng(seed)
    gates = rng.random((2, record.sizes["flow"])) < 0.3
    check_agree(record, gates, way, 4e-9)


def test_with_slow_groundwater_snow_and_uses_above_the_map():
    """A town, of whose inflow a part was used before."""
    town = hl.read_scenario("first_town").changed({"season.end": "2032-05-31"})
    record = hl.simulate(town.changed({"river.wren.used_before": "20 %"}))
    gates = [flow_mask(record, kind=kind) for kind in ("home_use", "outfall")]
    check_agree(record, gates, "repeat", 4e-9)
