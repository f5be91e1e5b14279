"""Minimum flow by rule: months, hemispheres, whose rule counts, and what is refused."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.errors import InputError, ScenarioError
from hydroloop.waterworks.forcing import season_forcing
from hydroloop.waterworks.minimum_flow import (
    minimum_flow_series,
    tennant_share,
    town_minimum_flows,
)
from hydroloop.weather.low_flow import low_flow, yearly_minima

YEAR = np.arange("2031-01-01", "2032-01-01", dtype="datetime64[D]")


def test_tennant_turns_with_the_hemisphere():
    """In the south the growing season is October to March; both halves have the same two shares."""
    north, south = (tennant_share(YEAR, "good", southern=southern) for southern in (False, True))
    assert (north == 0.4).sum() == 30 + 31 + 30 + 31 + 31 + 30
    np.testing.assert_allclose(north + south, 0.6, rtol=1e-15)


def test_seven_day_low_flow_of_a_record():
    """The rule 7q10 gives the 7Q10 of the record on every step, also in steps of hours."""
    days = np.arange("1980-01-01", "2020-01-01", dtype="datetime64[D]")
    inflow = np.random.default_rng(3).lognormal(10.0, 0.6, len(days))
    time = np.arange("2031-01-01T00", "2031-01-03T00", dtype="datetime64[h]")
    found = minimum_flow_series("7q10", inflow, days, time)
    wanted = low_flow(yearly_minima(inflow, days).minima, 10.0)
    assert found.tolist() == [wanted.value] * 48


def test_a_short_record_is_refused():
    """Two years of inflow give no 7Q10."""
    days = np.arange("2001-04-01", "2003-04-01", dtype="datetime64[D]")
    with pytest.raises(InputError, match="too few"):
        minimum_flow_series("7q10", np.ones(len(days)), days, YEAR)


def test_an_unknown_rule_is_refused():
    """A rule or a class that does not exist is named with those that do."""
    with pytest.raises(InputError, match="share_of_mean"):
        minimum_flow_series("half", np.ones(3), YEAR[:3], YEAR)
    with pytest.raises(InputError, match="outstanding"):
        tennant_share(YEAR, "lovely")


def test_the_rule_of_the_river_and_the_mark_of_an_intake():
    """A town gets its river's minimum by rule, unless its own intake has a mark."""
    scenario = one_town(
        river__wren__minimum_flow_rule="share_of_mean", river__wren__minimum_flow_share="25 %"
    )
    forcing = season_forcing(scenario)
    flows = town_minimum_flows(scenario.town, forcing.minimum_flow)
    np.testing.assert_allclose(flows, 0.25 * 3.0 * 86_400.0, rtol=1e-12)
    own = scenario.changed({"town.larkmill.intake.minimum_flow": "0.1 m3/s"})
    flows = town_minimum_flows(own.town, forcing.minimum_flow)
    np.testing.assert_allclose(flows, 8_640.0, rtol=1e-12)


def test_a_dry_season_does_not_lower_its_own_mark():
    """The share is one of the usual inflow, not of the dry one."""
    rule = {"river__wren__minimum_flow_rule": "share_of_mean"}
    plain = season_forcing(one_town(**rule)).minimum_flow["wren"]
    dry = season_forcing(one_town('[dry_season]\nrain_scale = "50 %"\n', **rule))
    assert (dry.minimum_flow["wren"] == plain).all()
    assert dry.inflow["wren"][0] == pytest.approx(0.25 * 3.0 * 86_400.0, rel=1e-12)


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"river__wren__minimum_flow_rule": "7q10"}, "no inflow file"),
        (
            {
                "river__wren__minimum_flow_rule": "tennant",
                "river__wren__inflow": None,
                "river__wren__catchment": "500 km2",
            },
            "none of its own",
        ),
        (
            {"river__wren__minimum_flow_rule": "tennant", "river__wren__minimum_flow": "1 m3/s"},
            "Leave one of them out",
        ),
        ({"river__wren__minimum_flow_share": "20 %"}, "does nothing"),
        ({"river__wren__minimum_flow_class": "poor"}, "does nothing"),
    ],
)
def test_rules_without_anything_to_go_by_are_refused(changes, said):
    """A rule that has no inflow to go by, or a key that does nothing, is told on reading."""
    with pytest.raises(ScenarioError, match=said):
        one_town(**changes)


def test_an_intake_leaves_the_seasonal_minimum_in_the_river():
    """Past the intake flows the minimum of the month, or all that comes when there is less.

    The river is just large enough for the town in March and, from April, too small to give it all.
    """
    scenario = one_town(
        season__start="2031-03-20",
        season__end="2031-04-12",
        river__wren__inflow="0.16 m3/s",
        river__wren__minimum_flow_rule="tennant",
        river__wren__minimum_flow_class="excellent",
    )
    record = hl.simulate(scenario)
    assert_closes(record)
    intake = record["kind"].values == "intake"
    cell = str(record["source"].values[intake][0])
    leaves = (record["source"].values == cell) & (record["kind"].values == "river")
    left = record["rate"].values[:, leaves].sum(axis=1)
    taken = record["rate"].values[:, intake].sum(axis=1)
    share = np.where(record["time"].dt.month.values < 4, 0.3, 0.5)
    minimum = share * 0.16 * 86_400.0
    np.testing.assert_allclose(record["minimum_flow"].values[:, 0], minimum, rtol=1e-12)
    assert (left >= np.minimum(minimum, left + taken) - 1e-6).all()
    april = record["time"].dt.month.values == 4
    np.testing.assert_allclose(left[april][2:], minimum[april][2:], rtol=1e-9)
    assert float(hl.measures(record, scenario)["days_under_minimum_flow"][0]) == 0.0
