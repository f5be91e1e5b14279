"""Every figure of one member, of a harsh season with everything in it, is that of its own run."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.measures.towns import find_towns
from hydroloop.record import flow_mask, flow_total
from hydroloop.scenario.sampling import changes_for

TOWNS = """
[reservoir.mere]
river = "wren"
at = "8 km"
capacity = "300 ML"
area = "0.1 km2"
start = "70 %"
[stage.alert]
reservoir = "mere"
storage_below = "80 %"
kind = "mandatory"
homes = "10 %"
workplaces = "20 %"
yards = "60 %"
[aquifer.chalk]
area = "60 km2"
river = "wren"
at = "30 km"
baseflow = "0.2 m3/s"
[town.osselby]
people = 12000
land = { aquifer = "chalk" }
sewers = { kind = "combined" }
wells = { capacity = "1 ML/day" }
intake = { river = "wren", at = "25 km", minimum_flow = "0.03 m3/s" }
outfall = { river = "wren", at = "32 km" }
"""
SETS = {
    "river.wren.inflow": "0.11 m3/s",
    "river.wren.minimum_flow": "0.06 m3/s",
    "season.end": "2031-05-21",
    "weather.rain_scale": 6.0,
    "season.run_up": "0 day",
    "town.larkmill.people": "15000 to 30000",
    "town.osselby.people": "9000 to 16000",
}


@pytest.fixture(scope="module", params=["1 day", "6 hour"])
def runs(request):
    """Table of measures of three members, and of the second by itself."""
    scenario = one_town(TOWNS).changed({**SETS, "season.step": request.param})
    many = hl.simulate(scenario, members=3, seed=4)
    own = scenario.changed(
        changes_for(scenario, many["key"].values.tolist(), many["drawn"].isel(member=1).values)
    )
    alone = hl.simulate(own, seed=5)
    assert_closes(alone)
    return many, hl.measures(many, scenario), alone, hl.measures(alone, own)


def test_the_season_is_harsh(runs):
    """There is something of all that might be left out: wells, cuts, shortage, combined sewers."""
    _, _, alone, table = runs
    for name in ("pumped", "withdrawn", "unmet_total"):
        assert float(np.abs(table[name]).max()) > 0.0, name
    assert float(alone["cut"].sum()) > 0.0
    combined = flow_mask(alone, kind="stormwater", target=("osselby/sewers",))
    for flows in (combined, flow_mask(alone, kind="infiltration")):
        assert float(flow_total(alone, flows).sum()) > 0.0


def test_every_measure_is_that_of_its_own_run(runs):
    """All numbers and dates of the table; days that have gone by reach as far back as those of the
    member that needs most of them."""
    _, many, _, alone = runs
    compared = 0
    for name, own in alone.data_vars.items():
        member = many[name].isel(member=1) if "member" in many[name].dims else many[name]
        member = member.transpose(*own.dims)
        for dim in {"days_ago", "days_between"} & set(own.dims):
            far = own.sizes[dim]
            assert not np.nan_to_num(member.isel({dim: slice(far, None)}).values).any(), name
            member = member.isel({dim: slice(far)})
        if own.dtype.kind != "f":
            assert member.values.astype(str).tolist() == own.values.astype(str).tolist(), name
            continue
        size = max(1.0, float(np.nanmax(np.abs(own.values), initial=0.0)))
        # Members are warmed up together, until the slowest has settled.
        assert np.allclose(member, own, rtol=0, atol=1e-5 * size, equal_nan=True), name
        compared += int((np.nan_to_num(own.values) != 0.0).any())
    assert compared > 40


def test_a_stage_cuts_each_purpose_by_its_own_share(runs):
    """Asked for 10, 20 and 60 %, with nine tenths of it saved, in every member and step that the
    stage is in force; the cut and what is left make up what would have been asked for."""
    many, *_ = runs
    cut, left = (many[name].sel(town="larkmill").isel(member=1) for name in ("cut", "demand"))
    share = (cut / (cut + left)).where(cut + left > 0.0)
    for purpose, asked in (("homes", 0.10), ("workplaces", 0.20), ("yards", 0.60)):
        found = share.sel(purpose=purpose).values
        found = found[np.isfinite(found) & (found > 0.0)]
        assert len(found)
        assert found == pytest.approx(0.9 * asked)


def test_infiltration_rises_with_the_water_table():
    """On the first day as much more seeps into the sewers as the baseflow tells that the
    groundwater stands higher."""
    seeping = []
    for baseflow in ("0.1 m3/s", "0.3 m3/s"):
        scenario = one_town(TOWNS).changed(
            {
                **SETS,
                "town.larkmill.people": 15000,
                "town.osselby.people": 12000,
                "season.end": "2031-05-03",
                "aquifer.chalk.baseflow": baseflow,
            }
        )
        record = hl.simulate(scenario)
        flows = flow_mask(record, kind="infiltration", from_place="chalk")
        seeping.append(float(flow_total(record, flows)[0]))
    assert seeping[0] > 0.0
    assert seeping[1] == pytest.approx(3.0 * seeping[0], rel=1e-9)


def test_a_parcel_begins_where_most_arrives_in_its_member():
    """Where some members buy most of their water and others take it from the river, each parcel and
    drop of the long run begins where that of the member's own run does."""
    scenario = one_town().changed(
        {
            "season.end": "2031-05-11",
            "season.run_up": "0 day",
            "town.larkmill.imported": "9 ML/day",
            "river.wren.inflow": "0.001 m3/s to 0.2 m3/s",
        }
    )
    many = hl.simulate(scenario, members=4, seed=2)
    table = hl.measures(many, scenario)
    begins = set()
    for number in range(4):
        own = scenario.changed(
            changes_for(
                scenario, many["key"].values.tolist(), many["drawn"].isel(member=number).values
            )
        )
        alone = hl.simulate(own, seed=2 + number)
        begins |= {town.first for town in find_towns(alone)}
        figures = hl.measures(alone, own)
        for name in ("parcel_passes", "parcel_pass_share", "parcel_end_share", "lifetime_passes"):
            assert table[name].isel(member=number).values == pytest.approx(
                figures[name].values, rel=1e-9
            ), name
    assert len(begins) == 2
