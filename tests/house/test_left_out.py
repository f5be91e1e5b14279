"""What the page of what is left out says of the model is so: each sentence, and where it shows."""

from __future__ import annotations

import numpy as np
import pytest
from house.source_tree import ROOT
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.record import flow_mask

PAGE = " ".join((ROOT / "docs/explanation/left-out.md").read_text(encoding="utf-8").split())


@pytest.fixture(scope="module")
def record():
    """A town with wells, and too little water for all of its uses."""
    return hl.simulate(
        one_town(
            '[town.larkmill.wells]\ncapacity = "2 ML/day"\n',
            season__end="2031-05-10",
            season__run_up="0 day",
            river__wren__inflow="0.06 m3/s",
        )
    )


def claimed(sentence: str) -> None:
    """Fail if the page no longer says so: the test is then to be changed with it."""
    assert sentence in PAGE


def test_wells_leave_the_river_alone(record):
    """No flow goes from a river store to wells, or from the river into the ground."""
    claimed("Wells do not draw water out of a river.")
    role = dict(zip(record["store"].values, record["role"].values, strict=True))
    wet = flow_mask(
        record,
        from_place="wren",
        kind=("intake", "river", "downstream", "evaporation", "spill", "release"),
    )
    assert wet.any()
    assert (wet == flow_mask(record, from_place="wren", from_role="reach")).all()
    assert not any(
        role.get(str(target)) == "groundwater" for target in record["target"].values[wet]
    )


def test_the_ground_is_two_stores(record):
    """A town has a subsoil and a groundwater, and no other store below its soil."""
    claimed("The ground is two linear stores for each town, catchment or aquifer")
    of_town = record["store"].values[(record["place"] == "larkmill").values]
    below = {str(name).partition("/")[2] for name in of_town} & {"subsoil", "groundwater"}
    assert len(below) == 2


def test_cuts_fall_on_yards_first_and_on_homes_last(record):
    """Where water is short, homes get the greatest share of what they ask for, yards the least."""
    claimed("Cuts fall on yards, then workplaces, then homes, everywhere")
    asked = record["demand"].isel(town=0).mean("time")
    got = [
        float(record["rate"].isel(flow=flow_mask(record, kind=kind)).sum("flow").mean())
        / float(asked.sel(purpose=purpose))
        for kind, purpose in (
            ("yard_use", "yards"),
            ("work_use", "workplaces"),
            ("home_use", "homes"),
        )
    ]
    assert got == sorted(got)
    assert got[0] < 0.99


def test_rain_and_bought_water_were_never_used(record):
    """What falls and what is bought carries no use."""
    claimed("Imports and the ground's deep water are taken as never used too")
    uses = hl.count_uses(record)["share"]
    rained = flow_mask(record, kind="rain")
    assert rained.any()
    assert np.allclose(uses.sum("use").max(), 1.0)
    fresh = uses.sel(store="larkmill/pavement", use=0).values
    assert np.isin(np.round(fresh, 9), [0.0, 1.0]).all()


def test_demand_grows_with_people_and_nothing_else_of_them():
    """Twice the people ask for twice the water in homes, on every day, whatever it costs them."""
    claimed("Demand depends on number, season and weather, not on price, income or habit.")
    short = {"season__end": "2031-05-10", "season__run_up": "0 day"}
    few, many = (
        hl.simulate(one_town(town__larkmill__people=people, **short))["demand"].sel(purpose="homes")
        for people in (10_000, 20_000)
    )
    assert float(few.min()) > 0.0
    np.testing.assert_allclose(many, 2.0 * few, rtol=1e-9)


def test_a_river_stores_a_power_of_its_flow():
    """Between any two steady flows the stored water grows by the same power: no flood wave, no
    banks."""
    claimed("No flood wave, no flow over the banks")
    claimed("Travel time follows a power law of flow.")
    steady = {
        "weather__rain_scale": 0,
        "season__end": "2031-07-10",
        "season__run_up": "0 day",
        "river__wren__reference_flow": "10 m3/s",
    }
    held, ran = [], (3.0, 30.0, 300.0)
    for flow in ran:
        record = hl.simulate(one_town(river__wren__inflow=f"{flow} m3/s", **steady))
        held.append(float(record["volume"].sel(store="wren/reach_2")[-1]))  # above the town
    powers = np.diff(np.log(held)) / np.diff(np.log(ran))
    assert 0.3 < powers[0] < 1.0
    assert powers[1] == pytest.approx(powers[0], rel=0.02)


def test_stages_save_one_share_everywhere():
    """Of what a stage asks people to save, the same share is saved in all towns on all days."""
    claimed("Of a cut that is asked for one share is saved, the same in all towns and on all days.")
    record = hl.simulate(
        one_town(
            """
[stage.dry]
river = "wren"
at = "12 km"
flow_below = "90 m3/s"
[town.osselby]
people = 9000
intake = { river = "wren", at = "20 km" }
outfall = { river = "wren", at = "25 km" }
""",
            season__end="2031-05-20",
            season__run_up="0 day",
        )
    )
    cut, asked = (
        record[name].sel(purpose="yards").isel(time=slice(2, None)) for name in ("cut", "demand")
    )
    share = (cut / (cut + asked)).values
    assert np.nanmin(share) > 0.0
    np.testing.assert_allclose(share[np.isfinite(share)], np.nanmax(share), rtol=1e-9)
