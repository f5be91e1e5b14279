"""How labels settle, worked out by hand: repeats, what is to come, what is brought forward."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from conserves import assert_closes
from dense_steps import Dense, town

from hydroloop.record import Network, build_record
from hydroloop.tracing import find_gate, operator
from hydroloop.tracing.carried_over import carried_over, slow_stores
from hydroloop.tracing.passing import passing
from hydroloop.tracing.warm_up import Settled, as_begun, first_year, gain, retained, settle


def holding(*volumes):
    """What `settle` reads of a record: the first volumes, (store)."""
    held = np.array(volumes, dtype=float).reshape(1, -1, 1)
    return SimpleNamespace(water=SimpleNamespace(volume=held))


def column(*values):
    return np.array(values, dtype=float).reshape(1, -1, 1)


def test_halving_changes():
    """x = x / 2 + 1 from 0: the n-th change is 2^(1-n), the state 2 - 2^(1-n).

    From the third on the factor is one half (less than 1e-9 more by the growing state), so that
    as much is still to come as the last repeat brought: 2^(1-n) of 2, below 1e-9 at n = 30.
    """
    found = settle(holding(1.0), lambda x: x / 2 + 1, column(0.0), lambda change: change)
    assert found.repeats == 30
    assert found.state[0, 0, 0] == pytest.approx(2 - 2.0**-29, abs=1e-15)
    assert found.change == pytest.approx(2.0**-30, rel=1e-6)
    assert found.left[0, 0, 0] == pytest.approx(2.0**-30, rel=1e-6)


def test_small_labels():
    """x = x / 2 + 1/10 comes to 1/5: changes count as they are, 2^(1-n) / 10 < 1e-9 at n = 28."""
    found = settle(holding(1.0), lambda x: x / 2 + 0.1, column(0.0), lambda change: change)
    assert found.repeats == 28
    assert found.change == pytest.approx(2.0**-27 / 10, rel=1e-6)


def test_changes_below_the_least_factor():
    """x = x / 1000 + 1: the factor is taken as 0.02, so that 0.02 / 0.98 of a change is to come.

    Changes are 1, 1e-3, 1e-6, ...; the third leaves 2.04e-8 of 1.001001, the fourth 2e-11.
    """
    seen = []

    def year(labels):
        seen.append(1)
        return labels / 1000 + 1

    found = settle(holding(1.0), year, column(0.0), lambda change: change)
    assert found.repeats == len(seen) == 4
    assert found.change == pytest.approx(1e-9 * 0.02 / 0.98 / 1.001001001, rel=1e-6)


def test_no_end_of_repeats():
    """x = x + 1: after 200 repeats a change is 1 of 200, and was 1 of 199: 199/200 is the factor.

    To come are 199/200 / (1 - 199/200) = 199 times 1/200.
    """
    found = settle(holding(1.0), lambda x: x + 1, column(0.0), lambda change: change)
    assert found.repeats == 200
    assert found.state[0, 0, 0] == 200
    assert found.change == pytest.approx(199 / 200)
    assert found.left[0, 0, 0] == pytest.approx(199 / 200)
    assert np.isnan(found.told(column(7.0))).all()


def test_changes_that_grow():
    """x = 1.1 x + 1: each change is 1/11 of the state, with 0.999 as the largest factor."""
    found = settle(holding(1.0), lambda x: 1.1 * x + 1, column(0.0), lambda change: change)
    assert found.change == pytest.approx(999 / 11)


def test_what_is_brought_forward_at_once():
    """x = x / 2 + 1 with twice each change: settled at the first, told by the second and third."""
    found = settle(holding(1.0), lambda x: x / 2 + 1, column(0.0), lambda change: 2 * change)
    assert (found.repeats, found.change, found.state[0, 0, 0]) == (2, 0.0, 2.0)


def test_never_above_the_most():
    """Brought forward to 4 where the most is 2: one repeat's change is taken instead, to 1.

    A store of 2 m3 beside it that is well stays with the repeats of the same member alike.
    """
    asked = []

    def forward(change):
        asked.append(change.copy())
        return 4 * change if len(asked) == 1 else 2 * change

    found = settle(holding(1.0, 2.0), lambda x: x / 2 + 1, column(0.0, 2.0), forward, most=2.0)
    assert asked[0][0, :, 0].tolist() == [1.0, 0.0]
    assert asked[1][0, :, 0].tolist() == [0.5, 0.0]
    assert found.state[0, :, 0].tolist() == [2.0, 2.0]
    assert found.repeats == 3


def test_each_member_stops_by_itself():
    """A member that is settled is repeated no more; an empty store keeps what it was given."""
    factor = np.array([0.0, 0.5]).reshape(1, 1, 2)
    guess = np.zeros((1, 2, 2))
    guess[0, 1] = 7.0
    op = SimpleNamespace(water=SimpleNamespace(volume=np.array([[[1.0, 1.0], [0.0, 0.0]]])))
    found = settle(op, lambda x: x * factor + 1, guess, lambda change: change)
    assert found.state[0, 1].tolist() == [7.0, 7.0]
    assert found.state[0, 0, 0] == 1.0
    assert found.state[0, 0, 1] == pytest.approx(2.0, abs=1e-8)
    assert found.left[0, 0, 0] < found.left[0, 0, 1]


def test_labels_without_end():
    """One that is no number or beyond 1e100 ends the repeats: not settled there, as if all is."""
    for bad in (np.nan, np.inf, 1e101):
        found = settle(
            holding(1.0, 1.0),
            lambda x, bad=bad: np.where(column(1, 0) > 0, bad, 1.0),
            column(3.0, 0.0),
            lambda change: change,
        )
        assert found.repeats == 1
        assert found.change == 1.0
        assert found.left[0, 0, 0] == 1.0
        assert found.state[0, :, 0].tolist() == [3.0, 1.0]


def test_labels_as_they_are():
    """Without a repeat nothing is left to settle; above one millionth a label is not told."""
    begun = as_begun(column(1.0, 2.0))
    assert (begun.change, begun.repeats, begun.left.tolist()) == (0.0, 0, [[[0.0], [0.0]]])
    left = Settled(column(1, 2), 0.1, 5, column(1e-6, 1.1e-6))
    told = left.told(np.ones((3, 2, 1)))
    assert np.isfinite(told[:, 0]).all()
    assert np.isnan(told[:, 1]).all()


def pond():
    """A pond that takes 6 and 2 m3 a day of upstream and gives 2 and 4 in steps of 2 and 0.5 d."""
    network = Network(
        ["pond", "pan"],
        ["upstream", "pond", "pan"],
        ["pond", "downstream", "sky"],
        ["upstream", "river", "evaporation"],
    )
    edges = np.array(["2031-01-01T00", "2031-01-03T00", "2031-01-03T12"], "datetime64[h]")
    record = build_record(network, edges, [[10, 3], [18, 3], [17, 2]], [[6, 2, 0], [2, 4, 2]])
    assert_closes(record)
    return record


def test_what_stays_for_a_year():
    """10 of 10 + 12 m3 (18 + 4 at the end), then 18 of 19: 10/22 x 18/19. The pan keeps all."""
    kept = retained(operator(pond()))
    assert kept[:, 0] == pytest.approx([10 / 22 * 18 / 19, 1.0])


def test_the_larger_of_what_comes_and_what_goes():
    """A step loses what leaves even where the record gains nothing: 10 of 2 + 8 m3."""
    network = Network(["pond"], ["pond"], ["sky"], ["evaporation"])
    record = build_record(
        network, ["2031-01-01", "2031-01-03", "2031-01-04"], [[10], [2], [0]], [[4], [2]]
    )
    assert retained(operator(record))[0, 0] == 1.0


def test_gain_of_a_store_by_itself():
    """1 / (1 - p), 1e5 at most, nothing for a store that keeps all."""
    found = gain(np.array([0.0, 0.5, 0.99, 1 - 1e-7, 1 - 1e-13, 1.0]))
    assert found == pytest.approx([1.0, 2.0, 100.0, 1e5, 0.0, 0.0])


@pytest.mark.parametrize(
    ("start", "steps", "hours", "expected"),
    [
        ("2031-03-01", 3, 24, 3),
        ("2033-03-01", 366, 24, 365),
        ("2032-02-01", 368, 24, 366),  # with a 29 February
        ("2031-01-01T12", 740, 12, 730),
        ("2031-01-31", 80, 24 * 5, 73),
        ("2031-01-01", 2, 24 * 400, 1),
    ],
)
def test_steps_of_the_first_year(start, steps, hours, expected):
    """Steps that begin before the same day of the next year."""
    edge = np.datetime64(start, "ns") + np.arange(steps + 1) * np.timedelta64(hours, "h")
    assert first_year(SimpleNamespace(edge=edge)) == expected


def test_slow_stores():
    """From a hundredth on what stays is followed, but not what never leaves; 16 in a year of days,
    and up to six times as many in a short record."""
    kept = np.array([[0.0099, 0.5], [0.01, 1.0], [0.999, 1 - 1e-11], [1 - 1e-13, 0.0]])
    expected = [[False, True], [True, False], [True, True], [False, False]]
    assert slow_stores(365, kept).tolist() == expected
    many = np.full((97, 3), 0.5)
    many[16:, 0] = many[17:, 1] = 0.0
    assert slow_stores(365, many).sum(axis=0).tolist() == [16, 0, 0]
    assert slow_stores(366, many).sum(axis=0).tolist() == [16, 0, 0]
    assert slow_stores(182, many).sum(axis=0).tolist() == [16, 17, 0]
    many[96:, 2] = 0.0
    assert slow_stores(60, many).sum(axis=0).tolist() == [16, 17, 96]
    many[:, 2] = 0.5
    assert slow_stores(4, many).sum(axis=0).tolist() == [16, 17, 0]


@pytest.mark.parametrize("members", [0, 9])
def test_water_of_slow_stores_through_the_year(members):
    """What each store holds of it at the end that never passed the gate, or once."""
    record = town(5, members=members)
    assert_closes(record)
    op, gate = operator(record), record["kind"].values == "home_use"
    kept = np.tile(np.array([0.0, 0.5, 0.001, 0.01, 1.0])[:, None], (1, max(1, members)))
    found = carried_over(op, passing(op, gate, 3), 4, kept)
    assert found.slow.tolist() == [1, 3]
    assert found.gain[:, 0] == pytest.approx([1.0, 1.0, 1 / 0.999, 1.0, 0.0])
    for k in sorted({0, max(0, members - 1)}):
        dense = Dense.of(record, k if members else None)
        dense.before = np.zeros((12, 1))  # nothing else has a label
        for number, store in enumerate((1, 3)):
            first = np.zeros((6, 5))
            first[0, store] = 1.0
            once = dense.uses(gate & (dense.source >= 0), 3, first)[:2, -1] * (1 - 1e-6)
            assert found.unused[number, :, k] == pytest.approx(once[0], rel=1e-12)
            assert found.used[number, :, k] == pytest.approx(once[1], rel=1e-12)


def test_all_further_years_at_once():
    """Each class by itself, year by year, with what passes the gate once: summed to its end."""
    record = town(5)
    op, gate = operator(record), find_gate(operator(record), None)
    found = carried_over(op, passing(op, gate, 2), 4, np.array([[0.0], [0.5], [0.2], [0.3], [0]]))
    assert found.slow.tolist() == [1, 2, 3]
    change = np.random.default_rng(4).normal(size=(5, 5, 1))  # 0, 1, 2 or more, unknown, mean
    total, now = change.copy(), change.copy()
    for _ in range(400):
        stays, passes = np.zeros_like(now), np.zeros_like(now)
        for number, store in enumerate(found.slow):
            stays += now[:, store, 0][:, None, None] * found.unused[number]
            passes += now[:, store, 0][:, None, None] * found.used[number]
        now = stays
        now[1] += passes[0] + passes[3]
        now[2] += passes[1] + passes[2]
        now[4] += passes[4]
        total += now
    assert np.abs(found.brought_forward(change) - total).max() <= 1e-9 * np.abs(total).max()
