"""Salt stays behind where water evaporates; the mark "used" leaves with the vapour."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes, assert_conserves

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import count_uses, trace


def pond(volume, rate):
    """A pond that takes effluent and evaporates; no other flow."""
    network = Network(
        ["pond"],
        ["import", "pond", "pond"],
        ["pond", "sky", "downstream"],
        ["home_use", "evaporation", "river"],
    )
    edges = edges_of("2031-01-01", len(rate))
    record = build_record(network, edges, np.array(volume, dtype=float)[:, None], rate)
    assert_closes(record)
    return record


def test_steady_pond():
    """In 5, vapour 4, out 1: the salt is 5 times that of the inflow, and the used share is one.

    Salt: q_in c_in = q_out c, c = 5 c_in. Used: all that is in the pond has passed the gate.
    """
    record = pond([10.0] * 201, [[5.0, 4.0, 1.0]] * 200)
    salt = trace(record, 1.0, carries={"evaporation": 0.0})
    assert float(salt["label"][-1, 0]) == pytest.approx(5, abs=1e-7)
    uses = count_uses(record)
    assert_conserves(record, uses, "home_use")
    assert float(uses["share"].sel(use=1)[-1, 0]) == pytest.approx(1, abs=1e-12)


def test_salt_of_a_pond_that_falls_dry():
    """Four of water with 10 of salt each dry up: 40 stand dry, and the next 2 of water have 20.

    No step may divide by the volume of nothing.
    """
    record = pond([4, 0, 0, 2], [[0, 4, 0], [0, 0, 0], [2, 0, 0]])
    salt = trace(record, 0.0, carries={"evaporation": 0.0}, initial=10.0, warm_up="none")
    assert salt["label"].values[:, 0].tolist() == [10, 0, 0, 20]
    assert salt["dry"].values[:, 0].tolist() == [0, 40, 40, 0]
    used = count_uses(record, warm_up="none")
    assert_conserves(record, used, "home_use")
    assert used["share"].sel(use=1).values[:, 0].tolist() == [0, 0, 0, 1]


def test_salt_and_water_part_only_through_evaporation():
    """Without vapour the salt of a marked inflow is its share of the water."""
    rng = np.random.default_rng(2)
    rate = np.zeros((30, 3))
    rate[:, 0], rate[:, 2] = rng.random(30), rng.random(30)
    volume = 30 + np.concatenate([[0], np.cumsum(rate[:, 0] - rate[:, 2])])
    record = pond(volume, rate)
    salt = trace(record, 1.0, carries={"evaporation": 0.0}, warm_up="none")
    uses = count_uses(record, warm_up="none")
    assert np.abs(salt["label"] - uses["share"].sel(use=1)).max() <= 1e-12
