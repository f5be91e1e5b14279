"""The report on a plant: its rows, its verdicts, units out, and what limits it."""

from __future__ import annotations

import time
from dataclasses import replace

import pytest
from simple_plants import CAPACITY, clearwell, contact, wastewater_of, water_of

from hydroloop.errors import AskError
from hydroloop.plants import CAUTION
from hydroloop.plants.capacity import STATED
from hydroloop.plants.design import PlantDesign
from hydroloop.plants.peaking import Flows, sewage_flows
from hydroloop.plants.plant_report import FLOWS, unit_report
from hydroloop.plants.unit_process import UnitProcess
from hydroloop.studies.contact_seasons import MonthContact

AVERAGE = CAPACITY / 2  # a default plant is built for twice the average


def supply_of(average):
    """Maximum day 1.5 times the average, maximum hour twice that."""
    return Flows(average, 1.5 * average, 3.0 * average)


def rows(report, **wanted):
    return [r for r in report.rows if all(getattr(r, k) == v for k, v in wanted.items())]


def test_every_step_is_shown_at_every_flow_with_and_without_a_unit():
    """Each measure of each step stands at three flows, with all units and with one out."""
    report = unit_report(water_of(), supply_of(AVERAGE))
    for process in ("rapid_mix", "flocculation", "sedimentation", "filters", "clearwell"):
        times = [(r.at, r.out) for r in rows(report, process=process, what="detention")]
        assert sorted(times) == sorted((at, out) for at in FLOWS for out in (0, 1))


def test_a_default_plant_carries_its_maximum_day_with_one_unit_out():
    """Built for twice the average with one unit to spare: 1.5 times the average is 75 % of it."""
    report = unit_report(water_of(), supply_of(AVERAGE))
    assert report.firm_capacity == pytest.approx(CAPACITY)
    assert report.load == pytest.approx(0.75)
    assert report.is_enough
    assert not unit_report(water_of(), supply_of(1.34 * AVERAGE)).is_enough
    assert all(row.is_met for row in report.rows if row.judged and row.what != "detention")


def test_a_default_wastewater_plant_carries_its_peak_hour_with_all_units():
    """Settling tanks get the surface their standard asks for at the peak hour."""
    design = wastewater_of()
    report = unit_report(design, sewage_flows(8000.0, 20_000.0))
    assert report.capacity == pytest.approx(8000.0)
    assert all(row.is_met for row in report.rows if row.judged and row.out == 0)
    assert report.firm_capacity < report.demand
    assert (report.load_of_all, report.are_all_enough) == (pytest.approx(1.0), True)
    assert (report.load > 1.0, report.is_enough) == (True, False)
    fuller = unit_report(design, sewage_flows(8800.0, 22_000.0))
    assert fuller.load_of_all == pytest.approx(8800.0 / fuller.capacity)
    assert not fuller.are_all_enough


def test_rounding_is_forgiven_everywhere():
    """A flow that is above what can be carried by its last digit only is carried: by a plant, and
    by the clearwell in a month."""
    flow = 1000.0 * (1.0 + 1e-12)
    month = MonthContact(1, 5.0, 179.0, 6.0, 1000.0, flow)
    assert month.load > 1.0
    assert month.is_enough
    assert not replace(month, asked=1001.0).is_enough
    assert not replace(month, flow=0.0).is_enough
    design = PlantDesign("water", (), 1000.0, "maximum_day", "maximum_day", None)
    assert unit_report(design, Flows(flow, flow, flow)).is_enough


def test_the_stated_capacity_is_a_limit_too():
    """A plant of large basins can make no more than the scenario says."""
    design = PlantDesign("water", (clearwell(1e6),), 500.0, "maximum_day", "maximum_day", contact())
    report = unit_report(design, Flows(100.0, 150.0, 300.0))
    assert (report.capacity, report.limited_by.process) == (500.0, STATED)


def test_peak_hour_limits_are_compared_by_the_ratio_of_flows():
    """A limit at the peak hour is told in average days."""
    tanks = UnitProcess("contact", 2, 150.0, 50.0, 3.0)
    design = PlantDesign("wastewater", (tanks,), 1e9, "peak_hour", "average")
    found = unit_report(design, Flows(1000.0, 1500.0, 3000.0)).limited_by
    assert found.flow == pytest.approx(300.0 * 96)  # 15 min are a 96th of a day
    assert found.compared == pytest.approx(found.flow / 3)


def test_one_of_one_unit_out_leaves_nothing():
    """A plant with a single clearwell has no firm capacity."""
    design = PlantDesign(
        "water", (clearwell(count=1),), 1e4, "maximum_day", "maximum_day", contact()
    )
    report = unit_report(design, Flows(100.0, 150.0, 300.0))
    assert report.firm_capacity == 0.0
    assert report.load == float("inf")
    assert {r.verdict for r in rows(report, out=1)} == {"no unit left"}
    assert all(r.value is None for r in rows(report, out=1))


def test_a_step_without_limit_counts_when_nothing_of_it_is_left():
    """The rapid mix limits no flow, but with none left the plant stands still."""
    report = unit_report(
        water_of("[town.larkmill.plant.basins.rapid_mix]\ncount = 1\n"), supply_of(AVERAGE)
    )
    assert (report.firm_capacity, report.firm_limited_by.process) == (0.0, "rapid_mix")


def test_too_much_time_is_slow_and_not_over():
    """A rapid mix that takes longer than 30 s is slow: no fault of capacity."""
    report = unit_report(water_of(), supply_of(AVERAGE))
    slow = rows(report, process="rapid_mix", at="average", out=0)[0]
    assert (slow.verdict, slow.is_met, slow.limit_flow) == ("slow", True, None)


def test_a_wide_basin_may_be_short_in_time():
    """Sedimentation meets its standard by time or by surface; the better one counts."""
    basins = (
        "[town.larkmill.plant.basins.sedimentation]\n"
        'count = 4\nlength = "60 m"\nwidth = "15 m"\ndepth = "2 m"\nweir = "90 m"\n'
    )
    report = unit_report(water_of(basins), supply_of(AVERAGE))
    settling = [one for one in report.capacities if one.either == "settling"]
    assert [one.what for one in settling] == ["overflow rate"]
    assert (
        rows(report, process="sedimentation", what="detention", at="maximum_day", out=0)[0].verdict
        == "within"
    )


def test_given_sizes_are_told_from_those_worked_out():
    """A row says when a size it hangs on was not given."""
    basins = '[town.larkmill.plant.basins.filters]\ncount = 5\nlength = "6 m"\nwidth = "5 m"\n'
    report = unit_report(water_of(basins), supply_of(AVERAGE))
    assert not rows(report, process="filters", what="filter rate")[0].assumed
    assert rows(report, process="filters", what="detention")[0].assumed
    assert rows(report, process="sedimentation", what="weir load")[0].assumed


def test_single_media_filters_are_held_to_a_lower_rate():
    """Sand alone may be loaded less than sand under anthracite: 3 against 5 gpm/ft2."""
    sand = '[town.larkmill.plant.basins.filters]\nmedia = "single"\n'
    single, multi = (unit_report(water_of(text), supply_of(AVERAGE)) for text in (sand, ""))
    flows = [rows(r, what="filter rate")[0].limit_flow for r in (single, multi)]
    assert flows[0] / flows[1] == pytest.approx(3 / 5)


def test_warm_water_lifts_the_limit_of_contact():
    """The flow at which contact stops being enough is higher in summer."""
    winter, summer = (
        unit_report(water_of(), supply_of(AVERAGE), temperature_c=t) for t in (2.0, 21.0)
    )
    name = {"process": "clearwell", "what": "contact, giardia", "at": "maximum_day", "out": 0}
    assert rows(winter, **name)[0].limit_flow < 0.5 * rows(summer, **name)[0].limit_flow


def test_contact_can_be_the_lowest_limit():
    """With little chlorine at a high pH the clearwell, not the filters, holds a plant back."""
    text = "[town.larkmill.plant.disinfection]\nchlorine_mg_per_l = 0.3\nph = 8.9\n"
    assert unit_report(water_of(text), supply_of(AVERAGE)).limited_by.what == "contact, giardia"


def test_notes_of_the_contact_table_reach_the_report():
    """Where chlorine is off the table the row says at which row it was entered."""
    text = "[town.larkmill.plant.disinfection]\nchlorine_mg_per_l = 3.6\n"
    row = rows(unit_report(water_of(text), supply_of(AVERAGE)), what="contact, giardia")[0]
    assert row.notes == ("chlorine of 3.6 mg/L is taken at the 3 mg/L row",)


def test_more_units_out_than_there_are():
    """All steps with too few units are named at once, with how many they have."""
    with pytest.raises(AskError) as caught:
        unit_report(water_of(), supply_of(AVERAGE), out=9)
    assert len(caught.value.problems) == 5
    assert "9 units out, but there are only 4. Give 0 to 4." in str(caught.value)


def test_units_out_by_name():
    """Units may be out of one step alone; an unknown step is refused with the names there are."""
    report = unit_report(water_of(), supply_of(AVERAGE), out={"filters": 2})
    assert {r.units for r in rows(report, process="filters")} == {4, 2}
    assert {r.units for r in rows(report, process="clearwell")} == {4}
    with pytest.raises(
        AskError, match=r"out\.filter: there is no such step\. There are: rapid_mix"
    ):
        unit_report(water_of(), supply_of(AVERAGE), out={"filter": 1})
    with pytest.raises(AskError, match="-1 units out"):
        unit_report(water_of(), supply_of(AVERAGE), out=-1)


def test_flows_must_rise():
    """Flows that do not rise from average to peak hour are refused."""
    for flows in ((0.0, 1.0, 2.0), (2.0, 1.0, 3.0), (1.0, 2.0, float("nan"))):
        with pytest.raises(AskError, match="do not rise"):
            Flows(*flows)


def test_ten_reports_take_less_than_a_second():
    """Reports on both plants of five towns come within the second they are promised in."""
    plants = [(water_of(), supply_of(AVERAGE)), (wastewater_of(), sewage_flows(8e3, 2e4))] * 5
    start = time.perf_counter()
    for design, flows in plants:
        unit_report(design, flows)
    assert time.perf_counter() - start < 1.0


def test_the_caution_says_what_it_must():
    """The caution names the model, who decides, local codes and the danger of chlorine."""
    for word in ("teaching", "operators", "engineers", "local codes", "Chlorine", "dangerous"):
        assert word in CAUTION
