"""Parts of used water in a small town, by user and by way, come to what dense matrices say."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from dense_steps import Dense, handed_on, town

from hydroloop.tracing import because, find_gate, operator, used_parts
from hydroloop.tracing.returning import users_of, ways_of

TIGHT = 1e-12
# Way that each flow of the town sets, -1 for none: a leak into the ground is way 3, an overflow 4,
# an outfall to the river 0.
WAY = np.array([-1, -1, 3, -1, -1, -1, -1, -1, -1, 4, -1, 0])
WAYS = ["not returned", "river", "reclaimed to plant", "reclaimed to reservoir", "ground"]
OUTSIDE = ["above the map", "not known"]
# gate: towns and end uses of its users, and the user of each flow
GATES = {
    "home": (("ash", "elm"), ("homes", "workplaces"), [-1, 0, *[-1] * 6, 1, -1, 1, -1]),
    "wastewater-plant": (("ash",), ("outfall",), [*[-1] * 11, 0]),
}


@pytest.fixture(params=GATES)
def gate(request):
    return request.param


@pytest.fixture(scope="module")
def record():
    """Two members of the town."""
    made = town(7, members=2)
    assert_closes(made)
    return made


class Parts:
    """Labels of users, then used above, untold, never and unknown; and towns by way."""

    def __init__(self, dense, gate):
        towns, _, of_flow = GATES[gate]
        self.dense, self.users, self.of_flow = dense, len(towns), np.array(of_flow)
        self.gate = self.of_flow >= 0
        self.marks = (WAY >= 0) & ~self.gate
        enters = (dense.source < 0) & ~self.gate
        self.brings = np.zeros((self.users + 4, len(WAY)))
        for user in range(self.users):
            self.brings[user] = self.of_flow == user
        self.brings[-4] = enters * dense.before[:, 1:].sum(axis=1)
        self.brings[-2] = enters * dense.before[:, 0]
        self.begins = np.zeros((6, self.users, len(WAY)))
        for flow in np.flatnonzero(self.gate):
            self.begins[WAY[flow] + 1, self.of_flow[flow], flow] = 1.0

    def step(self, t, user, way):
        held, dense = self.dense.volume[t], self.dense
        labels = [
            dense.solve(t, held * old + dense.given(t, brings), ~self.gate)[0]
            for old, brings in zip(user, self.brings, strict=True)
        ]
        ways = np.zeros_like(way)
        for w in range(6):
            sets = self.marks & (w == WAY + 1)
            for n in range(self.users):
                brings = self.begins[w, n] + sets * labels[n][dense.source]
                given = held * way[w, n] + dense.given(t, brings)
                ways[w, n] = dense.solve(t, given, ~(self.gate | self.marks))[0]
        return np.array(labels), ways

    def steady(self):
        """Labels that the mean flows for ever come to; every store is fed."""
        dense = self.dense
        mean = dense.moved.sum(axis=0) / dense.days.sum()

        def solved(brings, through):
            matrix, given = np.zeros((5, 5)), np.zeros(5)
            for flow in np.flatnonzero(dense.target >= 0):
                a, b = dense.source[flow], dense.target[flow]
                matrix[b, b] += mean[flow]
                given[b] += mean[flow] * brings[flow]
                if a >= 0 and through[flow]:
                    matrix[b, a] -= mean[flow]
            return np.linalg.solve(matrix, given)

        user = np.array([solved(brings, ~self.gate) for brings in self.brings])
        way = np.zeros((6, self.users, 5))
        for w in range(6):
            for n in range(self.users):
                sets = self.marks & (w == WAY + 1)
                brings = self.begins[w, n] + sets * user[n][dense.source]
                way[w, n] = solved(brings, ~(self.gate | self.marks))
        return user, way

    def all_steps(self, user, way):
        edges = [(user, way)]
        for t in range(len(self.dense.moved)):
            edges.append(self.step(t, *edges[-1]))
        return [np.stack(part, axis=-2) for part in zip(*edges, strict=True)]

    def begun(self, warm_up):
        user, way = np.zeros((self.users + 4, 5)), np.zeros((6, self.users, 5))
        if warm_up == "none":
            user[-1] = 1.0
            return user, way
        user, way = self.steady()
        if warm_up == "repeat":
            for _ in range(30):
                user, way = (part[..., -1, :] for part in self.all_steps(user, way))
        return user, way


def test_users_and_ways(record, gate):
    """A use is in the place that a flow enters, or leaves if it leaves a plant."""
    op = operator(record)
    users = users_of(op, find_gate(op, gate))
    assert (users.town, users.use, users.of_flow.tolist()) == GATES[gate]
    assert ways_of(op).tolist() == WAY.tolist()


@pytest.mark.parametrize("warm_up", ["none", "steady", "repeat"])
def test_labels_at_every_edge(record, gate, warm_up):
    """Of all users and ways, in all stores; with the past as `warm_up` says."""
    op = operator(record)
    found = used_parts(op, np.arange(5), gate, warm_up=warm_up)
    tolerance = 1e-7 if warm_up == "repeat" else TIGHT
    for member in range(2):
        parts = Parts(Dense.of(record, member), gate)
        user, way = parts.all_steps(*parts.begun(warm_up))
        user[:, 0, 0] = way[..., 0, 0] = 0.0  # no water stands in the homes
        assert np.abs(found.user[..., member] - user).max() <= tolerance
        assert np.abs(found.way[..., member] - way).max() <= tolerance


def test_of_slow_groundwater(gate):
    """Labels that the year ends with as it began, where what leaks in stays for years."""
    record = town(7, deep=3000.0)
    op = operator(record)
    parts = Parts(Dense.of(record), gate)
    users = parts.users

    def year(labels):
        way = labels[users + 4 :].reshape(6, users, 5)
        after = [part[..., -1, :] for part in parts.all_steps(labels[: users + 4], way)]
        return np.concatenate([after[0], after[1].reshape(-1, 5)])

    expected = handed_on(year, (7 * users + 4, 5))
    user, way = expected[: users + 4], expected[users + 4 :].reshape(6, users, 5)
    user[:, 0] = way[..., 0] = 0.0  # no water stands in the homes
    found = used_parts(op, np.arange(5), gate, warm_up="repeat")
    assert np.abs(found.user[:, 0, :, 0] - user).max() <= 1e-7
    assert np.abs(found.way[:, :, 0, :, 0] - way).max() <= 1e-7
    assert found.way[:, :, 0, 2].sum() > 0.01  # of the groundwater


def test_a_flow_of_the_gate_over_the_boundary(record):
    """What leaves the record from a user is used no more: the parts stay as they are."""
    op = operator(record)
    kinds = record["kind"].values
    for warm_up in ("none", "steady"):
        one, other = (
            used_parts(op, np.arange(5), mask, warm_up=warm_up)
            for mask in (kinds == "home_use", (kinds == "home_use") | (kinds == "evaporation"))
        )
        assert other.users.town == ("ash", "elm")
        assert np.abs(one.user - other.user).max() <= TIGHT
        assert np.abs(one.way - other.way).max() <= TIGHT


def test_of_a_single_store(record, gate):
    """Parts of one store are those of it among all."""
    op = operator(record)
    every = used_parts(op, np.arange(5), gate, warm_up="steady")
    one = used_parts(op, np.array([3, 1]), gate, warm_up="steady")
    assert (one.user == every.user[:, :, [3, 1]]).all()
    assert (one.way == every.way[:, :, :, [3, 1]]).all()


def test_parts_by_name(record, gate):
    """Parts by town, use, way and two of them, each where its names say, in any order of both."""
    op = operator(record)
    towns, uses, _ = GATES[gate]
    found = used_parts(op, np.array([1]), gate, warm_up="steady")
    above, untold = (found.apart(name) for name in ("above", "untold"))
    by_town, names = found.split(["town"])
    assert names == {"used_in": [*towns, *OUTSIDE]}
    assert np.abs(by_town[:-2] - found.user[: len(towns)]).max() <= TIGHT
    assert (by_town[-2] == above).all()
    assert (by_town[-1] == untold).all()
    both, names = found.split(["use", "town"])
    assert names == {"used_for": [*uses, *OUTSIDE], "used_in": [*towns, *OUTSIDE]}
    diagonal = np.einsum("kk...->k...", both)
    assert (diagonal == by_town).all()
    assert both.sum() == pytest.approx(diagonal.sum(), rel=1e-12)
    both, names = found.split(["way", "town"])
    rows = ["river", *WAYS[2:], "overflow", WAYS[0], *OUTSIDE]
    assert names == {"way": rows, "used_in": [*towns, *OUTSIDE]}
    assert (both[:5, : len(towns)] == found.way[1:]).all()
    assert (both[5, : len(towns)] == found.way[0]).all()
    assert (both[6, -2] == above).all()
    assert (both[7, -1] == untold).all()
    assert both.sum() == pytest.approx(by_town.sum(), rel=1e-12)


@pytest.mark.parametrize("by", ["town", "use", "way", ["town", "way"]])
def test_because_of_a_glass(record, gate, by):
    """On one date, on two or on all: the parts at the end of the step."""
    op, times = operator(record), record["time"].values
    traced = used_parts(op, np.array([1]), gate, warm_up="none")
    split, names = traced.split([by] if isinstance(by, str) else by)
    expected = np.moveaxis(split[..., 1:, 0, :], -2, 0)
    every = because(op, at="wren/reach", by=by, gate=gate, warm_up="none")
    assert (every["share"].values == expected).all()
    assert every["share"].dims == ("on", *names, "member")
    assert (every["on"].values == times).all()
    some = because(op, at="wren/reach", on=[times[2], times[0]], by=by, gate=gate, warm_up="none")
    assert (some["share"].values == expected[[2, 0]]).all()
    assert (some["never"].values == traced.apart("never")[[3, 1], 0]).all()
    assert (some["unknown"].values == traced.apart("unknown")[[3, 1], 0]).all()
    one = because(op, at="wren/reach", on=times[2], by=by, gate=gate, warm_up="none")
    assert (one["share"].values == expected[2]).all()
