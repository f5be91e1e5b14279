"""Capacity of equal units in closed form.

N equal basins of volume V and surface A pass a flow Q. Their detention time N V / Q meets a least
time t at Q = N V / t; their overflow rate Q / (N A) meets a highest rate v at Q = v N A. With one
out, N - 1 stand for N, so that firm capacity is (N - 1) / N of the whole. Depth d = V / A ties the
two: the time binds before the rate where d / t < v.

Chlorine contact C f (N V) 1440 / Q against CT: Q = 1440 C f N V / CT. By the table, 5 C, pH 7.5,
1.0 mg/L: CT 179 for 3 logs, 179 / 6 for the half log that conventional treatment leaves, so with C
= 1, f = 0.3 and N V = 2,000 m3: Q = 1440 x 0.3 x 2000 x 6 / 179 = 28,961 m3/d.

Raw water counts: r = 1 / ((1 - s)(1 - b)) of it enters for each m3 of treated water, so a step that
sees r Q meets its limit at Q / r.
"""

from __future__ import annotations

import pytest
from simple_plants import clearwell, contact

from hydroloop.plants.capacity import capacities, weakest
from hydroloop.plants.design import PlantDesign
from hydroloop.plants.peaking import Flows
from hydroloop.plants.unit_process import UnitProcess

FLOWS = Flows(1000.0, 1500.0, 3000.0)


def plant(*processes, water=None):
    return PlantDesign("water", processes, 1e9, "maximum_day", "maximum_day", water)


@pytest.mark.parametrize("count", [1, 2, 3, 4, 9])
def test_firm_capacity_of_equal_basins(count):
    """Flocculation of 30 min: N V x 48 a day, and (N - 1) / N of it with one out."""
    basins = plant(UnitProcess("flocculation", count, 100.0, 25.0, 4.0))
    whole, firm = (weakest(capacities(basins, FLOWS, out)).compared for out in (0, 1))
    assert whole == pytest.approx(count * 100.0 * 48)
    assert firm == pytest.approx(whole * (count - 1) / count)


def test_raw_water_counts():
    """A step that sees 1.25 times the treated flow has four fifths of the capacity."""
    basins = plant(UnitProcess("flocculation", 2, 100.0, 25.0, 4.0, through=1.25))
    assert weakest(capacities(basins, FLOWS, 0)).compared == pytest.approx(2 * 100.0 * 48 / 1.25)


@pytest.mark.parametrize(("depth_m", "binds"), [(4.0, "overflow rate"), (6.0, "detention")])
def test_deep_basins_settle_by_time_and_shallow_ones_by_surface(depth_m, binds):
    """At 4 h and 0.5 gpm/ft2 (29.337 m/d) the two rules meet at 4.89 m; the better one counts."""
    basins = plant(UnitProcess("sedimentation", 2, 1200.0, 1200.0 / depth_m, depth_m))
    found = weakest(capacities(basins, FLOWS, 0))
    assert found.what == binds
    expected = {"detention": 2 * 1200 * 6, "overflow rate": 29.337 * 2 * 1200 / depth_m}[binds]
    assert found.compared == pytest.approx(expected, rel=1e-5)


def test_flow_of_contact():
    """The flow at which half a log of Giardia is just reached, as worked out above."""
    found = capacities(plant(clearwell(1000.0), water=contact()), FLOWS, 0)
    giardia = next(one for one in found if one.what == "contact, giardia")
    assert giardia.compared == pytest.approx(1440 * 0.3 * 2000 * 6 / 179, rel=1e-12)


def test_a_limit_of_contact_is_the_clearwells():
    """Contact is limited for two germs in the clearwell; its detention, the contact tank of sewage
    and the plant as a whole are limits of another kind."""
    tanks = UnitProcess("contact", 2, 150.0, 50.0, 3.0)
    found = capacities(plant(clearwell(1000.0), tanks, water=contact()), FLOWS, 0)
    assert [one.what for one in found if one.is_contact] == ["contact, giardia", "contact, virus"]
    assert {one.process for one in found if one.is_contact} == {"clearwell"}
    assert len(found) == 4
