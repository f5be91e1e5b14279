"""Many drops come to the shares that the operator gives, within what chance allows.

A share p, counted with n drops, has the standard deviation sqrt(p (1 - p) / n); five of them, for
some dozens of shares and fixed seeds, leave no room for a wrong chain and none for a flaky test.
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from random_records import random_record

from hydroloop.record import BOUNDARIES, Network, build_record
from hydroloop.tracing import (
    age_distribution,
    ages,
    because,
    count_uses,
    drops,
    follow,
    last_use,
    operator,
)

N = 20_000


def _close(counted, share):
    room = 5 * np.sqrt(np.maximum(share * (1 - share), 1 / N) / N)
    assert (np.abs(np.asarray(counted) / N - share) <= room).all()


@pytest.fixture(params=[3, 8, 21], scope="module")
def record(request):
    """A random record with loops, and a store in it that has water on the last day."""
    found = random_record(request.param, stores=7, steps=15)
    assert_closes(found)
    return found


def _store(record, step):
    held = operator(record).throughput[step, :, 0]
    return str(record["store"].values[int(held.argmax())])


def test_forward_drops_agree_with_follow(record):
    """Where drops end, and after how many uses."""
    at, on = _store(record, 2), record["time"].values[2]
    walk = drops(record, n=N, at=at, on=on, seed=5).groupby("drop").last()
    fate = follow(record, at=at, on=on, most=3)
    for place in fate["place"].values:
        here = walk[walk["store"] == place]
        counted = [(np.minimum(here["uses"], 3) == k).sum() for k in range(4)]
        _close(counted, fate["share"].sel(place=place).values)


def test_backward_drops_agree_with_last_use(record):
    """In which step the last pass was, what never passed, and what is of unknown past."""
    step = record.sizes["time"] - 1
    at, on = _store(record, step), record["time"].values[step]
    walk = drops(record, n=N, at=at, on=on, seed=6, backward=True)
    ago = last_use(record, at=at, on=on)
    first = walk[walk["uses"] > 0].groupby("drop").first()
    counted = np.bincount(step - first["step"], minlength=step + 1)
    _close(counted, ago["share"].values)
    end = walk.groupby("drop").last()
    never = end[end["uses"] == 0]
    _close(never["store"].isin(BOUNDARIES).sum(), float(ago["never"]))
    _close((~never["store"].isin(BOUNDARIES)).sum(), float(ago["unknown"]))


def test_backward_drops_agree_with_ages(record):
    """When drops entered, over which flow, and their mean age."""
    step = record.sizes["time"] - 1
    at, on = _store(record, step), record["time"].values[step]
    end = drops(record, n=N, at=at, on=on, seed=7, backward=True).groupby("drop").last()
    entered = end[end["store"].isin(BOUNDARIES)]
    found = age_distribution(record, at=at, on=on)
    _close(np.bincount(step - entered["step"], minlength=step + 1), found["share"].values)
    for flow in found["flow"].values:
        _close((entered["flow"] == flow).sum(), float(found["by_flow"].sel(flow=flow)))
    stood = np.where(end["store"].isin(BOUNDARIES), step - end["step"], step + 1)
    mean = float(ages(record, warm_up="none")["mean_age"].sel(store=at)[step + 1])
    assert stood.mean() == pytest.approx(mean, abs=5 * stood.std() / np.sqrt(N) + 1e-12)


def test_backward_drops_agree_with_because(record):
    """In which town the last use was: the first gate flow that a drop meets on its way back."""
    step = record.sizes["time"] - 1
    at, on = _store(record, step), record["time"].values[step]
    walk = drops(record, n=N, at=at, on=on, seed=8, backward=True)
    last = walk[walk["uses"] > 0].groupby("drop").first()
    place = dict(zip(record["store"].values, record["place"].values, strict=True))
    target = dict(zip(record["flow"].values, record["target"].values, strict=True))
    towns = last["flow"].map(lambda flow: place[target[flow]])
    share = because(record, at=at, on=on, by="town", warm_up="none").share
    names = [name for name in share["used_in"].values if name in set(place.values())]
    assert names
    _close([(towns == name).sum() for name in names], share.sel(used_in=names).values)


@pytest.fixture(params=[3, 8, 21], scope="module")
def used_above(request):
    """A random record with loops whose inflows were in part used before, and a store in it."""
    found = random_record(request.param, stores=7, steps=15)
    inflows = found["flow"].values[np.isin(found["source"].values, BOUNDARIES)]
    given = {name: [0.3, 0.1, 0.05] for name in inflows[::2].tolist()}
    again = build_record(
        Network(*(found[name].values.tolist() for name in ("store", "source", "target", "kind"))),
        found["edge"].values,
        found["volume"].values,
        found["rate"].values,
        used_before=given,
    )
    assert_closes(again)
    return again


def _drawn(record, used, seed):
    step = record.sizes["time"] - 1
    at, on = _store(record, step), record["time"].values[step]
    walk = drops(record, n=N, at=at, on=on, seed=seed, backward=True, used=used)
    share = count_uses(record, most=9).share.sel(store=at)[:, step + 1].values
    end = walk.groupby("drop").last()
    return end.assign(total=end["uses"] + end["before"]), share


def test_drops_with_their_past_agree_with_use_shares(used_above):
    """Uses in the record, before it and above it come to the shares of `count_uses`."""
    end, share = _drawn(used_above, 0, 9)
    total = np.minimum(end["total"], 9)
    _close(np.bincount(total, minlength=10), np.append(1 - share[1:].sum(), share[1:]))


@pytest.mark.parametrize("used", [1, 3])
def test_drops_used_often_agree_with_use_shares(used_above, used):
    """Drops drawn for their uses have them all, and more of them in the exact proportion."""
    end, share = _drawn(used_above, used, 10)
    assert (end["total"] >= used).all()
    _close(
        np.bincount(np.minimum(end["total"], 9), minlength=10)[used:],
        share[used:] / share[used:].sum(),
    )


def test_drops_used_often_are_like_plain_drops_that_happened_to_be(used_above):
    """Where they came from, when, and how often they were used before that: as those of many plain
    drops that were used twice."""
    plain, _ = _drawn(used_above, 0, 11)
    found, _ = _drawn(used_above, 2, 12)
    happened = plain[plain["total"] >= 2]
    assert len(happened) > 100
    for name in ("store", "step", "uses", "before"):
        ours, theirs = (one[name].value_counts() for one in (found, happened))
        for value in {*ours.index, *theirs.index}:
            a, b = ours.get(value, 0) / len(found), theirs.get(value, 0) / len(happened)
            p = max(
                (ours.get(value, 0) + theirs.get(value, 0)) / (len(found) + len(happened)),
                1 / len(happened),
            )
            assert abs(a - b) <= 5 * np.sqrt(p * (1 - p) * (1 / len(found) + 1 / len(happened)))
