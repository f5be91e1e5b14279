"""The tables of supply and of drought stages agree with the record, and the report shows them."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes

import hydroloop as hl
from hydroloop.measures.reservoir_yield import sequent_peak
from hydroloop.outputs.document.as_json import as_values
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.run.document import run_document
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.supply_tables import reservoirs, stages, supply
from hydroloop.outputs.whatif.changed import as_it_is

DRIEST = {"dry_season.method": "driest_year"}
NO_STAGES = {"stage.*.storage_below": "0 %"}


def run(changes: dict[str, object]) -> Result:
    scenario = hl.read_scenario("long_river").changed(changes)
    record = hl.simulate(scenario)
    assert_closes(record)
    return Result(scenario, record, hl.measures(record, scenario), "metric")


@pytest.fixture(scope="module")
def dry() -> Result:
    """The driest year of the files, with the drought stages."""
    return run(DRIEST)


@pytest.fixture(scope="module")
def unheeded() -> Result:
    """The driest year, in which no stage ever begins."""
    return run({**DRIEST, **NO_STAGES})


def test_days_of_stages_are_counted_in_the_record(dry):
    """Days in force and the first of them are those on which the record's counter stands."""
    record = dry.record
    for row in stages(dry).records():
        on = record["stage_days"].sel(stage=row["stage"]).values > 0.0
        assert row["time in force [days]"] == on.sum()
        first = record["time"].values[np.argmax(on)].astype("datetime64[D]")
        assert row["first day in force"] == str(first)


def test_a_stage_that_never_begins_has_no_first_day(unheeded):
    """Without a day in force the first day stays empty."""
    assert {
        (row["time in force [days]"], row["first day in force"])
        for row in stages(unheeded).records()
    } == {(0.0, "")}


def test_share_cut_is_more_than_what_is_saved(dry, unheeded):
    """Indoors, what stages cut is what is used less; a lawn that got less asks for more later."""
    told = {
        row["town"]: row["share of the use that drought stages cut [%]"]
        for row in supply(dry).records()
    }
    for town, share in told.items():
        asked = dry.record["demand"].sel(town=town).sum("time")
        whole = unheeded.record["demand"].sel(town=town).sum("time")
        cut = dry.record["cut"].sel(town=town).sum("time")
        indoors = ["homes", "workplaces"]
        np.testing.assert_allclose(
            cut.sel(purpose=indoors), (whole - asked).sel(purpose=indoors), rtol=1e-9
        )
        assert 100.0 * float(1.0 - asked.sum() / whole.sum()) < share < 100.0


def test_a_minimum_flow_by_rule_is_told_as_a_flow():
    """What a rule comes to is told as a flow: twice the share is twice as much."""
    flow = {"river.tessle.minimum_flow": None, "river.tessle.minimum_flow_rule": "share_of_mean"}
    by_share = [
        supply(run({**DRIEST, **flow, "river.tessle.minimum_flow_share": share})).records("metric")
        for share in ("10 %", "20 %")
    ]
    few, more = (rows[1]["minimum flow at the intake, mean [m3/s]"] for rows in by_share)
    assert more == pytest.approx(2.0 * few)
    fixed = supply(run({"river.tessle.minimum_flow": "0.06 m3/s"})).records("metric")
    assert [row["minimum flow at the intake, mean [m3/s]"] for row in fixed] == [None, 0.06]


def test_stages_keep_a_town_supplied_for_longer(dry, unheeded):
    """Without its stages the town by the reservoir runs short in the driest year, with them not."""
    heeded, not_heeded = supply(dry).records()[0], supply(unheeded).records()[0]
    assert heeded["time with enough water [%]"] == 100.0
    assert not_heeded["time with enough water [%]"] < 100.0
    assert heeded["longest time with too little water [days]"] == 0.0
    assert not_heeded["longest time with too little water [days]"] > 1.0


def page(one: Result):
    return run_document(one, as_it_is(one.scenario))


def text_of(one: Result) -> str:
    return "\n".join(as_text(page(one), full=True))


def test_the_report_tells_of_the_drought(dry):
    """The report names the days that are used, how well towns are supplied, and each stage."""
    text, values = " ".join(text_of(dry).split()), as_values(page(dry))
    for word in ("dry season: the days of 2038", "Is there enough?", "emergency on "):
        assert word in text
    assert values["ran"]["dry_season"].startswith("the days of 2038")
    assert [row["stage"] for row in values["tables"]["stages"]] == ["watch", "warning", "emergency"]


def test_an_ordinary_report_is_silent_about_droughts():
    """Without stages and a dry season the report names neither."""
    scenario = hl.read_scenario("first_town")
    record = hl.simulate(scenario)
    text = text_of(Result(scenario, record, hl.measures(record, scenario)))
    assert "Is there enough?" in text
    assert "Drought stages" not in text
    assert "dry season" not in text


def test_a_reservoir_that_ran_dry_gave_more_than_it_can(dry, unheeded):
    """What was drawn of a reservoir that ran dry lies above its yield, by the sequent peak of the
    record with 5 % of dead storage left out; a larger one could give more, and the lowest level is
    that of the record."""
    (row,) = reservoirs(unheeded).records("metric")
    draft = (
        1000.0
        * row["yield: what it could give every day, to towns and to the river below [ML/day]"]
    )
    assert 1000.0 * row["drawn, let out and spilled, mean [ML/day]"] > draft
    assert row["lowest, share of capacity [%]"] < 10.0
    record, capacity = unheeded.record, unheeded.scenario.reservoir["kelmere"].capacity
    lowest = float(record["volume"].sel(store="kelmere/reservoir").min())
    assert row["lowest, share of capacity [%]"] == pytest.approx(100.0 * lowest / capacity)
    net = record["rate"].isel(flow=record["target"].values == "kelmere/reservoir").sum(
        "flow"
    ) - record["rate"].isel(
        flow=(record["source"].values == "kelmere/reservoir")
        & (record["kind"].values == "evaporation")
    ).sum("flow")
    assert sequent_peak(net.values, draft).max() == pytest.approx(0.95 * capacity, rel=1e-6)
    text = text_of(dry)
    assert "Reservoirs" in text
    assert "share of short days that end a shortage" in text


def test_words_that_could_be_misread_are_told_below_their_tables(dry, unheeded):
    """Where stages cut, what is asked for is said to be what they left; a reservoir that ran dry is
    said to have had its dead storage left, and a yield to have the river's part in it."""
    assert "asked for: what is left to ask for after the cuts" in text_of(dry)
    assert "asked for: what is left" not in text_of(unheeded)
    lowest = reservoirs(dry).records("us")[0]
    dead = lowest["dead storage, share of capacity [%]"]
    assert dead == pytest.approx(100.0 * dry.scenario.reservoir["kelmere"].dead_storage)
    assert ("no water but the dead storage" in text_of(dry)) == (
        lowest["lowest, share of capacity [%]"] <= dead + 1.0
    )
    assert "no water but the dead storage" in text_of(unheeded)
    assert "yield: minimum flow and release are in it" in text_of(dry)


def test_without_reservoirs_there_is_no_table_of_them():
    """A map without reservoirs has none in the report."""
    scenario = hl.read_scenario("first_town")
    record = hl.simulate(scenario)
    assert reservoirs(Result(scenario, record, hl.measures(record, scenario))).records() == []
