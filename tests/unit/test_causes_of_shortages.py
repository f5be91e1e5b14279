"""Why a town ran short is told as the record has it: the river, its minimum flow, the reservoir."""

from __future__ import annotations

import numpy as np
import pytest

import hydroloop as hl
from hydroloop.measures import run_of
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.short import short_answer
from hydroloop.outputs.run.shortage_cause import cause_of_shortage


def found(name, **changed):
    """A run, and the shortage that its answer leads with."""
    scenario = hl.read_scenario(name)
    for how, keys in changed.items():
        scenario = getattr(scenario, how)(keys)
    record = hl.simulate(scenario)
    result = Result(scenario, record, hl.measures(record, scenario))
    return result, result.shortages[0]


def test_a_minimum_flow_that_held_water_back_is_told():
    """On its short days the intake leaves the minimum flow, to the last drop, and no less."""
    result, short = found("five_towns")
    assert short.town == "brackenhythe"
    said = cause_of_shortage(result, short)
    days = np.isin(result.record["time"].values.astype("datetime64[D]"), short.days)
    least = result.record["minimum_flow"].sel(town="brackenhythe").values[days]
    run = run_of(result.record)
    left = run.flow("past_intake")[days, run.number("brackenhythe"), 0]
    assert left == pytest.approx(least)
    assert least.min() > 0.0
    assert said == "The Fenlow's minimum flow had to stay in it."
    assert said in " ".join(block.words for block in short_answer(result))


def test_a_river_that_had_no_more_and_who_did_without():
    """Where the yards alone go short, and the river is drawn dry, both are said."""
    result, short = found("first_town", scaled={"river.wren.inflow": 0.2})
    lacked = result.table["unmet"].sel(town="larkmill").sum("time")
    assert float(lacked.sel(purpose="yards")) == pytest.approx(float(lacked.sum()))
    assert cause_of_shortage(result, short) == "Only yards went short, as the Wren had no more."
    said = " ".join(block.words for block in short_answer(result))
    shares = result.table["use_share"].sel(town="penhollow").transpose("time", ...)
    most = 100.0 * float(np.nanmax(shares.values[:, 1:].sum(axis=1)))
    assert f"The most on one day was {most:.0f} %" in said  # there is room for it


def test_a_reservoir_at_its_dead_storage():
    """Where the intake's reservoir holds no more than its dead storage, that is the cause."""
    result, short = found("long_river", scaled={"river.tessle.inflow": 0.2})
    assert cause_of_shortage(result, short) == "Kelmere was down to its dead storage."
    lake = result.scenario.reservoir["kelmere"]
    held = float(result.record["volume"].sel(store="kelmere/reservoir").min()) / lake.capacity
    assert held == pytest.approx(lake.dead_storage, abs=0.01)


def test_no_cause_is_made_up():
    """A plant that is too small leaves water in the river: nothing is said of the river then."""
    result, short = found("first_town", changed={"town.larkmill.plant.capacity": "2 Mgal/day"})
    said = cause_of_shortage(result, short)
    assert "Wren" not in said
    assert "minimum flow" not in said
