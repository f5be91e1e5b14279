"""Members that are traced side by side come to what each comes to alone."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes, assert_conserves
from random_records import random_record

from hydroloop.tracing import ages, count_uses, follow, last_use, long_run, trace


@pytest.fixture(scope="module")
def record():
    """Eleven members: one block of eight and three alone."""
    found = random_record(11, stores=8, steps=10, members=11)
    assert_closes(found)
    return found


@pytest.mark.parametrize("way", ["repeat", "steady", "none"])
def test_whole_fields(record, way):
    """Uses, ages and labels of every member, however the record is warmed up."""
    uses = count_uses(record, most=3, warm_up=way)
    assert uses["share"].dims == ("use", "edge", "store", "member")
    assert_conserves(record, uses, "home_use")
    old = ages(record, warm_up=way)
    label = trace(record, 2.0, carries={"evaporation": 0.0}, warm_up="none")
    for member in range(11):
        alone = record.isel(member=member, drop=True)
        # Members settle together, so that one may take a step more than it would alone.
        room = 1e-8 if way == "repeat" else 1e-12
        for name, part in count_uses(alone, most=3, warm_up=way).items():
            assert np.allclose(uses[name].isel(member=member), part, atol=room, rtol=0)
        single = ages(alone, warm_up=way)["mean_age"]
        assert np.allclose(old["mean_age"].isel(member=member), single, rtol=100 * room, atol=1e-6)
        single = trace(alone, 2.0, carries={"evaporation": 0.0}, warm_up="none")["label"]
        assert np.allclose(label["label"].isel(member=member), single, rtol=1e-12)


def test_questions(record):
    """Last use, a parcel's fate and the long run of every member."""
    held = record["volume"][-2].min("member").values
    at = str(record["store"].values[int(held.argmax())])
    on = record["time"].values[-1]
    ago, fate, run = last_use(record, at=at, on=on), follow(record, at=at, on=on), long_run(record)
    for member in range(11):
        alone = record.isel(member=member, drop=True)
        for whole, part in (
            (ago, last_use(alone, at=at, on=on)),
            (fate, follow(alone, at=at, on=on)),
            (run, long_run(alone)),
        ):
            for name in part:
                assert np.allclose(whole[name].isel(member=member), part[name], atol=1e-12)
