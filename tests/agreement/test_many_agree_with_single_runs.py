"""What many runs come to is what each comes to alone, through the public functions."""

from __future__ import annotations

import numpy as np
import pytest

import hydroloop as hl
from hydroloop.measures import SEASON
from hydroloop.scenario.sampling import changes_for
from hydroloop.whatif import (
    drawn_job,
    rank_correlations,
    run_job,
    season_table,
    spread,
    sweep,
)

SHARED = [name for name in SEASON if not name.startswith("mean_")]


def assert_same(many, alone):
    """Season measures of a member against all measures of a single run."""
    assert ("cut_share" in many) == ("days_in_stage" in alone)
    for name in (name for name in SHARED if name in many):
        one = alone[name].transpose(*many[name].dims)
        size = max(1.0, float(np.abs(one).max()))
        assert np.allclose(many[name], one, rtol=0, atol=1e-12 * size, equal_nan=True), name
    for name in ("delivered", "withdrawn", "pumped", "effluent", "overflowed"):
        assert np.allclose(many[f"mean_{name}"], alone[name].mean("time"), rtol=1e-12, atol=1e-9)


@pytest.fixture(scope="module")
def five():
    """Five towns in a dry summer, with ranges."""
    return hl.read_scenario("five_towns").changed(
        {
            "season.end": "2031-08-31",
            "town.osselby.people": "80000 to 120000",
            "river.wren.used_before": "2 %",
        }
    )


def test_member_of_an_ensemble_equals_the_single_run(five):
    """Member i, in a block of eight or alone, comes to what its values come to by themselves."""
    table = run_job(drawn_job(five, 9, seed=2))
    for member in (3, 8):
        values = table["drawn"].isel(member=member).values
        own = five.changed(changes_for(five, table["key"].values.tolist(), values))
        alone = hl.measures(hl.simulate(own), own)
        assert_same(table.isel(member=member), alone)


def test_record_with_members_equals_single_records():
    """Volumes, rates, demand and generated weather of a member are those of its own run."""
    scenario = hl.read_scenario("first_town").changed(
        {"season.end": "2031-05-15", "town.larkmill.people": "20000 to 30000"}
    )
    many = hl.simulate(scenario, members=3, seed=5)
    for member in range(3):
        own = scenario.changed(
            changes_for(
                scenario, many["key"].values.tolist(), many["drawn"].isel(member=member).values
            )
        )
        alone = hl.simulate(own, seed=5 + member)
        for name in ("volume", "rate", "demand", "rain_mm"):
            assert np.allclose(many[name].isel(member=member), alone[name], rtol=1e-12, atol=1e-12)


def test_drought_stages_of_a_member_are_those_of_its_run():
    """Days in force and the share cut are those of the single run, in a year that has some."""
    dry = hl.read_scenario("long_river").changed({"dry_season.method": "driest_year"})
    drier = {"reservoir.kelmere.start": "60 %"}
    table = season_table([dry, dry.changed(drier)])
    for member, own in enumerate((dry, dry.changed(drier))):
        alone = hl.measures(hl.simulate(own), own)
        assert_same(table.isel(member=member), alone)
        days = table["days_in_stage"].isel(member=member)
        assert days.values.tolist() == alone["days_in_stage"].values.tolist()
        assert float(table["cut_share"].isel(member=member).min()) > 0.05


def test_each_member_is_warmed_up_in_its_own_way():
    """Ways to warm up are not mixed: each of three members is its own run."""
    towns = hl.read_scenario("five_towns").changed({"season.end": "2031-02-20"})
    ways = [towns.changed({"season.warm_up": way}) for way in ("repeat", "none", "steady")]
    table = season_table(ways)
    for member, own in enumerate(ways):
        assert_same(table.isel(member=member), hl.measures(hl.simulate(own), own))
    unknown = table["season_unknown_share"].sel(town="tamberly").values
    assert unknown[1] > 0.01 > unknown[0]


def test_a_member_without_stages_is_not_cut():
    """Beside members that have drought stages, one without them has none in force and no cut."""
    dry = hl.read_scenario("long_river").changed({"dry_season.method": "driest_year"})
    without = dry.changed({f"stage.{name}": None for name in dry.stage})
    table = season_table([without, dry])
    assert table["days_in_stage"].isel(member=0).values.tolist() == [0.0] * 3
    assert table["cut_share"].isel(member=0).values.tolist() == [0.0] * 2
    alone = season_table([dry]).isel(member=0)
    for name in alone.data_vars:
        assert np.allclose(table[name].isel(member=1), alone[name], rtol=1e-12, equal_nan=True)


def test_members_draw_years_of_their_own():
    """Where years are drawn at random, members differ without a range, and each is its own run."""
    lots = hl.read_scenario("long_river").changed({"dry_season.method": "bootstrap"})
    table = spread(lots, 6, seed=3)
    used = table["season_used_share"].sel(town="ottermarsh").values
    assert len(set(used.round(12))) > 1
    for member in (1, 4):
        alone = hl.measures(hl.simulate(lots, seed=3 + member), lots)
        assert_same(table.isel(member=member), alone)


def test_sweep_of_one_point_equals_a_run(five):
    """A grid with one point holds that point's run, and its keys in the units held."""
    grid = sweep(
        five, {"town.larkmill.mains.real_losses": ["9 %"]}, factors={"river.wren.inflow": [0.8]}
    )
    own = five.changed({"town.larkmill.mains.real_losses": "9 %"}).scaled(
        {"river.wren.inflow": 0.8}
    )
    alone = hl.measures(hl.simulate(own), own)
    assert_same(grid.isel({"town.larkmill.mains.real_losses": 0, "river.wren.inflow": 0}), alone)
    assert grid["town.larkmill.mains.real_losses"].values.tolist() == [0.09]


def test_grid_lies_in_the_order_of_its_keys(five):
    """Every point of a grid of two keys holds its own combination."""
    people, losses = [20000.0, 30000.0, 40000.0], [0.05, 0.2]
    grid = sweep(five, {"town.larkmill.people": people, "town.larkmill.mains.real_losses": losses})
    point = {"town.larkmill.people": people[2], "town.larkmill.mains.real_losses": losses[0]}
    alone = season_table([five.changed(point)]).isel(member=0)
    assert np.allclose(grid.season_mean_uses.sel(point), alone.season_mean_uses, rtol=1e-12)
    assert grid.season_mean_uses.shape == (3, 2, 5)


def test_members_in_any_order_give_the_same(five):
    """Turning the members round turns the results round, networks that differ included."""
    changes = [{"town.larkmill.people": 20000 + 900 * k} for k in range(9)]
    changes[4] |= {"town.larkmill.reuse.plant": "1 ML/day"}
    scenarios = [five.changed(change) for change in changes]
    there, back = season_table(scenarios), season_table(scenarios[::-1])
    for name in there.data_vars:
        assert np.allclose(
            there[name],
            back[name].isel(member=slice(None, None, -1)),
            rtol=1e-12,
            atol=1e-12,
            equal_nan=True,
        ), name


def test_rank_correlation_agrees_with_scipy(five):
    """Spearman's coefficient as scipy has it; more people, more water delivered."""
    from scipy.stats import spearmanr

    found = rank_correlations(run_job(drawn_job(five, 12, seed=4)))
    table = run_job(drawn_job(five, 12, seed=4))
    keys = table["key"].values.tolist()
    for k, key in enumerate(keys):
        theirs = spearmanr(table["drawn"].sel(key=key), table["mean_delivered"].sel(town="osselby"))
        ours = found["mean_delivered"].sel(key=key, town="osselby")
        assert float(ours) == pytest.approx(float(theirs.statistic), abs=1e-9), (k, key)
    assert float(
        found["mean_delivered"].sel(key="town.osselby.people", town="osselby")
    ) == pytest.approx(1.0)
