"""Diaries of drops are those of a plain walk with the same random numbers."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from dense_steps import Dense, town

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import count_uses, drops


class Walk:
    """One member's water, and how often it had been used: at least so often, and by class."""

    def __init__(self, record, member, gate, backward, used):
        self.dense = Dense.of(record, member)
        self.gate, self.backward, self.used = gate, backward, used or 0
        if used is not None:
            most = max(used, 12)
            uses = count_uses(record, gate, most)
            uses = uses if member is None else uses.isel(member=member)
            first = np.concatenate(
                [uses[name].values[..., 0, :].reshape(-1, 5) for name in ("share", "unknown")]
            )
            rows = np.concatenate([first, np.zeros((1, 5))])
            share = self.dense.uses(gate, most, rows)[: most + 1]
            self.least = np.flip(np.flip(share, axis=0).cumsum(axis=0), axis=0)
            self.first = first[:-1]
            self.first[0] += first[-1]
            self.enters = self.dense.entering(np.zeros_like(gate), most)[: most + 1]

    def weight(self, need, t, store, flow):
        if need <= 0:
            return 1.0
        return self.enters[need:, flow].sum() if store < 0 else self.least[need, t, store]

    def ways(self, store):
        """Flows on from a store, and where they lead to."""
        here, there = self.dense.source, self.dense.target
        if self.backward:
            here, there = there, here
        return [(flow, there[flow]) for flow in np.flatnonzero(here == store)]

    def choice(self, t, store, need, chance):
        """Number of the way that is taken, -1 if the drop stays."""
        stays = self.dense.volume[t if self.backward else t + 1, store]
        shares = [stays * self.weight(need, t, store, -1)]
        for flow, to in self.ways(store):
            behind = need - bool(self.gate[flow])
            shares.append(self.dense.moved[t, flow] * self.weight(behind, t + 1, to, flow))
        up_to = np.cumsum(shares)
        return int((up_to <= chance * up_to[-1]).sum()) - 1

    def diary(self, n, store, step, drawn):
        rows = []
        for drop in range(n):
            here, t, flow, uses = store, step, -1, 0
            rows.append((drop, t, here, flow, uses))
            while here >= 0 and 0 <= t < len(self.dense.days):
                way = self.choice(t, here, self.used - uses, drawn.random())
                if way < 0:
                    t += -1 if self.backward else 1
                    continue
                flow, here = self.ways(here)[way]
                uses += bool(self.gate[flow])
                rows.append((drop, t, here, flow, uses))
        return rows

    def before(self, rows, n, drawn):
        """Uses of each drop before the record or above it."""
        ends = [[row for row in rows if row[0] == drop][-1] for drop in range(n)]
        found = []
        for (_, _, store, flow, uses), chance in zip(ends, drawn.random(n), strict=True):
            share = (self.first[:, store] if store >= 0 else self.enters[:, flow]).copy()
            share[: max(self.used - uses, 0)] = 0.0
            up_to = share.cumsum()
            found.append(int((up_to <= chance * up_to[-1]).sum()))
        return [found[row[0]] for row in rows]


def assert_same(record, table, members, n, begin, walk, seed):
    """The table has the rows of the plain walk of each member, one after the other."""
    names, outside = (
        record["store"].values,
        np.where(
            np.isin(record["source"].values, record["store"].values),
            record["target"].values,
            record["source"].values,
        ),
    )
    at = 0
    for number, member in enumerate(members):
        drawn = np.random.default_rng([seed, number])
        plain = Walk(record, member, *walk)
        rows = plain.diary(n, *begin, drawn)
        mine = table.iloc[at : at + len(rows)]
        at += len(rows)
        drop, step, store, flow, uses = map(list, zip(*rows, strict=True))
        assert mine["drop"].tolist() == drop
        assert mine["step"].tolist() == step
        assert (mine["date"].values == record["edge"].values[step]).all()
        where = [names[s] if s >= 0 else outside[f] for s, f in zip(store, flow, strict=True)]
        assert mine["store"].tolist() == where
        took = [record["flow"].values[f] if f >= 0 else "" for f in flow]
        assert mine["flow"].tolist() == took
        assert mine["uses"].tolist() == uses
        if member is not None:
            assert (mine["member"] == record["member"].values[member]).all()
        if walk[2] is not None:
            assert mine["before"].tolist() == plain.before(rows, n, drawn)
    assert at == len(table)


@pytest.mark.parametrize("members", [[None], [0, 1]])
@pytest.mark.parametrize(("backward", "used"), [(False, None), (True, None), (True, 0), (True, 2)])
def test_the_same_random_numbers_give_the_same_walk(members, backward, used):
    """Forward and back, whatever the past and of drops that were used twice or more."""
    record = town(3, members=0 if members == [None] else 2)
    assert_closes(record)
    gate = record["kind"].values == "home_use"
    for store, step, seed in ((1, 3, 1), (3, 1, 8)):
        table = drops(
            record,
            n=15,
            at=record["store"].values[store],
            on=record["time"].values[step],
            seed=seed,
            backward=backward,
            used=used,
        )
        walk = (gate, backward, used)
        assert_same(record, table, members, 15, (store, step), walk, seed)


@pytest.mark.parametrize("backward", [False, True])
def test_a_drop_that_goes_round_very_often(backward):
    """More moves than there was room for at first: two stores without volume hand 99 of 100 on."""
    network = Network(
        ["a", "b"],
        ["rain", "a", "b", "b"],
        ["a", "b", "a", "sky"],
        ["rain", "home_use", "river", "evaporation"],
    )
    record = build_record(
        network, edges_of("2031-01-01", 1), [[0, 0]] * 2, [[1.0, 500.0, 499.0, 1.0]]
    )
    assert_closes(record)
    gate = record["kind"].values == "home_use"
    table = drops(record, n=3, at="a", on="2031-01-01", backward=backward)
    assert len(table) > 3 * 64
    assert_same(record, table, [None], 3, (0, 0), (gate, backward, None), 1)
