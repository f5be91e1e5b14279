"""Bounds of what tracing can be asked: the last that is taken, and the first that is refused."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.errors import AskError, HydroloopWarning
from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import count_uses, drops, find_step, has_water, operator, trace
from hydroloop.tracing.drops_past import check_used
from hydroloop.tracing.where_and_when import find_most


@pytest.fixture(scope="module")
def homes():
    """Two steps of 12 h: the tap fills from upstream, homes hand half of it back to the river."""
    network = Network(
        ["tap", "homes", "river"],
        ["upstream", "tap", "homes", "homes", "river"],
        ["tap", "homes", "river", "sky", "downstream"],
        ["upstream", "home_use", "outfall", "evaporation", "river"],
    )
    rate = [2.0, 2.0, 1.0, 1.0, 1.0]
    used = {"upstream > tap": [0.25]}
    edges = edges_of("2031-05-01", 2, 0.5)
    return build_record(network, edges, [[1, 0, 1]] * 3, [rate] * 2, used_before=used)


def test_use_classes_that_can_be_asked():
    """1 to 1000, whole numbers of any kind; no truth values."""
    assert [find_most(most) for most in (1, np.int64(3), 1000)] == [1, 3, 1000]
    for most in (0, 1001, True, 2.0, "2"):
        with pytest.raises(AskError, match="is not a number of uses"):
            find_most(most)


def test_earlier_uses_that_can_be_asked():
    """0 to 1000 of drops that are walked backward; forward none."""
    for used in (None, 0, np.int64(1), 1000):
        check_used(used, backward=True)
    check_used(None, backward=False)
    for used in (-1, 1001, True, 1.0):
        with pytest.raises(AskError, match="from 0 to 1,000"):
            check_used(used, backward=True)
    with pytest.raises(AskError, match="give backward=True"):
        check_used(0, backward=False)


def test_an_instant_belongs_to_the_step_that_it_begins(homes):
    """The first edge is of the first step, noon of the second, the last edge of none."""
    op = operator(homes)
    for on, step in (
        ("2031-05-01", 0),
        ("2031-05-01 11:59", 0),
        ("2031-05-01T12:00", 1),
        (np.datetime64("2031-05-01T23:59:59"), 1),
    ):
        assert find_step(op, on) == step
    for on in ("2031-05-02", "2031-04-30T23:59", "2031-05-02T00:01"):
        with pytest.raises(AskError, match=r"Choose a date from 2031-05-01 to 2031-05-01\."):
            find_step(op, on)
    for on in ("someday", "", np.datetime64("NaT")):
        with pytest.raises(AskError, match="is no date"):
            find_step(op, on)


def test_drops_that_can_be_asked(homes):
    """One drop and seed 0 are taken; what cannot be used is told at once."""
    assert drops(homes, n=1, at="tap", on="2031-05-01", seed=0)["drop"].unique().tolist() == [0]
    with pytest.raises(AskError) as told:
        drops(homes, n=0, at="tap", on="2031-05-01", seed=-1)
    assert [problem.where for problem in told.value.problems] == ["n", "seed"]
    with pytest.raises(AskError, match=r"1\.0 cannot be used"):
        drops(homes, n=1.0, at="tap", on="2031-05-01")


def test_drops_that_were_used_more_often_than_any(homes):
    """At the tap the river brings one earlier use at most; in the outfall's river it is two."""
    for at, most in (("tap", 1), ("river", 2)):
        ask = {"at": at, "on": "2031-05-01", "backward": True}
        assert (drops(homes, n=5, used=most, **ask)["before"] <= most).all()
        with pytest.raises(AskError, match=f"The most is {most}: ask for that or less"):
            drops(homes, n=5, used=most + 1, **ask)


def test_drops_of_water_that_was_never_used():
    """Where none of it was used no least number can be asked."""
    pond = Network(["pond"], ["rain", "pond"], ["pond", "sky"], ["rain", "home_use"])
    record = build_record(pond, edges_of("2031-01-01", 1), [[1], [1]], [[1, 1]])
    with pytest.raises(AskError, match="None of it had been used at all"):
        drops(record, n=1, at="pond", on="2031-01-01", backward=True, used=1)


def test_a_warning_points_at_the_one_who_asks():
    """Without homes and without a gate: told of the line that counts."""
    pond = Network(["pond"], ["rain", "pond"], ["pond", "sky"], ["rain", "evaporation"])
    record = build_record(pond, edges_of("2031-01-01", 1), [[1], [1]], [[1, 1]])
    with pytest.warns(HydroloopWarning, match="no flow into homes") as told:
        count_uses(record, warm_up="none")
    assert [one.filename for one in told] == [__file__]


def test_all_that_is_carried_is_one(homes):
    """A flow carries its water's label or less; no label is no more than none."""
    assert trace(homes, 2.0, carries=1.0)["label"].values.max() == pytest.approx(2.0)
    with pytest.raises(AskError, match=r"1\.1 is more than all"):
        trace(homes, 2.0, carries={"river": 1.1})
    assert (trace(homes, 0.0)["label"].values == 0).all()
    for bad in (-0.1, np.inf, np.nan):
        with pytest.raises(AskError, match="negative or no number"):
            trace(homes, bad)
    with pytest.raises(AskError, match="do not fit 5 flows"):
        trace(homes, np.ones(4))


def test_steps_in_which_stores_have_water():
    """A pan that is empty at first has what rains on it; dry it has none."""
    pan = Network(["a", "b"], ["rain", "a", "rain", "b"], ["a", "sky", "b", "sky"],
                  ["rain", "evaporation", "rain", "evaporation"])  # fmt: skip
    rate = [[1, 0, 3, 3], [0, 1, 0, 0], [0, 0, 2, 0]]
    volume = [[0, 0], [1, 0], [0, 0], [0, 2]]
    op = operator(build_record(pan, edges_of("2031-01-01", 3), volume, rate))
    assert has_water(op, np.array([1, 0]))[..., 0].tolist() == [
        [True, True],
        [False, True],
        [True, False],
    ]
    assert op.throughput[..., 0].tolist() == [[1, 3], [1, 0], [0, 2]]
