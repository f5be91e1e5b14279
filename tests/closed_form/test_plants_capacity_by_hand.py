"""Capacities and rows of plants of one or two steps, worked out by hand.

Flocculation of 30 min (a 48th of a day) in two basins of 100 m3 that see 1.25 times what the plant
makes: 200 x 48 / 1.25 = 7,680 m3/d, and 3,840 with one out. Chlorine contact in two clearwells of
1,000 m3, 1 mg/L, T10 three tenths of the mean time, 5 C and pH 7.5: 179 mg min/L for 3 logs of
*Giardia*, 179 / 6 for the half log that is left, and 8 / 2 = 4 for two logs of viruses.
"""

from __future__ import annotations

import math

import pytest
from simple_plants import clearwell, contact

from hydroloop.errors import AskError
from hydroloop.plants import Flows
from hydroloop.plants.capacity import (
    RATED,
    STATED,
    Capacity,
    capacities,
    deciding,
    limit_of,
    own_flow,
    past_step,
    units_out,
    weakest,
)
from hydroloop.plants.design import PlantDesign
from hydroloop.plants.plant_report import unit_report
from hydroloop.plants.standards import Standard
from hydroloop.plants.unit_process import Measure, UnitProcess, measured, measures_of

FLOWS = Flows(1000.0, 1500.0, 3000.0)
FLOC = UnitProcess("flocculation", 2, 100.0, 25.0, 4.0, through=1.25)
GIARDIA, VIRUS = 1440 * 0.3 * 2000 * 6 / 179, 1440 * 0.3 * 2000 / 4


def plant(*processes, stated=1e9, water=None, wells=0.0, imported=0.0):
    return PlantDesign(
        "water", processes, stated, "maximum_day", "maximum_day", water, wells, imported
    )


def found(design, what, out=0):
    return next(one for one in capacities(design, FLOWS, out) if one.what == what)


def test_contact_where_more_passes_the_clearwell_than_the_plant_makes():
    """A clearwell that 1.25 times the flow passes has contact up to four fifths of it."""
    well = UnitProcess("clearwell", 2, 1000.0, 250.0, 4.0, through=1.25)
    design = plant(well, water=contact())
    for germ, flow in (("giardia", GIARDIA), ("virus", VIRUS)):
        assert found(design, f"contact, {germ}").flow == pytest.approx(flow / 1.25)
        one = found(design, f"contact, {germ}", out=1)
        assert (one.flow, one.units, one.out) == (pytest.approx(flow / 2.5), 1, 1)
    report = unit_report(design, Flows(GIARDIA / 1.25, 2 * GIARDIA / 1.25, 4 * GIARDIA / 1.25))
    rows = [r for r in report.rows if r.what == "contact, giardia" and r.out == 0]
    assert [row.value for row in rows] == pytest.approx([1.0, 0.5, 0.25])
    assert [row.verdict for row in rows] == ["within", "over", "over"]
    assert [row.limit_flow for row in rows] == pytest.approx([GIARDIA / 1.25] * 3)
    assert [row.judged for row in rows] == [False, True, False]


def test_groundwater_has_no_limit_by_giardia():
    """Nothing is left to do for it; viruses need all four logs: CT 8."""
    design = plant(clearwell(), water=contact(treatment="groundwater"))
    assert [one.what for one in capacities(design, FLOWS, 0)] == ["contact, virus", RATED]
    assert found(design, "contact, virus").flow == pytest.approx(VIRUS / 2)
    rows = [row.what for row in unit_report(design, FLOWS, out=0).rows]
    assert "contact, giardia" not in rows
    assert rows.count("contact, virus") == 6


def test_a_temperature_that_is_asked_for_comes_before_that_of_the_scenario():
    """At 20 C, pH 7.5 and 1 mg/L the table has 67 in place of 179."""
    design = plant(clearwell(), water=contact())
    (one,) = [
        one
        for one in capacities(design, FLOWS, 0, temperature_c=20.0)
        if one.what == "contact, giardia"
    ]
    assert one.flow == pytest.approx(GIARDIA * 179 / 67)
    report = unit_report(design, FLOWS, out=0, temperature_c=20.0)
    row = next(row for row in report.rows if row.what == "contact, giardia")
    assert row.limit_flow == pytest.approx(GIARDIA * 179 / 67)
    assert row.value == pytest.approx(GIARDIA * 179 / 67 / 1000.0)


def test_water_past_a_step_is_added_to_what_it_carries():
    """Wells come past all but the clearwell, bought water past that too."""
    design = plant(FLOC, clearwell(), water=contact(), wells=500.0, imported=70.0)
    assert past_step(design, FLOC) == 570.0
    assert past_step(design, clearwell()) == 70.0
    assert found(design, "detention").flow == pytest.approx(7680.0 + 570.0)
    assert found(design, "contact, giardia").flow == pytest.approx(GIARDIA + 70.0)
    report = unit_report(design, FLOWS, out=0)
    limits = {row.what: row.limit_flow for row in report.rows if row.process == "flocculation"}
    assert limits["detention"] == pytest.approx(8250.0)
    limits = {row.what: row.limit_flow for row in report.rows if row.process == "clearwell"}
    assert limits["contact, giardia"] == pytest.approx(GIARDIA + 70.0)
    assert (report.wells, report.imported) == (500.0, 70.0)


@pytest.mark.parametrize(
    ("supply", "limit", "own"),
    [
        (300.0, None, 300.0),  # the plant comes first
        (900.0, None, 900.0),
        (1100.0, None, 900.0),  # its capacity of 1,400 less the 500 that come past it
        (1500.0, None, 1000.0),  # more than all of it: the plant is pushed
        (1000.0, 1200.0, 700.0),  # a limit below the capacity
        (1000.0, 1600.0, 900.0),  # and one above it
    ],
)
def test_the_plant_comes_first_and_wells_give_what_it_cannot(supply, limit, own):
    """max(min(supply, least of capacity and limit, less what comes past), supply less that)."""
    design = plant(FLOC, stated=1400.0, wells=500.0)
    assert own_flow(design, FLOC, supply, limit) == own


def test_without_water_past_it_a_step_sees_all_that_is_supplied():
    """However little the plant is said to make."""
    assert own_flow(plant(FLOC, stated=10.0), FLOC, 1500.0, 100.0) == 1500.0
    half = plant(FLOC, stated=1000.0, wells=0.5)
    assert own_flow(half, FLOC, 1000.0, None) == 999.5


def test_a_step_through_which_nothing_flows_shows_nothing():
    """Where wells bring all that is put into supply, the time in flocculation is not told."""
    rows = unit_report(plant(FLOC, stated=4000.0, wells=4000.0), FLOWS, out=0).rows
    assert [(row.what, row.value) for row in rows] == [("detention", None)] * 6
    well = plant(clearwell(), stated=4000.0, water=contact(), imported=4000.0)
    rows = unit_report(well, FLOWS, out=0).rows
    assert {row.value for row in rows} == {None}


def test_a_step_of_which_nothing_is_left_passes_what_comes_past_it():
    """Without its basins flocculation passes the wells' 500 and no more; the clearwell, which has
    no standard of its own without contact, is named for its units."""
    design = plant(FLOC, clearwell(count=1), wells=500.0, imported=70.0)
    assert found(design, "detention", {"flocculation": 2}).flow == pytest.approx(570.0)
    none = found(design, "units in use", {"clearwell": 1})
    assert (none.process, none.units, none.out, none.flow) == ("clearwell", 0, 1, 70.0)
    assert (none.at, none.compared, none.either) == ("maximum_day", 70.0, "units")
    assert weakest(capacities(design, FLOWS, {"clearwell": 1})) == none


def test_the_rated_capacity_comes_last():
    """One unit, none out, at its own day; compared in terms of the basis."""
    design = PlantDesign("wastewater", (), 6000.0, "peak_hour", "average")
    (one,) = capacities(design, FLOWS, 0)
    assert (one.process, one.what, one.units, one.out) == (STATED, RATED, 1, 0)
    assert (one.flow, one.at, one.compared) == (6000.0, "peak_hour", pytest.approx(2000.0))


def test_units_out_up_to_all():
    """None and all may be out, one more may not; of one unit it is said that it is only one."""
    design = plant(FLOC, clearwell(count=1))
    assert units_out(design, 0) == {"flocculation": 0, "clearwell": 0}
    assert units_out(design, {"flocculation": 2}) == {"flocculation": 2, "clearwell": 0}
    assert units_out(design, 1) == {"flocculation": 1, "clearwell": 1}
    with pytest.raises(AskError, match=r"2 units out, but there is only 1\. Give 0 to 1") as caught:
        units_out(design, 2)
    assert [problem.where for problem in caught.value.problems] == ["out.clearwell"]


def test_a_standard_from_memory_limits_nothing():
    """A time has a least value, a rate a highest; the other ends are no capacity."""
    rule = Standard("aeration", "detention", 6, 12, "h", "a rule", "", "average")
    for what, limit in (("detention", 0.25), ("overflow rate", 0.5)):
        assert limit_of(Measure(what, rule, what, ())) == pytest.approx(limit)
    memory = Standard("aeration", "detention", 6, 12, "h", "a rule", "", "average", "memory")
    assert limit_of(Measure("detention", memory, "detention", ())) is None
    assert limit_of(Measure("detention", None, "detention", ())) is None


def test_of_equals_the_first_along_the_water():
    """Of two limits that are the same, the earlier step is named; of two that stand in for each
    other the better, and of equals of these the first."""

    def at(process, what, flow, either):
        return Capacity(process, what, 1, 0, flow, "average", flow, either)

    both = [at("a", "x", 5.0, "x"), at("b", "x", 5.0, "x")]
    assert weakest(both).process == "a"
    pair = [at("a", "x", 5.0, "e"), at("a", "y", 5.0, "e"), at("b", "x", 9.0, "e")]
    assert [one.what for one in deciding(pair)] == ["x", "x"]
    better = [at("a", "x", 5.0, "e"), at("a", "y", 6.0, "e")]
    assert [one.what for one in deciding(better)] == ["y"]


def test_load_of_a_plant():
    """Demand over firm capacity, rounding forgiven: 1,500 of 3,840 m3/d with one basin out."""
    report = unit_report(plant(FLOC), FLOWS)
    assert (report.capacity, report.firm_capacity) == pytest.approx((7680.0, 3840.0))
    assert (report.demand, report.load) == pytest.approx((1500.0, 1500.0 / 3840.0))
    assert report.kind == "water"
    for day, enough in ((3840.0, True), (3840.0 * (1 + 5e-10), True), (3840.1, False)):
        assert unit_report(plant(FLOC), Flows(1.0, day, day)).is_enough == enough


def test_a_row_by_hand():
    """Two basins of 100 m3 at 1.25 times 1,000, 1,500 and 3,000 m3/d; of which the maximum day is
    judged, and a half hour is asked for."""
    rows = unit_report(plant(FLOC), FLOWS).rows
    assert [(row.at, row.out, row.units) for row in rows] == [
        (at, out, 2 - out) for out in (0, 1) for at in ("average", "maximum_day", "peak_hour")
    ]
    for row in rows:
        assert row.value == pytest.approx(100.0 * row.units / (1.25 * row.flow))
        assert (row.low, row.high, row.unit) == (pytest.approx(1 / 48), None, "d")
        assert row.limit_flow == pytest.approx(3840.0 * row.units)
        assert (row.judged, row.assumed, row.verdict) == (row.at == "maximum_day", True, "within")
        assert row.notes == ()
        assert row.rule == "at least 30 min"


@pytest.mark.parametrize(
    ("step", "sizes", "flow", "expected"),
    [
        # V n / Q = 200 x 2 / 1,250; Q / (A n) = 1,250 / 100; Q / (L n) = 1,250 / 20; Q / n / (w d)
        ("sedimentation", ("detention", "overflow rate", "weir load", "velocity"), 1000.0,
         (0.32, 12.5, 62.5, 1250 / 2 / 20)),
        ("filters", ("detention", "filter rate"), 1000.0, (0.32, 12.5)),
    ],
)  # fmt: skip
def test_what_a_step_shows(step, sizes, flow, expected):
    """Two units of 200 m3, 50 m2, 4 m deep, 5 m wide with weirs of 10 m; 1.25 times the flow.
    Detention comes first."""
    unit = UnitProcess(
        step, 2, 200.0, 50.0, 4.0, 1.25, 5.0, 10.0, "multi" if step == "filters" else ""
    )
    assert [measure.what for measure in measures_of(unit)] == list(sizes)
    for what, value in zip(sizes, expected, strict=True):
        assert measured(unit, what, flow, 2) == pytest.approx(value)
    bare = UnitProcess(step, 2, 200.0, 50.0, 4.0, kind=unit.kind)
    assert {m.what for m in measures_of(bare)} == set(sizes) - {"weir load", "velocity"}


def test_verdicts_at_the_ends_of_a_rule():
    """Aeration of 4 to 8 h on average in a tank of 1,000 m3: 6,000 and 3,000 m3/d are its ends, a
    hair of rounding is forgiven, and more time is slow, not over."""
    tank = UnitProcess("aeration", 1, 1000.0, 250.0, 4.0)
    design = PlantDesign("wastewater", (tank,), 1e9, "peak_hour", "average")
    for flow, verdict in (
        (6000.0 * (1 + 5e-10), "within"),
        (6000.0 * (1 + 5e-9), "over"),
        (3000.0 * (1 - 5e-10), "within"),
        (3000.0 * (1 - 5e-9), "slow"),
    ):
        row = unit_report(design, Flows(flow, flow, flow), out=0).rows[0]
        assert (row.verdict, row.is_met) == (verdict, verdict != "over")
        assert (row.low, row.high) == pytest.approx((4 / 24, 8 / 24))


def test_contact_is_enough_from_one_on():
    """At the flow of the limit the ratio is one; a billionth beyond is forgiven, more is not."""
    design = plant(clearwell(), water=contact())
    for times, verdict in ((1.0, "within"), (1 + 5e-10, "within"), (1 + 5e-9, "over")):
        flow = GIARDIA * times
        rows = unit_report(design, Flows(flow, flow, flow), out=0).rows
        assert {row.verdict for row in rows if row.what == "contact, giardia"} == {verdict}


def test_nothing_left_of_a_clearwell_has_no_contact():
    """With all clearwells out the load on the plant is infinite."""
    report = unit_report(plant(clearwell(count=1), water=contact()), FLOWS)
    assert report.load == math.inf
    assert not report.is_enough
