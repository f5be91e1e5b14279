"""What a wastewater plant treats with its largest unit out, from counts and sizes by hand."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from simple_plants import wastewater_of
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.plants.capacity import capacity_document
from hydroloop.outputs.whatif.changed import as_it_is
from hydroloop.plants import Flows, PlantDesign, UnitProcess, sewage_flows
from hydroloop.plants.standby import with_largest_out
from hydroloop.studies.capacity_study import capacity_study


@given(count=st.integers(1, 12), minutes=st.floats(10.0, 60.0))
def test_equal_contact_tanks(count, minutes):
    """n tanks of m minutes at the peak hour treat (n - 1) / n x m / 15 of it (rule: 15 min)."""
    peak = 30_000.0
    tanks = UnitProcess("contact", count, peak * minutes / 1440.0 / count, 25.0, 4.0)
    plant = PlantDesign("wastewater", (tanks,), 1e9, "peak_hour", "average")
    (found,) = with_largest_out(plant, Flows(1e4, 2e4, peak))
    expected = (count - 1) / count * minutes / 15.0
    assert found.carried == pytest.approx(expected, rel=1e-9, abs=1e-12)
    assert found.units == count - 1
    assert found.is_met == (expected >= 0.5 * (1 - 1e-9))


@settings(max_examples=25, deadline=None)
@given(people=st.integers(300, 500_000), each=st.floats(0.2, 0.6))
def test_a_plant_that_nobody_sized_meets_the_rule(people, each):
    """At least four equal units, each step built for the design flow: three quarters remain."""
    dry = people * each
    design = wastewater_of(design_flow=dry)
    for one in with_largest_out(design, sewage_flows(dry, 20_000)):
        assert one.is_met
        assert one.carried >= 0.75 * (1 - 1e-9)


def test_a_step_that_falls_short_is_named():
    """Two final settling tanks of just the design's surface treat half with one out, not 75 %."""
    scenario = one_town(
        "[town.larkmill.wastewater.basins.final_settling]\ncount = 2\n", season__end="2031-05-31"
    )
    study = capacity_study(scenario, hl.simulate(scenario), "larkmill")
    carried = {one.process: one for one in study.standby}
    assert carried["final_settling"].carried == pytest.approx(0.5)
    assert not carried["final_settling"].is_met
    lines = as_text(capacity_document(study, {}, as_it_is(scenario), "us"), full=True)
    words = " ".join(" ".join(lines).split())
    assert "With the largest unit out, final settling treats less" in words
    assert "EPA-430-99-74-001" in words
    assert "TOO LITTLE" in words
