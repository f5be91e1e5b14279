"""Every question about a town of five stores and four steps comes to what dense matrices say."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes, assert_conserves
from dense_steps import Dense, handed_on, town

from hydroloop.record import BOUNDARIES
from hydroloop.tracing import (
    age_distribution,
    ages,
    count_uses,
    fates,
    find_gate,
    follow,
    last_use,
    operator,
)

RECORDS = {members: town(members + 1, members=members) for members in (0, 2, 9)}
TIGHT = 1e-12


@pytest.fixture(params=RECORDS)
def record(request):
    """One run, two members, and more members than stand side by side at once."""
    assert_closes(RECORDS[request.param])
    return RECORDS[request.param]


def each(record):
    """Number and dense arrays of the first and last members, and how to select their results."""
    if "member" not in record.dims:
        return [(0, Dense.of(record), lambda found: found)]
    return [
        (k, Dense.of(record, k), lambda found, k=k: found.isel(member=k))
        for k in sorted({0, 1, record.sizes["member"] - 1})
    ]


def gate_of(record):
    return record["kind"].values == "home_use"


def rows_of(uses):
    """Classes, unknown past and mean, (row, edge, store)."""
    parts = uses["share"], uses["unknown"].expand_dims("use"), uses["mean_uses"].expand_dims("use")
    return np.concatenate([part.transpose("use", "edge", "store", ...).values for part in parts])


@pytest.mark.parametrize("most", [1, 3])
def test_uses_without_a_past(record, most):
    """Classes, unknown past and mean passes at every edge; what enters has passes above it."""
    uses = count_uses(record, most=most, warm_up="none")
    assert_conserves(record, uses, "home_use")
    for _, dense, pick in each(record):
        first = np.zeros((most + 3, 5))
        first[most + 1] = 1.0
        expected = dense.uses(gate_of(record), most, first)
        found = rows_of(pick(uses))
        assert np.abs(found[:, 1:] - expected[:, 1:]).max() <= TIGHT
        assert (found[:, 0] == np.where(dense.volume[0] > 0, first, 0.0)).all()


def test_uses_in_the_steady_state_of_mean_flows(record):
    """The first labels are those of the mean flows, each step as long as it is."""
    uses = count_uses(record, most=2, warm_up="steady")
    assert uses.attrs == {"warm_up_change": 0.0, "warm_up_repeats": 0}
    for _, dense, pick in each(record):
        first = dense.steady_uses(gate_of(record), 2)
        expected = dense.uses(gate_of(record), 2, first)
        expected[:, 0, 0] = 0.0  # no water stands in the homes
        assert np.abs(rows_of(pick(uses)) - expected).max() <= TIGHT


def test_uses_after_repeats(record):
    """The first labels are those that the record ends with, to what is told of the repeats."""
    uses = count_uses(record, most=2)
    assert 0 < uses.attrs["warm_up_repeats"] < 40
    assert uses.attrs["warm_up_change"] <= 1e-9
    for _, dense, pick in each(record):
        labels = dense.steady_uses(gate_of(record), 2)
        for _ in range(40):
            labels = dense.uses(gate_of(record), 2, labels)[:, -1]
        expected = dense.uses(gate_of(record), 2, labels)
        expected[:, 0, 0] = 0.0
        assert np.abs(rows_of(pick(uses)) - expected).max() <= 1e-8


@pytest.mark.parametrize("most", [1, 3])
@pytest.mark.parametrize("deep", [40.0, 3000.0])
def test_uses_with_slow_groundwater(most, deep):
    """Labels that the year ends with as it began, in a few repeats where water stays for years."""
    record = town(4, deep=deep)
    uses = count_uses(record, most=most)
    assert 2 <= uses.attrs["warm_up_repeats"] < 30
    dense = Dense.of(record)
    expected = handed_on(lambda x: dense.uses(gate_of(record), most, x)[:, -1], (most + 3, 5))
    expected[:, 0] = 0.0
    assert np.abs(rows_of(uses)[:, 0] - expected).max() <= 1e-7


def test_a_parcel_step_by_step(record):
    """Shares by passes and place at the end of every step, from the first and the second on."""
    outside = {name: k + 5 for k, name in enumerate(BOUNDARIES)}
    for store, step, most in ((1, 0, 2), (0, 1, 1), (3, 3, 3)):
        name = record["store"].values[store]
        on = record["time"].values[step]
        found = follow(record, at=name, on=on, most=most, steps=True)
        assert (found["edge"].values == record["edge"].values[step + 1 :]).all()
        assert found.attrs["released"] == str(on)[:10]
        for _, dense, pick in each(record):
            stands, left = dense.parcel(gate_of(record), most, (store, step))
            expected = np.zeros((most + 1, stands.shape[1], 5 + len(BOUNDARIES)))
            expected[..., :5] = stands
            for flow in np.flatnonzero(dense.target < 0):
                expected[..., outside[record["target"].values[flow]]] += left[..., flow]
            mine = pick(found)
            assert np.abs(mine["share_by_step"].values - expected).max() <= TIGHT
            assert np.abs(mine["share"].values - expected[:, -1]).max() <= TIGHT


@pytest.mark.parametrize("most", [1, 2, 4])
def test_fates_of_many_parcels(record, most):
    """Passes, their mean and the ends of several parcels; what leaves by a gate has passed it."""
    op = operator(record)
    gate = gate_of(record) | (record["target"].values == "sky")
    stores, flows = np.array([0, 1, 2, 2, 0]), np.full(12, -1)
    flows[[4, 5]] = 3, 1
    parcels = [(1, 2), (3, 0), (4, 1), (0, 3)]
    found = fates(op, gate, most, parcels, (stores, flows))
    for member, dense, _ in each(record):
        for number, begin in enumerate(parcels):
            stands, left = (part[:, -1] for part in dense.parcel(gate, 40, begin))
            by_use = stands.sum(axis=1) + left.sum(axis=1)
            by_end = np.bincount(stores, stands.sum(axis=0), 4)
            by_end[3] += left[:, 4].sum()
            by_end[1] += left[:, 5].sum()
            first = [*by_use[:most], by_use[most:].sum()]
            assert found.by_use[number, :, member] == pytest.approx(first, abs=TIGHT)
            assert found.by_end[number, :, member] == pytest.approx(by_end, abs=TIGHT)
            mean = by_use @ np.arange(41)
            assert found.mean[number, member] == pytest.approx(mean, abs=TIGHT)


def test_last_uses_of_two_glasses(record):
    """Days since the last pass, entered and never used, used above, and what stood there."""
    gate, times = gate_of(record), record["time"].values
    for store in (1, 2):
        name = record["store"].values[store]
        both = last_use(record, at=name, on=[times[3], times[1]])
        assert both["days_ago"].values.tolist() == [0.0, 2.0, 2.5, 3.5]
        for _, dense, pick in each(record):
            for step, found in zip((3, 1), (pick(both).isel(on=k) for k in (0, 1)), strict=True):
                passed = np.zeros(4)
                never = used = 0.0
                for t in range(step + 1):
                    for flow in np.flatnonzero(gate | (dense.source < 0)):
                        share = dense.brought(t, flow, ~gate)[step + 1, store]
                        if gate[flow]:
                            passed[step - t] += share
                        else:
                            never += share * dense.before[flow, 0]
                            used += share * dense.before[flow, 1:].sum()
                assert found["share"].values == pytest.approx(passed, abs=TIGHT)
                assert float(found["never"]) == pytest.approx(never, abs=TIGHT)
                assert float(found["before_record"]) == pytest.approx(used, abs=TIGHT)
                stood = sum(dense.standing(k, ~gate)[step + 1, store] for k in range(5))
                assert float(found["unknown"]) == pytest.approx(stood, abs=TIGHT)


def test_ages_of_a_glass(record):
    """Days since it entered, by which flow, and in which store the rest stood."""
    found = age_distribution(record, at="ash/mains", on=record["time"].values[2])
    assert found["days_ago"].values.tolist() == [0.0, 0.5, 1.5]
    for _, dense, pick in each(record):
        mine = pick(found)
        by_step, by_flow = np.zeros(3), np.zeros(12)
        for t in range(3):
            for flow in np.flatnonzero(dense.source < 0):
                share = dense.brought(t, flow, dense.every)[3, 3]
                by_step[2 - t] += share
                by_flow[flow] += share
        stood = [dense.standing(k, dense.every)[3, 3] for k in range(5)]
        assert mine["share"].values == pytest.approx(by_step, abs=TIGHT)
        assert mine["by_flow"].values == pytest.approx(by_flow, abs=TIGHT)
        assert mine["by_first_store"].values == pytest.approx(stood, abs=TIGHT)
        assert float(mine["unknown"]) == pytest.approx(sum(stood), abs=TIGHT)


@pytest.mark.parametrize("warm_up", ["none", "steady", "repeat"])
def test_mean_ages(record, warm_up):
    """Each day that water stands makes it a day older; the first ages are as `warm_up` says."""
    found = ages(record, warm_up=warm_up)
    for _, dense, pick in each(record):
        first = np.zeros(5)
        if warm_up != "none":
            mean = dense.moved.sum(axis=0) / dense.days.sum()
            matrix = np.zeros((5, 5))
            for flow in np.flatnonzero(dense.target >= 0):
                matrix[dense.target[flow], dense.target[flow]] += mean[flow]
                if dense.source[flow] >= 0:
                    matrix[dense.target[flow], dense.source[flow]] -= mean[flow]
            first = np.linalg.solve(matrix, dense.days @ dense.volume[:-1] / dense.days.sum())
        for _ in range(40 if warm_up == "repeat" else 1):
            age = [first]
            for t, length in enumerate(dense.days):
                stood = dense.volume[t] * (age[-1] + length)
                age.append(dense.solve(t, stood, dense.every)[0])
            expected = np.array(age)
            if warm_up == "repeat":
                first = age[-1]
        if warm_up == "repeat":
            expected[0] = expected[-1]
        expected[0, 0] = 0.0  # the homes hold no water
        assert np.abs(pick(found)["mean_age"].values - expected).max() <= 1e-7


def test_the_usual_gate_is_that_of_homes(record):
    """Without a gate a use is a flow into homes."""
    assert find_gate(operator(record), None).tolist() == gate_of(record).tolist()
