"""Flows that the plant's report holds its steps to, against those of the water account."""

from __future__ import annotations

import pytest
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.plants import Flows, unit_report, water_plant
from hydroloop.plants.unit_process import measured
from hydroloop.studies.capacity_study import capacity_study
from hydroloop.waterworks.sizes import town_sizes

TOWN = "larkmill"


def with_wells(capacity):
    """A town of 20,000 whose plant makes so much, with wells of 9 ML/d beside it."""
    return one_town(
        season__start="2031-07-01",
        season__end="2031-07-31",
        river__wren__inflow="30 m3/s",
        town__larkmill__wells={"capacity": "9 ML/day"},
        town__larkmill__plant__capacity=f"{capacity} ML/day",
    )


def busiest_day(scenario):
    """Rates of the flows of the day on which most is put into the tanks, and its number."""
    rate = hl.simulate(scenario)["rate"]
    made = rate.sel(flow=f"{TOWN}/clearwell > {TOWN}/tanks").values
    return rate.isel(time=int(made.argmax())), float(made.max())


@pytest.mark.parametrize("capacity", [6, 40])
def test_steps_and_clearwell_carry_what_the_account_says(capacity):
    """The plant first, then wells straight to the clearwell: small plants lean on their wells."""
    scenario = with_wells(capacity)
    rate, made = busiest_day(scenario)
    town, sizes = scenario.town[TOWN], town_sizes(scenario.town[TOWN])
    design = water_plant(town, sizes.plant_capacity)
    report = unit_report(design, Flows(made, made, made), out=0)
    filters = next(unit for unit in design.processes if unit.process == "filters")
    filtered = float(rate.sel(flow=f"{TOWN}/filters > {TOWN}/clearwell"))
    assert filtered <= sizes.plant_capacity * (1 + 1e-9)
    row = next(r for r in report.rows if (r.process, r.what) == ("filters", "filter rate"))
    assert row.value == pytest.approx(measured(filters, "filter rate", filtered, filters.count))
    assert (made > filtered * (1 + 1e-9)) == (capacity == 6)
    clearwell = next(unit for unit in design.processes if unit.process == "clearwell")
    row = next(r for r in report.rows if (r.process, r.what) == ("clearwell", "detention"))
    assert row.value == pytest.approx(clearwell.volume * clearwell.count / made)


def test_wells_add_to_every_limit_but_the_clearwells():
    """With wells of W every limit of a step before the clearwell lies W higher, and so does the
    plant as a whole; the clearwell must still take it all."""
    alone = one_town(
        season__start="2031-07-01",
        season__end="2031-07-31",
        river__wren__inflow="30 m3/s",
        town__larkmill__plant__capacity="12 ML/day",
    )
    both = alone.changed({"town.larkmill.wells": {"capacity": "9 ML/day"}})
    found = [
        {
            (one.process, one.what): one.flow
            for one in capacity_study(scenario, hl.simulate(scenario), TOWN).water.firm_capacities
        }
        for scenario in (alone, both)
    ]
    for step, flow in found[0].items():
        added = 0.0 if step[0] == "clearwell" else 9000.0
        assert found[1][step] == pytest.approx(flow + added), step


def test_a_step_is_over_only_when_the_wells_cannot_help():
    """At a supply between a step's own limit and that plus the wells, the step is within."""
    scenario = with_wells(12)
    design = water_plant(scenario.town[TOWN], 12_000.0)

    def filters(supply):
        report = unit_report(design, Flows(supply, supply, supply), out=1)
        return next(
            row
            for row in report.rows
            if row.out and (row.process, row.what) == ("filters", "filter rate")
        )

    limit = filters(1000.0).limit_flow
    for supply, verdict in (
        (limit - 8999.0, "within"),
        (limit - 1.0, "within"),
        (limit + 1.0, "over"),
    ):
        assert filters(supply).verdict == verdict


def test_bought_water_adds_to_every_limit():
    """Water that is bought comes treated, past the clearwell too: with I of it every limit of the
    supply lies I higher."""
    alone = one_town(
        season__start="2031-07-01",
        season__end="2031-07-31",
        river__wren__inflow="30 m3/s",
        town__larkmill__plant__capacity="12 ML/day",
    )
    both = alone.changed({"town.larkmill.imported": "7 ML/day"})
    studies = [capacity_study(scenario, hl.simulate(scenario), TOWN) for scenario in (alone, both)]
    found = [
        {(one.process, one.what): one.flow for one in study.water.firm_capacities}
        for study in studies
    ]
    for step, flow in found[0].items():
        assert found[1][step] == pytest.approx(flow + 7000.0), step
    reached = [{one.limit: one.flow for one in study.reached} for study in studies]
    assert reached[1] == pytest.approx({name: flow + 7000.0 for name, flow in reached[0].items()})


def test_the_clearwell_carries_what_the_account_says_beside_bought_water():
    """A small plant that buys the rest: what passes its clearwell in the account is what the report
    holds its contact to."""
    scenario = one_town(
        season__start="2031-07-01",
        season__end="2031-07-31",
        river__wren__inflow="30 m3/s",
        town__larkmill__imported="9 ML/day",
        town__larkmill__plant__capacity="4 ML/day",
    )
    rate = hl.simulate(scenario)["rate"]
    whole = rate.sel(flow=[f"{TOWN}/clearwell > {TOWN}/tanks", f"import > {TOWN}/tanks"])
    day = int(whole.sum("flow").values.argmax())
    made, bought = whole.isel(time=day).values.tolist()
    assert bought > 0.0
    design = water_plant(scenario.town[TOWN], 4000.0)
    flow = made + bought
    report = unit_report(design, Flows(flow, flow, flow), out=0)
    clearwell = next(unit for unit in design.processes if unit.process == "clearwell")
    row = next(r for r in report.rows if (r.process, r.what) == ("clearwell", "detention"))
    assert row.value == pytest.approx(clearwell.volume * clearwell.count / made)


def test_a_town_that_buys_all_its_water_has_no_plant_to_judge():
    """No step and no contact: what can be bought is the capacity."""
    scenario = one_town(season__end="2031-05-31").changed(
        {"town.larkmill.intake": None, "town.larkmill.imported": "9 ML/day"}
    )
    study = capacity_study(scenario, hl.simulate(scenario), TOWN)
    assert study.water.rows == ()
    assert study.water.firm_capacity == pytest.approx(9000.0)
    assert [one.limit for one in study.reached] == ["plant: rated capacity"]
