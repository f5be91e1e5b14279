"""Drought stages step by step, at a reservoir that stands at 69 % on the first day of four.

What is asked of homes, workplaces and yards is cut by the share that is complied with; of stages
that a town keeps to at once the strictest cut of each use counts.
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from small_scenarios import one_town

from hydroloop.waterworks import simulate

STAGES = """
[reservoir.mere]
river = "wren"
at = "5 km"
capacity = "1200 ML"
area = "0.2 km2"
start = "69 %"
[stage.alert]
reservoir = "mere"
storage_below = "70 %"
homes = "4 %"
workplaces = "6 %"
yards = "80 %"
compliance = "50 %"
[stage.emergency]
reservoir = "mere"
storage_below = "75 %"
homes = "10 %"
workplaces = "2 %"
yards = "20 %"
compliance = "100 %"
towns = ["larkmill"]
[stage.last]
reservoir = "mere"
storage_below = "20 %"
homes = "50 %"
workplaces = "50 %"
yards = "100 %"
"""
# Of homes, workplaces and yards.
CUTS = {"larkmill": (0.10, 0.03, 0.40), "osselby": (0.02, 0.03, 0.40)}


def _run(**changes):
    scenario = one_town(
        STAGES, season__start="2031-07-01", season__end="2031-07-04", season__run_up="0 day"
    )
    town = scenario.data["town"]["larkmill"]
    return simulate(scenario.changed({"town.osselby": town, **changes}))


@pytest.mark.parametrize(("step", "per_day"), [("1 day", 1), ("12 hour", 2)])
def test_days_in_force_and_the_strictest_cut(step, per_day):
    """The first two stand from the first step on and count their days; the last never begins."""
    record = _run(**{"season.step": step})
    assert_closes(record)
    days = np.arange(1, 4 * per_day + 1) / per_day
    for stage, expected in (("alert", days), ("emergency", days), ("last", 0.0 * days)):
        assert record["stage_days"].sel(stage=stage).values == pytest.approx(expected)
    for town, cuts in CUTS.items():
        cut = record["cut"].sel(town=town).values
        full = cut + record["demand"].sel(town=town).values
        assert cut == pytest.approx(full * cuts)
        assert (full.sum(axis=0) > 0.0).all()


@pytest.mark.parametrize(
    ("start", "begun"), [("75 %", 0), ("74.9 %", 1), ("70 %", 1), ("69.9 %", 2)]
)
def test_a_stage_begins_below_its_mark_and_not_at_it(start, begun):
    """Of the marks of 70 and 75 %."""
    days = _run(**{"reservoir.mere.start": start})["stage_days"].values[0]
    assert (days > 0.0).sum() == begun
