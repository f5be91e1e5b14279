"""A label and a material in a small town come to what dense matrices say."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from dense_steps import Dense, town

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import Material, trace, trace_material

INFLOW = {"upstream": 3.0, "rain": 0.5}
ADDED = {"outfall": 20.0, "intake": 1.5, "import": 2.0}
CARRIES = {"evaporation": 0.25, "leak": 0.5}
REMOVED = {"intake": 0.4, "leak": 0.1, "river": 0.7}


def per_flow(record, given, usual=0.0):
    """Amounts by flow: kinds, or the boundary `import` that a flow leaves."""
    found = np.full(12, usual)
    for name, amount in given.items():
        found[(record["kind"].values == name) | (record["source"].values == name)] = amount
    return found


def named(record, given):
    """The same with names of flows in place of a boundary."""
    elm = "import > elm/workplaces"
    return {elm if name == "import" else name: amount for name, amount in given.items()}


def steps_of(dense, record, first, decay=None, removed=None):
    """Labels and what is dry at every edge."""
    outside = dense.source < 0
    brings = per_flow(record, ADDED) + outside * per_flow(record, INFLOW)
    carries = per_flow(record, CARRIES, 1.0)
    through = 1.0 - (0.0 if removed is None else per_flow(record, removed))
    label, dry = [first], [np.zeros(5)]
    for t in range(len(dense.days)):
        amount = dense.volume[t] * label[-1] + dry[-1] + dense.given(t, brings)
        if decay is None:
            found = dense.solve(t, amount, through * dense.every, carries)
        else:  # as one more flow out of each store
            more = dense.days[t] * decay[t] * dense.volume[t + 1]
            wide = Dense(
                dense.volume,
                np.tile([*dense.moved[t], *more], (len(dense.days), 1)),
                dense.days,
                np.append(dense.source, np.arange(5)),
                np.append(dense.target, np.full(5, -1)),
                dense.before,
            )
            ones = np.ones(5)
            found = wide.solve(t, amount, np.append(through, ones), np.append(carries, ones))
        label.append(found[0])
        dry.append(found[1])
    return np.array(label), np.array(dry)


@pytest.mark.parametrize("members", [0, 2, 9])
@pytest.mark.parametrize("warm_up", ["none", "repeat"])
def test_a_label(members, warm_up):
    """Concentrations, and those in all that leaves a store, with vapour that carries a quarter."""
    record = town(11, members=members)
    assert_closes(record)
    found = trace(
        record,
        named(record, INFLOW),
        injection=named(record, ADDED),
        carries=CARRIES,
        initial=5.0,
        warm_up=warm_up,
    )
    carries = per_flow(record, CARRIES, 1.0)
    for k in sorted({0, max(0, members - 1)}):
        dense = Dense.of(record, k if members else None)
        mine = found.isel(member=k) if members else found
        first = np.full(5, 5.0)
        for _ in range(40 if warm_up == "repeat" else 0):
            first = steps_of(dense, record, first)[0][-1]
        label, _ = steps_of(dense, record, first)
        label[0, 0] = 0.0
        assert np.abs(mine["label"].values - label).max() <= 1e-6 * label.max()
        out = np.zeros((2, 4, 5))
        for flow in np.flatnonzero(dense.source >= 0):
            out[:, :, dense.source[flow]] += [
                dense.moved[:, flow] * carries[flow],
                dense.moved[:, flow],
            ]
        assert np.abs(mine["leaving"].values - label[1:] * out[0] / out[1]).max() <= 1e-4


@pytest.mark.parametrize("members", [0, 2])
@pytest.mark.parametrize("warm_up", ["none", "repeat"])
def test_a_material(members, warm_up):
    """Concentration, what is caught, enters, leaves, decays and is stored, step by step."""
    record = town(12, members=members)
    assert_closes(record)
    many = max(1, members)
    decay = np.zeros((4, 5, many))
    decay[:, 1] = 0.3
    decay[:, 2] = np.array([0.0, 0.2, 0.0, 1.0])[:, None]
    given = {"wren/reach": 0.3, "ash/groundwater": decay[:, 2, 0], "ash/homes": 5.0}
    if members:
        decay[:, 3] = np.arange(8.0).reshape(4, 2) / 10
        given["ash/mains"] = decay[:, 3]
    material = Material(
        inflow=named(record, INFLOW),
        added=named(record, ADDED),
        removed=REMOVED,
        carries=CARRIES,
        decay=given,
    )
    found = trace_material(record, material, warm_up=warm_up)
    assert np.abs(found["gap"].values).max() <= 1e-12
    carries, removed = per_flow(record, CARRIES, 1.0), per_flow(record, REMOVED)
    for k in range(many):
        dense = Dense.of(record, k if members else None)
        mine = found.isel(member=k) if members else found
        first = np.zeros(5)
        for _ in range(40 if warm_up == "repeat" else 0):
            first = steps_of(dense, record, first, decay[..., k], REMOVED)[0][-1]
        label, _ = steps_of(dense, record, first, decay[..., k], REMOVED)
        label[0, 0] = 0.0
        near = {"abs": 1e-9 if warm_up == "none" else 1e-5}
        assert mine["concentration"].values == pytest.approx(label, **near)
        inside, over = dense.source >= 0, dense.target < 0
        rate = dense.moved / dense.days[:, None]
        flow = np.where(inside, carries * rate * label[1:, dense.source], 0.0)
        assert mine["caught"].values == pytest.approx(flow * removed * ~over, **near)
        assert mine["left"].values == pytest.approx(flow[:, over].sum(axis=1), **near)
        brings = per_flow(record, ADDED) + ~inside * per_flow(record, INFLOW)
        entered = (rate * brings)[:, ~over].sum(axis=1)
        assert mine["entered"].values == pytest.approx(entered, rel=1e-12)
        gone = decay[..., k] * dense.volume[1:] * label[1:]
        assert mine["decayed"].values == pytest.approx(gone, **near)
        stored = (dense.volume * label).sum(axis=1)
        assert mine["stored"].values == pytest.approx(stored, **near)


def test_salt_of_a_pan_that_dries_and_fills_again():
    """Two days of 3 m3 with 10 g/m3 dry up, the salt stays, and 4 m3 of rain take it up.

    20 g stand in 2 m3 that the first day's sky takes with 1 m3 of rain; dry are 20 g; of the second
    day's 4 m3 half evaporate: 20 g in 2 m3 are 10 g/m3. The third day half of them leave with the
    brine: 20 g in 1 + 1 m3 are 10 g/m3, and 10 g stay.
    """
    pan = Network(
        ["pan"],
        ["rain", "pan", "pan"],
        ["pan", "sky", "downstream"],
        ["rain", "evaporation", "river"],
    )
    record = build_record(
        pan,
        edges_of("2031-01-01", 3),
        [[2.0], [0.0], [2.0], [1.0]],
        [[1.0, 3.0, 0.0], [4.0, 2.0, 0.0], [0.0, 0.0, 1.0]],
    )
    assert_closes(record)
    found = trace(record, carries={"evaporation": 0.0}, initial=10.0, warm_up="none")
    assert found["label"].values[:, 0] == pytest.approx([10.0, 0.0, 10.0, 10.0])
    assert found["dry"].values[:, 0] == pytest.approx([0.0, 20.0, 0.0, 0.0])
    assert found["leaving"].values[:, 0] == pytest.approx([0.0, 0.0, 10.0])
    mass = trace_material(
        record, Material(inflow={"rain": 6.0}, carries={"evaporation": 0.0}), warm_up="none"
    )
    # 6 g of the first day's rain stay dry; the second day brings 24 g more; half of 30 g leave.
    assert mass["stored"].values == pytest.approx([0.0, 6.0, 30.0, 15.0])
    assert mass["entered"].values == pytest.approx([6.0, 24.0, 0.0])
    assert mass["left"].values == pytest.approx([0.0, 0.0, 15.0])
    assert mass["gap"].values == pytest.approx([0.0, 0.0, 0.0])
