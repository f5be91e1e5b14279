"""Laws that measures keep on any record: shares are shares, parts sum to wholes, accounts close."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from hypothesis import given, settings
from hypothesis import strategies as st
from random_records import random_record

import hydroloop as hl

SEEDS = st.integers(0, 10_000)
SHARES = (
    "used_share",
    "unknown_share",
    "toilet_share",
    "used_share_at_intake",
    "effluent_share_at_intake",
    "season_used_share",
    "season_unknown_share",
    "within_7",
    "within_30",
    "within_90",
    "outfall_to_tap_share",
    "intake_to_outfall_share",
    "outfall_to_tap_spread",
    "intake_to_outfall_ground",
    "intake_to_outfall_pending",
    "season_share_as",
    "rain_age_young",
    "cycling_index",
)
ROOM = 1e-9


def table_of(seed, members=0):
    record = random_record(seed, stores=5 + seed % 4, members=members)
    assert_closes(record)
    return record, hl.measures(record)


def known(values):
    """The values that are known, as plain numbers."""
    return values.values[np.isfinite(values.values)]


@settings(max_examples=20, deadline=None)
@given(SEEDS, st.sampled_from([0, 2]))
def test_shares_are_shares(seed, members):
    """Every share lies between 0 and 1, and use classes and unknown past sum to one."""
    _, table = table_of(seed, members)
    for name in SHARES:
        if name in table:
            assert (known(table[name]) >= -ROOM).all(), name
            assert (known(table[name]) <= 1 + ROOM).all(), name
    whole = table["use_share"].sum("use", skipna=False) + table["unknown_share"]
    assert np.abs(known(whole) - 1.0).max(initial=0.0) <= ROOM
    used = table["use_share"].isel(use=slice(1, None)).sum("use", skipna=False)
    assert np.abs(known(used - table["used_share"])).max(initial=0.0) <= ROOM


@settings(max_examples=20, deadline=None)
@given(SEEDS, st.sampled_from([0, 2]))
def test_parts_of_the_used_share_are_the_whole(seed, members):
    """By way and by end use, each day and over the season, the parts sum to f."""
    _, table = table_of(seed, members)
    for name, parts in (
        ("used_share_by_way", ["used_in", "way"]),
        ("used_share_by_use", ["used_in", "used_for"]),
    ):
        for head in ("", "season_"):
            whole = table[f"{head}{name}"].sum(parts, skipna=False)
            used = table[f"{head}used_share"]
            assert (whole.isnull() == used.isnull()).all()
            assert np.abs(known(whole - used)).max(initial=0.0) <= ROOM


@settings(max_examples=20, deadline=None)
@given(SEEDS, st.sampled_from([0, 2]))
def test_used_share_is_no_more_than_mean_uses(seed, members):
    """f <= m, in every step, at the tap and at the intake and over the season."""
    _, table = table_of(seed, members)
    for f, m in (
        ("used_share", "mean_uses"),
        ("used_share_at_intake", "mean_uses_at_intake"),
        ("season_used_share", "season_mean_uses"),
        ("season_used_share_at_intake", "season_mean_uses_at_intake"),
    ):
        assert (known(table[m] - table[f]) >= -ROOM).all()


@settings(max_examples=15, deadline=None)
@given(SEEDS, st.sampled_from([0, 2]))
def test_a_glass_and_a_parcel_are_whole(seed, members):
    """What is known of a glass, and all ends and passes of a parcel, sum to one."""
    _, table = table_of(seed, members)
    if "last_use_share" in table:
        parts = ("last_use_never", "last_use_before_record", "last_use_unknown")
        glass = table["last_use_share"].sum("days_ago") + sum(table[name] for name in parts)
        # A member in which the store is dry on the day has no glass.
        full = known(glass)
        assert (np.minimum(np.abs(full - 1.0), np.abs(full)) <= ROOM).all()
        assert (np.abs(full - 1.0) <= ROOM).any()
    for name, dim in (("parcel_end_share", "end"), ("parcel_pass_share", "use")):
        parcel = known(table[name].sum(dim, skipna=False))
        assert (np.minimum(np.abs(parcel - 1.0), np.abs(parcel)) <= ROOM).all()


@settings(max_examples=15, deadline=None)
@given(SEEDS, st.sampled_from([0, 2]))
def test_balance_closes(seed, members):
    """In less out is the change, for every place and the whole; the whole's change is the sum."""
    record, table = table_of(seed, members)
    parts = table["balance"].sel
    size = float(np.abs(record["volume"]).max() + table["balance"].max())
    closed = parts(term="change") - parts(term="inflow") + parts(term="outflow")
    assert np.abs(closed).max() <= ROOM * size
    assert np.abs(parts(term="gap") - closed).max() <= ROOM * size
    places = [name for name in table["place"].values if name != "whole map"]
    change = parts(term="change", place=places).sum("place")
    assert np.abs(change - parts(term="change", place="whole map")).max() <= ROOM * size
    assert float(table["gap_relative"].max()) <= ROOM


@pytest.mark.parametrize("seed", range(4))
def test_members_are_single_runs(seed):
    """Each member of an ensemble has the measures of the run that it is."""
    record, table = table_of(seed, members=3)
    for k in range(3):
        single = hl.measures(record.isel(member=k, drop=True))
        for name in (
            "used_share",
            "mean_uses",
            "return_ratio",
            "water_age",
            "turnover_time",
            "parcel_end_share",
            "balance",
            "outfall_to_tap_time",
            "delivered",
        ):
            ours, other = table[name].isel(member=k), single[name]
            assert np.allclose(
                ours, other.transpose(*ours.dims), rtol=1e-7, atol=1e-8, equal_nan=True
            ), name
