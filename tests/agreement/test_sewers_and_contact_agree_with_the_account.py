"""What the plant's report says of sewers, contact by month and years, against the water account."""

from __future__ import annotations

import numpy as np
import pytest
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.plants.capacity import capacity_document
from hydroloop.outputs.whatif.changed import as_it_is
from hydroloop.plants import unit_report, water_plant
from hydroloop.record import step_days
from hydroloop.studies.capacity_study import capacity_study
from hydroloop.studies.wet_weather import wet_weather
from hydroloop.waterworks.sizes import town_sizes

TOWN = "larkmill"
LEAKY = '[town.larkmill.sewers]\nkind = "combined"\ninfiltration = "60 gal/person/day"\n'


@pytest.fixture(scope="module")
def combined():
    """A town whose streets drain into its sewers, in steps of six hours."""
    scenario = one_town(LEAKY, season__step="6 hour", season__end="2031-07-31")
    return scenario, hl.simulate(scenario)


def page(scenario, study):
    """All words of a study, as the command shows them."""
    lines = as_text(capacity_document(study, {}, as_it_is(scenario), "us"), full=True)
    return " ".join(" ".join(lines).split())


def test_the_parts_are_all_that_enters_the_sewers(combined):
    """Homes, workplaces, wash water, infiltration and inflow add up to what the account lets in."""
    scenario, record = combined
    found = wet_weather(scenario, record, TOWN)
    entering = record["rate"].isel(flow=record["target"].values == f"{TOWN}/sewers").sum("flow")
    assert found.mean == pytest.approx(float(entering.mean()), rel=1e-12)
    assert min(found.homes, found.work, found.washing, found.infiltration, found.inflow) > 0.0
    by_day = entering.values.reshape(-1, 4).mean(axis=1)
    assert found.wettest_day == pytest.approx(by_day.max())
    assert found.dry_day < found.mean < found.wettest_day


def test_overflow_and_bypass_are_those_of_the_account(combined):
    """Volume and hours of both, from the flows of the record."""
    scenario, record = combined
    found = wet_weather(scenario, record, TOWN)
    days = step_days(record)
    for kind, volume, hours in (
        ("overflow", found.overflow, found.overflow_hours),
        ("bypass", found.bypass, found.bypass_hours),
    ):
        rate = record["rate"].isel(flow=record["kind"].values == kind).sum("flow").values
        assert volume == pytest.approx(float((rate * days).sum()), rel=1e-12)
        assert volume > 0.0
        assert hours == 6.0 * int((rate > 1e-6).sum())
    study = capacity_study(scenario, record, TOWN)
    words = page(scenario, study)
    assert "overflowed to the river untreated in" in words
    assert "A step of 6 hours counts whole" in words


def test_a_tight_town_loses_none():
    """Without storm water and infiltration nothing overflows, and all days are dry."""
    dry = one_town(
        '[town.larkmill.sewers]\nstorm_share = "0 %"\ninfiltration = "0 gal/person/day"\n',
        season__end="2031-06-30",
    )
    record = hl.simulate(dry)
    found = wet_weather(dry, record, TOWN)
    assert (found.inflow, found.infiltration, found.overflow, found.bypass) == (0, 0, 0, 0)
    assert found.dry_day == pytest.approx(found.mean)
    words = page(dry, capacity_study(dry, record, TOWN))
    assert "No sewage overflowed, and none bypassed aeration." in words


def test_contact_of_the_coldest_month_is_the_clearwells_limit():
    """Where a month is as cold as the coldest water given, its flow is that of the unit report;
    a warmer month never has a lower one; the busiest day of all months is the season's."""
    scenario = one_town(
        season__start="2031-01-01",
        season__end="2031-12-31",
        town__larkmill__plant__disinfection__temperature="11 C",
    )
    record = hl.simulate(scenario)
    study = capacity_study(scenario, record, TOWN)
    months = {one.month: one for one in study.contact}
    assert sorted(months) == list(range(1, 13))
    sizes = town_sizes(scenario.town[TOWN])
    plant = unit_report(water_plant(scenario.town[TOWN], sizes.plant_capacity), study.water.flows)
    limit = min(one.flow for one in plant.firm_capacities if one.is_contact)
    coldest = min(months.values(), key=lambda one: one.temperature_c)
    assert coldest.temperature_c == 11.0
    assert coldest.flow == pytest.approx(limit)
    ordered = sorted(months.values(), key=lambda one: one.temperature_c)
    assert (np.diff([one.flow for one in ordered]) >= -1e-9).all()
    assert max(one.asked for one in months.values()) == pytest.approx(study.water.demand)


def test_groundwater_has_no_seasons():
    """Water of wells is as cold all year round, so no month is told apart."""
    wells = one_town(season__end="2031-05-31").changed(
        {"town.larkmill.intake": None, "town.larkmill.wells": {"capacity": "20 ML/day"}}
    )
    assert capacity_study(wells, hl.simulate(wells), TOWN).contact == []


def test_ranges_of_people_and_jobs_make_the_band():
    """Twice as many people at most make twice the demand of today at most, and every range of the
    town is either drawn or said not to be."""
    scenario = one_town(
        town__larkmill__people="15000 to 30000",
        town__larkmill__growth={"jobs_per_year": "0 % to 4 %"},
        town__larkmill__plant={"capacity": "18 ML/day to 20 ML/day"},
        season__end="2031-06-30",
    )
    record = hl.simulate(scenario)
    study = capacity_study(scenario, record, TOWN)
    assert set(study.ranged) == {f"town.{TOWN}.people", f"town.{TOWN}.growth.jobs_per_year"}
    assert study.not_drawn == (f"town.{TOWN}.plant.capacity",)
    words = page(scenario, study)
    assert f"Ranges that stay at their middle here: town.{TOWN}.plant.capacity." in words
    assert (
        "jobs growing by 2 % a year and use in each home falling by 0.5 %, the middle of" in words
    )
    stated = next(one for one in study.reached if one.limit == "plant: rated capacity")
    assert stated.early < stated.years < stated.late


def test_steps_that_fall_short_together_are_enlarged_together():
    """A default plant's flocculation and sedimentation bind at once: one more unit of both buys
    years, a bigger clearwell none."""
    scenario = one_town(season__end="2031-06-30", town__larkmill__growth={"people_per_year": "3 %"})
    gains = dict(capacity_study(scenario, hl.simulate(scenario), TOWN).bought)
    both = "one more unit of flocculation and sedimentation, and the plant rated for it"
    assert gains[both] > 0.0
    assert gains["one more filter"] == 0.0
    assert gains["a clearwell half as large again"] == 0.0
