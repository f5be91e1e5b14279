"""Sizes, first volumes and reference flows of works that a scenario leaves open, by hand.

15,000 people use 200 L at home and 100 at work, their yards 1.5 mm over 40 m2 at 75 %: 80 L; with
5 % leaks 15,000 x 0.38 / 0.95 = 6,000 m3 a day. Of 200 L a tenth is consumed and a tenth of the
rest goes to on-site systems, of 100 L a fifth is consumed, and 50 L seep in: 15,000 x (0.162 + 0.08
+ 0.05) = 4,380 m3 of sewage. At 1,500 people to a square kilometre they stand on 10 km2.
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from step_by_hand import Steps, ground, streams

from hydroloop.scenario import read_toml
from hydroloop.waterworks import simulate
from hydroloop.waterworks.recharge import Years, recharge_by_land
from hydroloop.waterworks.sizes import town_sizes
from hydroloop.waterworks.whole_network import draw_works

TOWN = """
people = 15000
homes = { use_per_person = "200 L/person/day", consumed = "10 %", septic = "10 %" }
workplaces = { use_per_person = "100 L/person/day", consumed = "20 %" }
yards = { area_per_person = "40 m2", efficiency = "75 %", soil_depth = "60 mm" }
plant = { sludge = "0 %", backwash = "20 %", rapid_mix = "2 hour" }
mains = { real_losses = "5 %" }
"""
SEWERS = '{ infiltration = "50 L/person/day", travel_time = "6 hour"'
SCENARIO = f"""
title = "Works that the scenario leaves open"
[season]
start = 2031-05-01
end = 2031-05-03
run_up = "0 day"
[weather]
seed = 3
[river.wren]
length = "40 km"
inflow = "2 m3/s"
lateral_inflow = "0.4 m3/s"
[river.fenlow]
length = "12 km"
inflow = "0.5 m3/s"
catchment = "50 km2"
catchment_at_end = "80 km2"
joins = "wren"
joins_at = "10 km"
[river.rill]
length = "3 km"
catchment = "9 km2"
catchment_at_end = "9 km2"
joins = "fenlow"
[river.ditch]
length = "2 km"
inflow = "0.004 m3/s"
joins = "wren"
[reservoir.mere]
river = "wren"
at = "5 km"
area = "1 km2"
capacity = "2 hm3"
[aquifer.upper]
area = "10 km2"
storage = "1000 mm"
river = "wren"
at = "20 km"
[aquifer.lower]
area = "25 km2"
storage = "400 mm"
soil_depth = "100 mm"
river = "wren"
at = "20 km"
[town.larkmill]
intake = {{ river = "wren", at = "15 km" }}
outfall = {{ river = "wren", at = "20 km" }}
land = {{ aquifer = "upper", paved = "40 %", soil_depth = "120 mm" }}
sewers = {SEWERS} }}
reuse = {{ yards = "300 m3/day", groundwater = "100 m3/day" }}
{TOWN}
[town.osselby]
intake = {{ river = "wren", at = "25 km", capacity = "20 ML/day", permit = "9 ML/day" }}
outfall = {{ river = "wren", at = "22 km" }}
land = {{ aquifer = "lower" }}
sewers = {SEWERS}, kind = "combined" }}
{TOWN}
"""


@pytest.fixture(scope="module")
def steps():
    scenario = read_toml(SCENARIO)
    record = simulate(scenario)
    assert_closes(record)
    return Steps(record, scenario)


def test_sizes_of_a_town():
    """The plant twice the 6,000, with a fifth for washing 15,000 raw; wastewater 1.2 times the
    4,380, with full treatment for 2.7 times that; sewers four times, or five where combined."""
    towns = read_toml(SCENARIO).town
    expected = {
        "mean_input": 6_000.0,
        "plant_capacity": 12_000.0,
        "intake_limit": 15_000.0,
        "tanks_volume": 6_000.0,
        "mains_volume": 3_000.0,
        "dry_weather": 4_380.0,
        "design_flow": 5_256.0,
        "sewer_capacity": 17_520.0,
        "sewer_storage": 4_380.0,
        "secondary_capacity": 14_191.2,
        "storm_share": 0.02,
        "land_area": 10e6,
    }
    assert vars(town_sizes(towns["larkmill"])) == pytest.approx(expected)
    combined = {"intake_limit": 9_000.0, "sewer_capacity": 21_900.0, "sewer_storage": 5_475.0}
    expected |= combined | {"storm_share": 1.0}
    assert vars(town_sizes(towns["osselby"])) == pytest.approx(expected)


def test_first_volumes_of_a_town(steps):
    """Sewers six hours of a dry day; soil and yards half full; tanks at four fifths; pipes 100 L a
    person at home and a fifth of that at work; the reclaimed tank half full of a day's 400 m3; the
    second town's effluent pond a day, as it discharges above its intake."""
    expected = {
        "sewers": 1_095.0,
        "snow": 0.0,
        "pavement": 0.0,
        "storm_drains": 0.0,
        "soil": 0.5 * 0.12 * (6e6 - 0.6e6),
        "yards": 0.5 * 0.06 * 0.6e6,
        "rapid_mix": 1_250.0,
        "tanks": 4_800.0,
        "mains": 3_000.0,
        "toilets": 360.0,
        "baths": 345.0,
        "taps": 525.0,
        "laundry": 270.0,
        "workplaces": 210.0,
        "work_toilets": 90.0,
        "primary": 438.0,
        "aeration": 1_314.0,
        "reclaimed": 200.0,
    }
    found = {part: steps.held(f"larkmill/{part}", 0) for part in expected}
    assert found == pytest.approx(expected)
    assert steps.held("osselby/effluent_pond", 0) == pytest.approx(4_380.0)
    assert "larkmill/effluent_pond" not in steps.stores
    assert "osselby/reclaimed" not in steps.stores


def test_shared_aquifers(steps):
    """The towns' 10 km2 cover the one wholly, so it has no land of its own; of the other 15 km2 are
    left, whose streams join the river where it drains."""
    assert steps.held("upper/groundwater", 0) == pytest.approx(10e6)
    assert steps.held("lower/groundwater", 0) == pytest.approx(10e6)
    assert steps.held("lower/soil", 0) == pytest.approx(0.5 * 0.1 * 15e6)
    assert not {"upper/soil", "upper/streams", "larkmill/groundwater"} & set(steps.stores)
    for t in range(3):
        rain = steps.flow("rain", "lower/soil", t)
        assert rain == pytest.approx(steps.rain[t] / 1000.0 * 15e6)
        joins = steps.out("lower/streams", t, "river")
        assert joins == pytest.approx(streams(steps, "lower", t, 15.0))


def test_infiltration_from_shared_ground(steps):
    """750 m3 a day in the mean, as long as the table stands where 21 % of the rain on open land,
    300 m3 of leaks and 270 from on-site systems hold it."""
    rain, shared = steps.record.attrs["usual_rain_mm"] / 1000.0, steps.scenario.aquifer["lower"]
    comes = 0.21 * rain * (25e6 - 0.38 * 10e6) + 300.0 + 270.0
    mean = shared.recession * max(comes - 750.0, 0.1 * comes)
    found = ground(steps, "lower", 0, (shared, 10e6 - mean, 750.0, mean))
    seeps = steps.flow("lower/groundwater", "osselby/sewers", 0)
    assert seeps == pytest.approx(found["infiltration"])
    assert steps.out("lower/groundwater", 0, "baseflow") == pytest.approx(found["baseflow"])


def test_first_recharge(steps):
    """A fifth of the rain, 21 %, enters the ground that is not paved: half of what percolates, and
    the subsoil holds three days of all."""
    rain = steps.record.attrs["usual_rain_mm"] / 1000.0
    for place, open_area in (("upper", 6e6), ("lower", 25e6 - 0.38 * 10e6), ("rill", 9e6)):
        expected = 3.0 * 0.21 * rain * open_area / 0.5
        assert steps.held(f"{place}/subsoil", 0) == pytest.approx(expected)


def test_long_run_recharge(steps):
    """Of 2 mm of rain a day that neither runs off nor evaporates half recharges the ground that its
    land is not paved over: that of the rill, and the two that the towns share."""
    sky = np.tile([2.0, 10.0, 0.0, 0.0], (365, 1))
    rivers = {name: np.full(1, 1e5) for name in ("wren", "fenlow", "ditch")}
    works = draw_works(steps.scenario.model, rivers, 2.0)
    found = recharge_by_land(works, Years(sky))
    assert found == pytest.approx([9_000.0, 6_000.0, 15_000.0 + 6_200.0], rel=1e-3)


def test_water_joins_along_a_river(steps):
    """What is given, in proportion to the length of the reaches; of the 30 km2 beside the gauged
    river 9 are the tributary's, and the other 21 bring 0.42 times what its 50 do."""
    day = 86_400.0
    for store, km in (("wren/reach_2", 5), ("wren/reach_3", 5), ("wren/reach_6", 2)):
        beside = steps.flow("upstream", store, 0, kind="lateral")
        assert beside == pytest.approx(0.4 * day * km / 40.0)
    beside = steps.flow("upstream", "fenlow/reach_2", 0, kind="lateral")
    assert beside == pytest.approx(0.42 * 0.5 * day)
    assert steps.flow("upstream", "wren/reach_1", 0) == pytest.approx(2.0 * day)
    # The rill's catchment does not grow: all of its streams join at its head.
    joins = [target for source, target in steps.ends if source == "rill/streams"]
    assert joins == ["rill/reach_1"]


def test_flows_along_rivers_that_join(steps):
    """The reference flow of a river is the mean of all that joins it or its tributaries: of rain on
    9 km2 a third, and on the first day a fifth. It is 864 m3 a day at least. Reaches hold
    V = (length / speed) Q_ref^b Q^(1 - b), and are 4.8 Q^0.5 wide (m3/s)."""
    day, rain = 86_400.0, steps.record.attrs["usual_rain_mm"] / 1000.0 * 9e6
    mean, first = {"rill": rain / 3.0}, {"rill": rain / 5.0}
    for flows in (mean, first):
        flows["fenlow"] = 1.42 * 0.5 * day + flows["rill"]
        flows["wren"] = 2.404 * day + flows["fenlow"]
    mean["ditch"], first["ditch"] = 864.0, 0.004 * day
    speed, b = 0.4 * day, 0.34
    for store, km in (
        ("wren/reach_2", 5.0),
        ("wren/reach_3", 5.0),
        ("wren/reach_4", 5.0),
        ("fenlow/reach_2", 12.0),
        ("rill/reach_2", 3.0),
        ("ditch/reach_2", 2.0),
    ):
        river = store.split("/")[0]
        held = km * 1000.0 / speed * mean[river] ** b * first[river] ** (1.0 - b)
        assert steps.held(store, 0) == pytest.approx(held)
        surface = km * 1000.0 * 4.8 * (mean[river] / day) ** 0.5
        assert steps.flow("rain", store, 0) == pytest.approx(steps.rain[0] / 1000.0 * surface)
    assert steps.rain[0] > 0.0
    assert steps.held("mere/reservoir", 0) == pytest.approx(0.8 * 2e6)


def test_rivers_join_where_they_say_or_at_the_end(steps):
    """A tributary flows into the reach that begins where it joins, at km 10 the fourth, or else
    into the last point of the other river, which has no length."""
    ends = {
        source: target
        for source, target in steps.ends
        if source.split("/")[0] != target.split("/")[0] and "reach" in source and "reach" in target
    }
    last = max((s for s in steps.stores if s.startswith("wren")), key=_number)
    assert ends == {
        "fenlow/reach_3": "wren/reach_4",
        "rill/reach_3": "fenlow/reach_3",
        "ditch/reach_3": last,
    }
    assert ("rain", last) not in steps.ends


def _number(store: str) -> int:
    return int(store.rsplit("_", 1)[1])
