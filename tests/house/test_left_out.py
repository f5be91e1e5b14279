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
    return hl.simulate(one_town(
        '[town.larkmill.wells]\ncapacity = "2 ML/day"\n', season__end="2031-05-10",
        season__run_up="0 day", river__wren__inflow="0.06 m3/s"))


def claimed(sentence: str) -> None:
    """Fail if the page no longer says so: the test is then to be changed with it."""
    assert sentence in PAGE


def test_wells_leave_the_river_alone(record):
    """No flow goes from a river store to wells, or from the river into the ground."""
    claimed("Wells do not draw water out of a river.")
    role = dict(zip(record["store"].values, record["role"].values, strict=True))
    wet = flow_mask(record, from_place="wren", kind=("intake", "river", "downstream",
                                                     "evaporation", "spill", "release"))
    assert wet.any()
    assert (wet == flow_mask(record, from_place="wren", from_role="reach")).all()
    assert not any(role.get(str(target)) == "groundwater"
                   for target in record["target"].values[wet])


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
    got = [float(record["rate"].isel(flow=flow_mask(record, kind=kind)).sum("flow").mean())
           / float(asked.sel(purpose=purpose))
           for kind, purpose in (("yard_use", "yards"), ("work_use", "workplaces"),
                                 ("home_use", "homes"))]
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
