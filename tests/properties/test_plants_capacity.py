"""Laws of plant capacity: fewer units carry less, larger ones more; limits are where they say."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from simple_plants import contact

from hydroloop.plants.capacity import capacities, deciding, weakest
from hydroloop.plants.design import PlantDesign
from hydroloop.plants.peaking import Flows, peak_hour_ratio
from hydroloop.plants.plant_report import unit_report
from hydroloop.plants.unit_process import UnitProcess, flow_at, measured

SIZE = st.floats(1.0, 1e5)
WATER = ("rapid_mix", "flocculation", "sedimentation", "filters", "clearwell")
WASTEWATER = ("primary", "aeration", "final_settling", "contact")


@st.composite
def units(draw, process):
    volume, depth = draw(SIZE), draw(st.floats(0.5, 8.0))
    return UnitProcess(
        process,
        draw(st.integers(1, 12)),
        volume,
        volume / depth,
        depth,
        through=draw(st.floats(1.0, 1.2)),
        width_m=draw(st.none() | st.floats(1, 50)),
        weir_m=draw(st.none() | st.floats(1, 500)),
        kind=draw(st.sampled_from(["single", "multi"])) if process == "filters" else "",
    )


@st.composite
def plants(draw):
    steps = draw(st.sampled_from([WATER, WASTEWATER]))
    processes = tuple(draw(units(step)) for step in steps)
    stated = draw(st.floats(10.0, 1e6))
    if steps is WASTEWATER:
        return PlantDesign("wastewater", processes, stated, "peak_hour", "average")
    water = contact(
        ph=draw(st.floats(6, 9)),
        temperature_c=draw(st.floats(0, 30)),
        chlorine_mg_per_l=draw(st.floats(0.05, 4)),
    )
    return PlantDesign("water", processes, stated, "maximum_day", "maximum_day", water)


@st.composite
def flows(draw):
    average, day, hour = draw(SIZE), draw(st.floats(1, 3)), draw(st.floats(1, 3))
    return Flows(average, average * day, average * day * hour)


def capacity(plant, flow, out):
    return weakest(capacities(plant, flow, out)).compared


@settings(max_examples=60)
@given(plants(), flows())
def test_a_unit_less_never_carries_more(plant, flow):
    """Capacity does not rise with units out, and with all out nothing is left."""
    most = min(unit.count for unit in plant.processes)
    ladder = [capacity(plant, flow, out) for out in range(most + 1)]
    assert ladder == sorted(ladder, reverse=True)
    assert ladder[-1] == 0.0


@settings(max_examples=60)
@given(plants(), flows(), st.floats(1.0, 5.0))
def test_a_plant_of_larger_units_never_carries_less(plant, flow, factor):
    """Enlarging every unit does not lower the capacity."""
    larger = PlantDesign(
        plant.kind,
        tuple(
            UnitProcess(
                u.process,
                u.count,
                u.volume * factor,
                u.area_m2 * factor,
                u.depth_m,
                u.through,
                None if u.width_m is None else u.width_m * factor,
                None if u.weir_m is None else u.weir_m * factor,
                u.kind,
            )
            for u in plant.processes
        ),
        plant.capacity * factor,
        plant.capacity_at,
        plant.basis,
        plant.contact,
    )
    assert capacity(larger, flow, 0) == pytest.approx(factor * capacity(plant, flow, 0))


@settings(max_examples=60)
@given(units("sedimentation"), st.floats(0.01, 1e3), st.integers(1, 12))
def test_a_limit_is_where_it_says(unit, limit, left):
    """At the flow that is called the limit, what is measured equals the limit."""
    for what in ("detention", "overflow rate"):
        assert measured(unit, what, flow_at(unit, what, limit, left), left) == pytest.approx(limit)


@settings(max_examples=60)
@given(plants(), flows())
def test_rows_and_capacities_agree(plant, flow):
    """A judged row is over exactly where its flow lies beyond its limit."""
    report = unit_report(plant, flow, out=0)
    for row in report.rows:
        if row.judged and row.limit_flow is not None and row.verdict != "slow":
            assert row.is_met == (row.flow <= row.limit_flow * (1 + 1e-9))
    assert report.firm_capacity <= report.capacity


@settings(max_examples=60)
@given(plants(), flows())
def test_at_its_capacity_a_plant_meets_every_rule(plant, flow):
    """Scaled to its capacity, a plant breaks no rule that counts; a hair beyond, it breaks one."""
    scale = capacity(plant, flow, 0) / getattr(flow, plant.basis)
    for factor, meets in ((1 - 1e-6, True), (1 + 1e-6, False)):
        at = Flows(
            *(
                getattr(flow, name) * scale * factor
                for name in ("average", "maximum_day", "peak_hour")
            )
        )
        found = deciding(capacities(plant, at, 0))
        assert all(getattr(at, one.at) <= one.flow for one in found) == meets


@given(st.floats(1, 1e8), st.floats(1, 1e8))
def test_larger_places_peak_less(one, other):
    """The peak-hour ratio falls with people, between 1 and 4.5."""
    low, high = peak_hour_ratio(max(one, other)), peak_hour_ratio(min(one, other))
    assert 1.0 < low <= high < 4.5
