"""Laws of the operator, over records made up at random."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes, assert_conserves, assert_whole
from hypothesis import given, settings
from hypothesis import strategies as st
from random_records import random_record

from hydroloop.tracing import ages, count_uses, follow, last_use, operator, trace

SEEDS = st.integers(0, 2**32 - 1)
RECORDS = st.builds(
    random_record,
    SEEDS,
    stores=st.integers(1, 9),
    steps=st.integers(1, 12),
    days=st.sampled_from([0.25, 1.0, 30.0]),
    members=st.sampled_from([0, 0, 2, 9]),
)
WAYS = st.sampled_from(["repeat", "steady", "none"])


@settings(max_examples=60, deadline=None)
@given(RECORDS, WAYS, st.integers(1, 5))
def test_shares_sum_to_one_and_every_class_is_accounted_for(record, way, most):
    """Constancy, positivity and conservation hold at round-off, whatever the network."""
    assert_closes(record)
    uses = count_uses(record, most=most, warm_up=way)
    assert all(np.isfinite(uses[name].values).all() for name in uses)
    assert_conserves(record, uses, "home_use")


@settings(max_examples=40, deadline=None)
@given(RECORDS, WAYS)
def test_mean_uses_is_the_mean_of_the_shares(record, way):
    """The mean of the shares is the mean carried along, or less where water was used more often."""
    uses = count_uses(record, most=60, warm_up=way)
    mean = (uses["share"] * uses["use"]).sum("use").values
    rest, carried = uses["share"].isel(use=-1).values, uses["mean_uses"].values
    told = ~np.isnan(carried)  # a past that does not settle has no mean
    assert told.all() or way != "none"
    assert (mean <= carried * (1.0 + 1e-9) + 1e-9)[told].all()
    assert (np.abs(mean - carried) <= 1e-9 + 1e3 * rest)[told & (rest < 1e-3)].all()


@settings(max_examples=40, deadline=None)
@given(RECORDS, st.floats(0.0, 1e6))
def test_a_label_that_all_water_carries_stays_what_it_is(record, amount):
    """Constancy of a general label: the same inside and in every inflow, it stays the same."""
    found = trace(record, amount, initial=amount, warm_up="none")
    held = count_uses(record, warm_up="none")["has_water"].values
    assert np.abs(found["label"].values - amount * held).max() <= 1e-11 * max(amount, 1.0)


@settings(max_examples=40, deadline=None)
@given(RECORDS, SEEDS)
def test_a_label_left_behind_is_conserved(record, seed):
    """With vapour that carries nothing, what entered is in the water, fell dry, or left."""
    rng = np.random.default_rng(seed)
    op = operator(record)
    carries, inflow = rng.choice([0.0, 0.5, 1.0], len(op.flows)), rng.random(len(op.flows))
    initial = float(rng.random())
    found = trace(op, inflow, carries=carries, initial=initial, warm_up="none")
    label, dry = (found[name].values.reshape(*op.water.volume.shape) for name in ("label", "dry"))
    moved = op.water.rate * op.water.days[:, None, None]
    held = label * op.water.volume + dry
    enters, leaves = op.source < 0, op.target < 0
    into = np.einsum("f,tfm->tm", enters * inflow, moved)
    out = np.einsum("f,tfm->tm", leaves * carries, moved * label[1:, op.source] * leaves[:, None])
    gap = np.diff(held.sum(axis=1), axis=0) - into + out
    assert np.abs(gap).max() <= 1e-11 * (1 + held.sum(axis=1).max() + into.max())
    assert (label >= 0).all()
    assert (dry >= 0).all()


@settings(max_examples=60, deadline=None)
@given(SEEDS, st.integers(1, 9), st.integers(1, 12), st.data())
def test_a_glass_looks_back_at_what_was_sent_forward(seed, stores, steps, data):
    """Share used at least once within the record: forward and backward agree to 1e-12."""
    record = random_record(seed, stores=stores, steps=steps)
    uses = count_uses(record, warm_up="none")
    step = data.draw(st.integers(0, steps - 1))
    for store in record["store"].values:
        if not uses["has_water"].sel(store=store)[step + 1]:
            continue
        ago = last_use(record, at=store, on=record["time"].values[step])
        here = uses.sel(store=store).isel(edge=step + 1)
        assert_whole(ago["share"], ago["never"], ago["unknown"])
        used = 1.0 - float(here["share"][0]) - float(here["unknown"])
        assert float(ago["share"].sum()) == pytest.approx(used, abs=1e-12)
        assert float(ago["never"]) == pytest.approx(float(here["share"][0]), abs=1e-12)
        assert float(ago["unknown"]) == pytest.approx(float(here["unknown"]), abs=1e-12)


@settings(max_examples=60, deadline=None)
@given(SEEDS, st.integers(1, 9), st.integers(1, 12), st.data())
def test_a_parcel_is_whole_at_the_end(seed, stores, steps, data):
    """Every part of a parcel is in a store or over a boundary, at the end of every step."""
    record = random_record(seed, stores=stores, steps=steps)
    has_water = count_uses(record, warm_up="none")["has_water"].values
    step = data.draw(st.integers(0, steps - 1))
    for k, store in enumerate(record["store"].values):
        if has_water[step + 1, k]:
            fate = follow(record, at=store, on=record["time"].values[step], most=3, steps=True)
            assert_whole(fate["share"])
            for edge in range(steps - step):
                assert_whole(fate["share_by_step"].isel(edge=edge))
            last = fate["share_by_step"].isel(edge=-1).values
            assert np.abs(last - fate["share"].values).max() <= 1e-14


@settings(max_examples=30, deadline=None)
@given(RECORDS, WAYS)
def test_age_never_outruns_the_record(record, way):
    """Ages are finite and not negative; counted from the first edge, none is beyond its days."""
    found = ages(record, warm_up=way)["mean_age"].values
    assert np.isfinite(found).all()
    assert (found >= 0).all()
    if way == "none":
        passed = (record["edge"] - record["edge"][0]).values / np.timedelta64(1, "D")
        assert (found <= passed.reshape(-1, *[1] * (found.ndim - 1)) + 1e-9).all()


@settings(max_examples=20, deadline=None)
@given(SEEDS)
def test_more_water_of_the_same_changes_no_share(seed):
    """Volumes and rates times a factor: shares are the same."""
    record = random_record(seed)
    larger = record.assign(volume=record["volume"] * 1e4, rate=record["rate"] * 1e4)
    one, other = (count_uses(r, warm_up="none")["share"].values for r in (record, larger))
    assert np.abs(one - other).max() <= 1e-12
