"""Members side by side hold what each holds alone, however many there are, and close as it does."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from small_scenarios import one_town

from hydroloop.errors import RecordError
from hydroloop.record import closure_gap
from hydroloop.waterworks import simulate
from hydroloop.waterworks.members import (
    SharedForcing,
    _check_closes,
    _innermost,
    _largest_gap,
    run_members,
)

PARTS = ("volume", "rate", "demand", "cut", "stage_days")


@pytest.fixture(scope="module")
def scenarios():
    """Nine towns of 1,000, 2,000 ... people on two days, with a drought stage."""
    stage = '[stage.low]\nriver = "wren"\nat = "10 km"\nflow_below = "500 m3/s"\nyards = "50 %"\n'
    plain = one_town(stage, season__end="2031-05-02", season__run_up="0 day")
    return [plain.changed({"town.larkmill.people": 1000 * k}) for k in range(1, 10)]


@pytest.fixture(scope="module")
def alone(scenarios):
    return [simulate(scenario) for scenario in scenarios]


@pytest.mark.parametrize("count", [1, 2, 7, 8, 9, 15, 16, 17])
def test_arrays_of_members_become_one(count):
    """The member stands last, however many there are, and in the order given."""
    parts = [np.arange(12.0).reshape(2, 3, 2) + 100.0 * k for k in range(count)]
    assert np.array_equal(_innermost(parts), np.stack(parts, axis=-1))


@pytest.mark.parametrize("count", [1, 3, 9])
def test_each_member_is_its_own_run(scenarios, alone, count):
    """To the last bit, with its number, the step, the edges and its minimum flow."""
    (members,) = run_members(scenarios[:count])
    assert members.numbers.tolist() == list(range(count))
    assert len(members.forcings) == count
    for number, record in enumerate(alone[:count]):
        for name in PARTS:
            assert np.array_equal(getattr(members, name)[..., number], record[name].values), name
        assert np.array_equal(members.edges, record["edge"].values)
    assert members.step == 1.0
    assert members.minimum_flow.shape == (2, 1, count)


def test_members_of_other_stores_stand_by_themselves(scenarios):
    """A town with wells has a flow more: members come in groups, each with its numbers; so do those
    that are warmed up, counted or stepped through in another way, and seasons of other days."""
    for change in (
        {"town.larkmill.wells": {"capacity": "1 ML/day"}},
        {"season.warm_up": "none"},
        {"season.step": "12 hour"},
        {"season.start": "2031-04-30"},
        {"season.end": "2031-05-03"},
        {"river.wren.used_before": "10 %"},
    ):
        other = scenarios[1].changed(change)
        groups = list(run_members([scenarios[0], other, scenarios[2]]))
        assert [group.numbers.tolist() for group in groups] == [[0, 2], [1]], change


def test_members_of_other_seeds_have_their_own_weather(scenarios):
    """A seed for each; the same one gives the same."""
    (members,) = run_members(scenarios[:1] * 3, seeds=[5, 6, 5])
    assert np.array_equal(members.volume[..., 0], members.volume[..., 2])
    assert not np.array_equal(members.volume[..., 0], members.volume[..., 1])
    assert members.forcings[0] is members.forcings[2]


def test_what_drives_members_is_kept_for_the_last_ones(scenarios):
    """What was asked for long ago is worked out anew; what a town is does not matter, its river and
    its seed do."""
    shared = SharedForcing(most=4)  # each with the years before it, which are none
    first = shared.of(scenarios[0], 1)
    assert shared.of(scenarios[5], 1) is first
    second = shared.of(scenarios[0], 2)
    assert second is not first
    assert shared.of(scenarios[0].changed({"river.wren.inflow": "4 m3/s"}), 2) is not second
    for seed in range(3, 9):
        shared.of(scenarios[0], seed)
    assert shared.of(scenarios[0], 8) is shared.of(scenarios[3], 8)
    assert shared.of(scenarios[0], 1) is not first


def test_the_largest_gap_of_a_store_by_hand():
    """A store of 10 that gets 4 and loses 2 a day, for half a day: it should hold 11. With 11.5 the
    gap of 0.5 is over 12.5, what it ends with and what left; the second member closes, and a third
    that holds no number counts as infinite."""
    source, target = np.array([-1, 0]), np.array([0, -1])
    volume = np.array([[[10.0, 10.0]], [[11.5, 11.0]]])
    rate = np.repeat(np.array([4.0, 2.0])[None, :, None], 2, axis=2)
    assert _largest_gap(volume, rate, source, target, 0.5) == pytest.approx(0.5 / 12.5)
    assert _largest_gap(volume[..., 1:], rate[..., 1:], source, target, 0.5) == 0.0
    low = np.array([[[10.0]], [[10.0]]])  # a whole one too little, over the 12 that came in or were
    assert _largest_gap(low, rate[..., 1:], source, target, 0.5) == pytest.approx(1.0 / 12.0)
    assert _largest_gap(volume * [1.0, np.nan], rate, source, target, 0.5) == np.inf
    assert _largest_gap(np.zeros((1, 0, 2)), rate[:0], source[:0], target[:0], 0.5) == 0.0


def test_the_gap_of_members_is_that_of_their_records(scenarios, alone):
    """Never less than that of the worst of the single records, whose divisor has a floor."""
    (members,) = run_members(scenarios[:3])
    ledger = members.first.works.ledger
    ends = np.array(ledger.sources), np.array(ledger.targets)
    found = _largest_gap(members.volume, members.rate, *ends, members.step)
    worst = max(float(abs(closure_gap(record)).max()) for record in alone[:3])
    assert worst <= found <= 1e-9


def test_members_that_do_not_close_are_refused(scenarios):
    """Water that comes from nowhere, and a volume or a flow below zero."""
    (members,) = run_members(scenarios[:3])
    _check_closes(members)
    more = members.volume.copy()
    more[1, 3, 2] += 1.0
    below, back = members.volume - 1e9, members.rate.copy()
    back[0, 0, 1] = -1e-3
    for broken in ({"volume": more}, {"volume": below}, {"rate": back}):
        with pytest.raises(RecordError):
            _check_closes(replace(members, **broken))
