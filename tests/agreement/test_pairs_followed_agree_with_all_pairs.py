"""Of many towns only some pairs and users are told: what is told is what it is among all."""

from __future__ import annotations

from importlib import import_module

import numpy as np
import pytest
from random_records import basin

import hydroloop as hl
from hydroloop.tracing.returning import OTHERS

PAIRS = ("outfall_to_tap_share", "outfall_to_tap_time", "outfall_to_tap_ground")


def measured(record, nearest, named):
    """All measures, with so many taps followed and users named at most."""
    limits = {"how_long": ("NEAREST", nearest), "how_often": ("MOST_NAMED", named)}
    with pytest.MonkeyPatch.context() as patch:
        for module, limit in limits.items():
            patch.setattr(import_module(f"hydroloop.measures.gather.{module}"), *limit)
        return hl.measures(record)


@pytest.fixture(scope="module")
def both():
    """Seven towns on one river: with few pairs and users, and with all."""
    record = basin(7, steps=60)
    return measured(record, 2, 3), measured(record, 7, 7)


def test_pairs_that_are_followed_are_the_same(both):
    """A pair that is told has the number that it has among all pairs, at most two an outfall."""
    few, whole = both
    told = few["outfall_to_tap_share"].notnull()
    assert 0 < int(told.sum()) < int(whole["outfall_to_tap_share"].notnull().sum())
    assert int(told.sum("town_to").max()) <= 2
    for name in PAIRS:
        one, other = (table[name].where(told) for table in both)
        np.testing.assert_allclose(one, other, rtol=0.0, atol=1e-7)


def test_users_that_are_not_named_stand_together(both):
    """Three towns are named; their parts are what they were, and all parts add up as before."""
    few, whole = (table["season_used_share_by_way"] for table in both)
    names = [str(name) for name in few["used_in"].values]
    assert OTHERS in names
    named = [name for name in names if name in set(whole["town"].values.astype(str))]
    assert len(named) == 3
    np.testing.assert_allclose(few.sel(used_in=named), whole.sel(used_in=named), rtol=0, atol=1e-7)
    sums = (parts.sum(["used_in", "way"]) for parts in (few, whole))
    np.testing.assert_allclose(*sums, rtol=0, atol=1e-7)
