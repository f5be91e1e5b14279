"""Laws of contributions and of comparisons."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_scenarios import one_town

from hydroloop import read_scenario
from hydroloop.whatif import compare, read_plan_text
from hydroloop.whatif.contributions import drawn_contributions, exact_contributions


def two_towns():
    """Two towns on one river, in a short season."""
    return read_scenario("first_town").changed({"season.end": "2031-05-15"})


numbers = st.floats(-100, 100, allow_nan=False)


@given(
    st.integers(1, 5).flatmap(lambda count: st.lists(numbers, min_size=2**count, max_size=2**count))
)
@settings(max_examples=60, deadline=None)
def test_contributions_add_up_and_do_not_hang_on_the_numbering(values):
    """They sum to the whole difference; numbering the changes the other way turns them round."""
    count = len(values).bit_length() - 1

    def turned(one):
        return int(f"{one:0{count}b}"[::-1], 2)

    found = exact_contributions(count, lambda sets: np.array([values[one] for one in sets]))
    back = exact_contributions(count, lambda sets: np.array([values[turned(one)] for one in sets]))
    assert found.sum() == pytest.approx(values[-1] - values[0], abs=1e-10)
    assert found[::-1] == pytest.approx(back, abs=1e-10)


@given(st.integers(2, 12), st.integers(0, 1000))
@settings(max_examples=30, deadline=None)
def test_drawn_contributions_add_up_in_every_draw(count, seed):
    """However few orders are drawn, contributions sum to the whole difference."""
    weights = np.random.default_rng(seed).normal(size=count)

    def values(sets):
        chosen = np.array([[one >> k & 1 for k in range(count)] for one in sets], dtype=float)
        return np.tanh(chosen @ weights)

    found, _ = drawn_contributions(count, values, orders=2, seed=seed)
    ends = values([0, 2**count - 1])
    assert found.sum() == pytest.approx(ends[1] - ends[0], abs=1e-12)


def test_every_measure_is_split_exactly():
    """Contributions of a plan's steps to each measure add up to after less before."""
    plan = read_plan_text("""
        [plan]
        title = "Three steps"
        [[step]]
        what = "more people"
        measure = "growth"
        by = "60 %"
        [[step]]
        what = "less river"
        scale = { river.wren.inflow = 0.1 }
        [[step]]
        what = "reuse"
        measure = "reuse_route"
        to = "plant"
        flow = "1000 m3/day"
        """)
    found = compare(one_town(), plan)
    assert found.error is None
    assert found.runs == 8
    assert set(found.contributions.data_vars) == set(found.table.data_vars)
    for name, parts in found.contributions.data_vars.items():
        whole = found.difference[name]
        size = float(np.abs(found.table[name]).max())
        gap = np.abs(parts.sum("change", skipna=False) - whole)
        assert (gap.fillna(0.0) <= 1e-12 * max(1.0, size)).all(), name
    assert (found.difference["season_used_share"] > 0).all()


def test_a_change_that_does_nothing_contributes_nothing():
    """Words that are said otherwise make no difference; the change with an effect has all of it."""
    before = two_towns()
    written = {"town.larkmill.mains.real_losses": "12 %"}  # which is the default
    after = before.changed({"town.larkmill.people": 30000, **written})
    found = compare(before, after)
    parts = found.contributions.season_used_share.sel(town="penhollow")
    assert float(parts.sel(change="town.larkmill.mains.real_losses")) == 0.0
    assert float(parts.sel(change="town.larkmill.people")) == pytest.approx(
        float(found.difference.season_used_share.sel(town="penhollow")), abs=1e-15
    )
    assert float(parts.sel(change="town.larkmill.people")) > 0.001


def test_the_way_back_has_the_same_contributions_with_the_other_sign():
    """Comparing after with before turns every sign and nothing else."""
    before = two_towns()
    after = before.changed({"town.larkmill.people": 30000, "river.wren.inflow": "1 m3/s"})
    there, back = compare(before, after), compare(after, before)
    for name in ("season_used_share", "season_mean_uses", "mean_effluent"):
        ways = [run.contributions[name].sortby("change").values for run in (there, back)]
        assert ways[0] == pytest.approx(-ways[1], abs=1e-12 * max(1.0, np.abs(ways[0]).max()))


def test_more_than_eight_changes_are_drawn_and_say_their_error():
    """Nine changes: orders by lot, the same with the same seed, still adding up."""
    before = two_towns()
    homes = "town.larkmill.homes"
    after = before.changed(
        {
            "town.larkmill.people": 26000,
            "river.wren.inflow": "2 m3/s",
            "town.larkmill.mains.real_losses": "9 %",
            f"{homes}.toilets": "20 %",
            f"{homes}.baths": "30 %",
            f"{homes}.consumed": "5 %",
            "town.larkmill.sewers.infiltration": "10 gal/person/day",
            "town.larkmill.land.paved": "50 %",
            f"{homes}.laundry": "20 %",
        }
    )
    found, again = (compare(before, after, orders=3, seed=5) for _ in range(2))
    assert found.contributions.sizes["change"] == 9
    assert found.contributions.identical(again.contributions)
    assert found.error is not None
    gap = found.contributions.season_used_share.sum("change") - found.difference.season_used_share
    assert float(np.abs(gap).max()) < 1e-12
    assert float(found.error.season_used_share.max()) > 0.0


def test_a_town_that_goes_is_one_change():
    """A town that only one run has is changed as a whole; its own measures have no difference."""
    five = read_scenario("first_town")
    found = compare(five, five.changed({"town.larkmill": None}))
    assert found.contributions.change.values.tolist() == ["town.larkmill taken out"]
    drop = found.difference.season_used_share
    assert float(drop.sel(town="penhollow")) < 0.0
    assert np.isnan(drop.sel(town="larkmill"))


def test_nothing_changed_is_no_difference():
    """A scenario compared with itself has no change and no difference."""
    found = compare(two_towns(), two_towns())
    assert found.contributions.sizes["change"] == 0
    assert float(np.abs(found.difference.season_used_share).max()) == 0.0
    assert found.inputs == []
