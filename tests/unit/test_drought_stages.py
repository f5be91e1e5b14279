"""Drought stages begin and end where they should, and cut what they say."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.errors import ScenarioError
from hydroloop.waterworks.drought import stage_holds
from hydroloop.waterworks.whole_network import draw_works

STAGE = """
[reservoir.mere]
river = "wren"
at = "5 km"
capacity = "1200 ML"
area = "0.2 km2"
start = "100 %"
[stage.alert]
reservoir = "mere"
storage_below = "70 %"
storage_above = "85 %"
hold = "10 day"
homes = "4 %"
workplaces = "6 %"
yards = "80 %"
compliance = "50 %"
"""
DRY = {
    "river__wren__inflow": "0.02 m3/s",
    "weather__rain_scale": 0.2,
    "town__larkmill__intake": {"reservoir": "mere"},
}


def test_a_stage_begins_below_its_mark_and_cuts_each_use_by_its_share():
    """While the reservoir stands above 70 % nothing is cut; once it falls below, the
    share of each cut that is complied with."""
    record = hl.simulate(one_town(STAGE, **DRY))
    assert_closes(record)
    level = record["volume"].sel(store="mere/reservoir").values[:-1] / 1.2e6
    on = record["stage_days"].sel(stage="alert").values > 0
    first = int(np.argmax(level < 0.70))
    assert first > 5
    assert not on[:first].any()
    assert on[first:].all()
    cut = record["cut"].sel(town="larkmill")
    full = cut + record["demand"].sel(town="larkmill")
    for purpose, share in (("homes", 0.02), ("workplaces", 0.03), ("yards", 0.40)):
        np.testing.assert_allclose(
            cut.sel(purpose=purpose).values[first:],
            share * full.sel(purpose=purpose).values[first:],
            rtol=1e-12,
        )
    assert float(cut.isel(time=slice(0, first)).max()) == 0.0


def test_a_stage_ends_only_above_its_upper_mark():
    """A refilling reservoir leaves the stage above 85 %, not at the 70 % where it began."""
    record = hl.simulate(
        one_town(
            STAGE,
            river__wren__inflow="0.3 m3/s",
            reservoir__mere__start="50 %",
            town__larkmill__intake={"reservoir": "mere"},
        )
    )
    level = record["volume"].sel(store="mere/reservoir").values[:-1] / 1.2e6
    on = record["stage_days"].sel(stage="alert").values > 0
    last = int(np.argmin(on))
    assert on[0]
    assert last > 0
    assert level[last] > 0.85
    assert (level[:last] <= 0.85).any()
    assert (level[:last] > 0.70).any()


@pytest.mark.parametrize(
    ("is_on", "level", "held_on", "expected"),
    [
        (False, 0.69, False, True),
        (False, 0.71, False, False),
        (True, 0.84, False, True),
        (True, 0.86, False, False),
        (True, 0.99, True, True),
    ],
)
def test_a_stage_begins_low_ends_high_and_holds_on(is_on, level, held_on, expected):
    """Begins below 70 %, ends above 85 %, and not before its shortest time has passed."""
    assert stage_holds(is_on, level, 0.70, 0.85, held_on) is expected


def test_a_stage_counts_its_days():
    """A river that is always below the mark keeps the stage in force from the second step on."""
    record = hl.simulate(
        one_town(
            """
[stage.low_river]
river = "wren"
at = "10 km"
flow_below = "500 m3/s"
flow_above = "501 m3/s"
hold = "10 day"
""",
            river__wren__inflow="3 m3/s",
        )
    )
    days = record["stage_days"].sel(stage="low_river").values
    # The river is always below the mark; before the first step no river is known to be low.
    np.testing.assert_allclose(days, np.arange(len(days), dtype=float))


def test_a_stage_that_watches_nothing_is_refused():
    """A stage without a river or reservoir, or for a town that is not there, gets one line each."""
    with pytest.raises(ScenarioError) as caught:
        one_town('[stage.odd]\ntowns = ["larkmil"]\n')
    assert len(caught.value.problems) == 2
    assert 'Did you mean "larkmill"?' in str(caught.value)


def test_a_drought_plan_saves_water():
    """With the stage the reservoir ends fuller than without it, all else equal."""
    wet = {**DRY, "river__wren__inflow": "0.06 m3/s"}
    with_plan = hl.simulate(one_town(STAGE, **wet))
    without = hl.simulate(one_town(STAGE, **wet, stage__alert__storage_below="5 %"))
    store = {"store": "mere/reservoir"}
    assert float(with_plan["volume"].sel(store)[-1]) > float(without["volume"].sel(store)[-1])


@pytest.mark.parametrize(
    ("changes", "marks", "homes"),
    [
        ({}, (0.70, 0.75), 0.40),
        ({"kind": "mandatory"}, (0.70, 0.75), 0.90),
        ({"storage_below": "97 %"}, (0.97, 1.0), 0.40),
        ({"storage_above": "80 %"}, (0.70, 0.80), 0.40),
        ({"compliance": "25 %"}, (0.70, 0.75), 0.25),
    ],
)
def test_marks_and_savings_that_are_not_given(changes, marks, homes):
    """A reservoir's stage ends a twentieth of it above its mark, at most a hair below full; of what
    is asked nine tenths are saved where it must be, two fifths where it is left to people."""
    plain = STAGE.replace('storage_above = "85 %"\n', "").replace('compliance = "50 %"\n', "")
    scenario = one_town(plain, **{f"stage__alert__{key}": value for key, value in changes.items()})
    (row,) = draw_works(scenario, {"wren": np.full(3, 1e5)}, 2.0).tables.stages
    assert (row["begins_below"], row["ends_above"]) == pytest.approx(marks, abs=1e-8)
    assert row["ends_above"] < 1.0
    assert [row[use] for use in ("homes", "work", "yards")] == pytest.approx(
        [homes * 0.04, homes * 0.06, homes * 0.80]
    )


def test_a_river_s_stage_ends_a_fifth_above_its_mark():
    """Where the scenario names no end."""
    scenario = one_town('[stage.low]\nriver = "wren"\nat = "10 km"\nflow_below = "1 m3/s"\n')
    (row,) = draw_works(scenario, {"wren": np.full(3, 1e5)}, 2.0).tables.stages
    assert (row["begins_below"], row["ends_above"]) == pytest.approx((86_400.0, 1.2 * 86_400.0))
