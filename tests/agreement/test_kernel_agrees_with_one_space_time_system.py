"""The stepping kernel and one sparse system over all steps come to the same, both ways."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes, assert_conserves
from random_records import basin, random_record
from space_time import SpaceTime

from hydroloop.tracing import ages, count_uses, last_use


def _records():
    yield "basin of two towns", basin(2, steps=40)
    for seed in range(12):
        yield f"random {seed}", random_record(seed, stores=5 + seed, steps=20, days=0.5 + seed)


RECORDS = dict(_records())


@pytest.fixture(params=RECORDS, scope="module")
def record(request):
    """A closing record without members."""
    assert_closes(RECORDS[request.param])
    return RECORDS[request.param]


def test_use_classes(record):
    """All classes and the unknown share, every step, to 1e-12."""
    uses = count_uses(record, most=4, warm_up="none")
    assert_conserves(record, uses, "home_use")
    expected = SpaceTime.of(record).uses(record["kind"].values == "home_use", 4)
    found = np.concatenate([uses["share"].values, uses["unknown"].values[None]])[:, 1:]
    assert np.abs(found - expected).max() <= 1e-12


def test_mean_ages(record):
    """Mean ages, every step, to 1e-12 of the length of the record."""
    found = ages(record, warm_up="none")["mean_age"].values[1:]
    oracle = SpaceTime.of(record)
    assert np.abs(found - oracle.ages()).max() <= 1e-12 * oracle.days.sum()


def test_last_passes(record):
    """Transposed solve: the share of a glass by step of its last pass, to 1e-12."""
    gate = record["kind"].values == "home_use"
    oracle = SpaceTime.of(record)
    has_water = count_uses(record, warm_up="none")["has_water"].values
    step = record.sizes["time"] - 1
    for store in np.flatnonzero(has_water[step + 1])[:6]:
        name = record["store"].values[store]
        found = last_use(record, at=name, on=record["time"].values[step])
        expected = oracle.last_passes(gate, step, store)
        assert np.abs(found["share"].values - expected).max() <= 1e-12
