"""Laws of `because`: the parts of used water are its whole, whatever the record."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from hypothesis import given, settings
from hypothesis import strategies as st
from random_records import random_record
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.tracing import because, count_uses, operator, used_parts
from hydroloop.tracing.returning import RETURNS, users_of, ways_of

SEEDS = st.integers(0, 2**32 - 1)
PAST = st.sampled_from(["repeat", "steady", "none"])
KINDS = ("river", "outfall", "overflow", "leak", "reclaimed", "baseflow", "release", "home_use")


def returning_record(seed, **shape):
    """A random record in which used water comes back by every way."""
    rng = np.random.default_rng(seed)
    record = random_record(int(rng.integers(2**31)), **shape)
    kinds = record["kind"].values.astype(object)
    inner = (
        record["source"].isin(record["store"]).values
        & record["target"].isin(record["store"]).values
        & (kinds != "home_use")
    )
    kinds[inner] = rng.choice(KINDS, inner.sum())
    record = record.assign(kind=("flow", kinds.astype(str), record["kind"].attrs))
    before = rng.dirichlet([3, 1, 1], record.sizes["flow"])[:, 1:]
    outer = ~record["source"].isin(record["store"]).values
    record["used_before"] = (("flow", "earlier_use"), before * outer[:, None])
    record = record.assign_coords(earlier_use=[1, 2])
    assert_closes(record)
    return record


RECORDS = st.builds(
    returning_record,
    SEEDS,
    stores=st.integers(1, 8),
    steps=st.integers(1, 10),
    days=st.sampled_from([0.25, 1.0, 30.0]),
    members=st.sampled_from([0, 0, 3]),
)


def whole_of(parts, by):
    """Sum of the parts, shape (edge, store, member)."""
    split, names = parts.split(by)
    assert (split >= 0).all()
    return split.sum(axis=tuple(range(len(names))))


def assert_same(ours, expected):
    """Equal to 1e-12."""
    assert np.abs(ours - expected).max(initial=0.0) <= 1e-12


@settings(max_examples=60, deadline=None)
@given(RECORDS, PAST, st.sampled_from([1, 5, 12]))
def test_parts_sum_to_the_used_share(record, past, most):
    """By town, use or way, at every store and edge, for every member: f of `count_uses`."""
    op = operator(record)
    parts = used_parts(op, np.arange(len(op.stores)), None, most=most, warm_up=past)
    counted = count_uses(op, most=most, warm_up=past)
    never, unknown = (
        part.values.reshape(parts.user.shape[1:])
        for part in (counted["share"].sel(use=0), counted["unknown"])
    )
    held = counted["has_water"].values.reshape(never.shape)
    assert_same(parts.apart("never"), never)
    assert_same(parts.apart("unknown"), unknown)
    used = np.where(held, 1.0 - never - unknown, 0.0)
    for by in (["town"], ["use"], ["way"], ["town", "use"], ["way", "town"]):
        assert_same(whole_of(parts, by), used)


@settings(max_examples=25, deadline=None)
@given(SEEDS)
def test_parts_of_random_towns_sum_to_the_used_share(seed):
    """A town with reuse, on-site systems, leaks and a small reservoir, by every ready gate."""
    rng = np.random.default_rng(seed)
    changes = {
        "town.larkmill.people": float(rng.integers(2_000, 90_000)),
        "town.larkmill.homes.septic": float(rng.choice([0.0, 0.3])),
        "town.larkmill.mains.real_losses": float(rng.uniform(0.0, 0.3)),
    }
    record = hl.simulate(one_town().changed(changes))
    for gate in ("home", "home-or-workplace", "toilet", "wastewater-plant"):
        found = because(record, at="larkmill/mains", gate=gate, by=["town", "way"])
        used = count_uses(record, gate=gate).sel(store="larkmill/mains").isel(edge=slice(1, None))
        f = used["share"].isel(use=slice(1, None)).sum("use").values
        assert_same(found["share"].sum(["used_in", "way"]).values, f)


@settings(max_examples=40, deadline=None)
@given(SEEDS, st.integers(1, 6), st.integers(1, 8))
def test_labels_are_those_of_a_walk_through_stores_and_ways(seed, stores, steps):
    """The same from one dense system a step, in which a drop's state is its store and its way.

    Other than in the kernel no town is summed first: each way is fed by every other way.
    """
    record = returning_record(seed, stores=stores, steps=steps)
    op = operator(record)
    parts = used_parts(op, np.arange(stores), None, warm_up="none")
    expected = _by_states(op, len(parts.towns))
    assert np.abs(parts.way[..., 0] - expected).max(initial=0.0) <= 1e-10


def _by_states(op, towns):
    """Parts of each town by way, (way, town, edge, store)."""
    count, n = len(RETURNS) + 1, len(op.stores)
    users, way = users_of(op, np.array(op.kinds) == "home_use"), ways_of(op)
    town_of = [list(dict.fromkeys(users.town)).index(name) for name in users.town]
    found = np.zeros((count, towns, op.shape[0] + 1, n))
    for t, days in enumerate(op.water.days):
        matrix = np.zeros((count, n, count, n))
        given = found[:, :, t] * op.water.volume[t, :, 0]
        for w in range(count):
            matrix[w, range(n), w, range(n)] = op.water.volume[t + 1, :, 0]
        for flow, rate in enumerate(op.water.rate[t, :, 0] * days):
            source, target, user = op.source[flow], op.target[flow], users.of_flow[flow]
            for w in range(count):
                if source >= 0:
                    matrix[w, source, w, source] += rate
                if source >= 0 and target >= 0 and user < 0:
                    to = w if way[flow] < 0 else way[flow] + 1
                    matrix[to, target, w, source] -= rate
            if user >= 0 and target >= 0:
                given[way[flow] + 1, town_of[user], target] += rate
        square = matrix.reshape(count * n, count * n)
        wet = np.abs(np.diagonal(square)) > 1e-200
        solved = np.zeros((count * n, towns))
        right = given.transpose(0, 2, 1).reshape(count * n, towns)
        solved[wet] = np.linalg.solve(square[np.ix_(wet, wet)], right[wet])
        found[:, :, t + 1] = solved.reshape(count, n, towns).transpose(0, 2, 1)
    return found


@pytest.mark.parametrize("past", ["repeat", "steady", "none"])
def test_members_are_single_runs(past):
    """Every member has the parts that it has alone; counts settle together, to 1e-8."""
    record = returning_record(5, stores=8, steps=12, members=9)
    op = operator(record)
    whole = used_parts(op, np.arange(8), None, warm_up=past)
    for member in range(9):
        alone = operator(record.isel(member=member, drop=True))
        single = used_parts(alone, np.arange(8), None, warm_up=past)
        assert np.allclose(whole.way[..., member], single.way[..., 0], rtol=0, atol=1e-8)
        assert np.allclose(whole.user[..., member], single.user[..., 0], rtol=0, atol=1e-8)
