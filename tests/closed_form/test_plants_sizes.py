"""Sizes of basins that a scenario leaves open, worked out by hand.

A gallon is 0.003785411784 m3 and a foot 0.3048 m, so that 0.5 gpm/ft2 is 29.3372 m/d, 20,000 gpd/ft
248.3865 m3/m/d, and 600, 1,000, 1,200 and 1,500 gpd/ft2 are 24.4476, 40.7461, 48.8953 and 61.1191
m/d. Basins are 12 ft (3.6576 m) deep, filters 8 ft (2.4384 m).
"""

from __future__ import annotations

import math

import pytest
from simple_plants import wastewater_of, water_of
from small_scenarios import one_town

from hydroloop.plants import basins
from hydroloop.plants.design import has_steps, raw_water, wastewater_plant, water_plant
from hydroloop.scenario.schema_units import LARGEST_UNIT, Basin

# Of 24,000 m3/d treated a fifth more is washed away: 30,000 m3/d of raw water.
WASHED = '[town.larkmill.plant]\nsludge = "0 %"\nbackwash = "20 %"\n'
BUILT = 24_000.0


def step(design, name):
    return next(unit for unit in design.processes if unit.process == name)


def basin_of(part, text):
    return getattr(one_town(text).town["larkmill"].plant.basins, part)


def test_raw_water_makes_up_for_both_losses():
    """1,000 / ((1 - 0.2) (1 - 0.5)) = 2,500."""
    plant = one_town('[town.larkmill.plant]\nsludge = "20 %"\nbackwash = "50 %"\n').town["larkmill"]
    assert raw_water(plant.plant, 1000.0) == pytest.approx(2500.0)


def test_a_settling_basin_of_time_and_of_surface():
    """30,000 m3/d for 4 h are 5,000 m3 in three of four basins: 1,666.7 m3 and 455.67 m2 each; for
    half the time the overflow rate asks for more than 227.8 m2: 10,000 / 29.3372 = 340.87 m2."""
    deep = step(water_of(WASHED, BUILT), "sedimentation")
    assert (deep.count, deep.through) == (4, pytest.approx(1.25))
    assert deep.volume == pytest.approx(5000.0 / 3.0)
    assert deep.area_m2 == pytest.approx(5000.0 / 3.0 / 3.6576)
    assert deep.depth_m == pytest.approx(3.6576)
    assert deep.weir_m == pytest.approx(10_000.0 / 248.3865, rel=1e-6)
    wide = step(water_of(WASHED + 'sedimentation = "2 hour"\n', BUILT), "sedimentation")
    assert wide.volume == pytest.approx(2500.0 / 3.0)
    assert wide.area_m2 == pytest.approx(10_000.0 / 29.3372, rel=1e-5)
    assert wide.depth_m == pytest.approx(2500.0 / 3.0 / 340.8642, rel=1e-5)


def test_other_steps_of_a_water_plant():
    """Rapid mix 30 s of 30,000 m3/d in all four; flocculation 30 min and filters 15 min in three of
    four; the clearwell 4 h of what is treated, in all four. No weirs but those of sedimentation."""
    design = water_of(WASHED, BUILT)
    volumes = {unit.process: unit.volume for unit in design.processes}
    assert volumes == pytest.approx(
        {
            "rapid_mix": 30_000 / 2880 / 4,
            "flocculation": 30_000 / 48 / 3,
            "sedimentation": 5000 / 3,
            "filters": 30_000 / 96 / 3,
            "clearwell": 24_000 / 6 / 4,
        }
    )
    assert step(design, "filters").depth_m == pytest.approx(2.4384)
    assert step(design, "flocculation").depth_m == pytest.approx(3.6576)
    assert {u.process for u in design.processes if u.weir_m is not None} == {"sedimentation"}
    assert [u.through for u in design.processes] == pytest.approx([1.25] * 4 + [1.0])


@pytest.mark.parametrize(("people", "binds"), [(20_000, "peak"), (1_000_000, "average")])
def test_settling_tanks_of_wastewater_take_the_stricter_surface(people, binds):
    """Primary 1,000 gpd/ft2 on average and 1,500 at the peak hour, final 600 and 1,200. The peak of
    20,000 people is (18 + sqrt 20) / (4 + sqrt 20) = 2.6525 times the average, that of a million
    (18 + sqrt 1000) / (4 + sqrt 1000) = 1.3936 times. Short times, so that surface decides."""
    text = '[town.larkmill.wastewater]\nprimary = "1 hour"\nfinal_settling = "1 hour"\n'
    town = one_town(text, town__larkmill__people=people).town["larkmill"]
    design = wastewater_plant(town, 8000.0)
    root = math.sqrt(people / 1000.0)
    peak = (18 + root) / (4 + root) * 2000.0
    by_rule = {
        "primary": {"average": 2000.0 / 40.7461, "peak": peak / 61.1191},
        "final_settling": {"average": 2000.0 / 24.4476, "peak": peak / 48.8953},
    }
    for name, areas in by_rule.items():
        assert max(areas, key=areas.get) == binds
        unit = step(design, name)
        least = 8000.0 / 24.0 / 4.0 / 3.6576  # of the time
        assert unit.area_m2 == pytest.approx(max(areas[binds], least), rel=1e-5)
        assert unit.weir_m is None
    assert (design.kind, design.capacity_at, design.basis) == ("wastewater", "peak_hour", "average")
    assert design.capacity == pytest.approx(2.7 * 8000.0)
    assert wastewater_plant(town, 8000.0, 9999.0).capacity == 9999.0


def test_aeration_and_contact_have_no_surface_rule():
    """6 h and 45 min of 8,000 m3/d in four units 12 ft deep."""
    design = wastewater_of()
    for name, volume in (("aeration", 500.0), ("contact", 62.5)):
        unit = step(design, name)
        assert unit.volume == pytest.approx(volume)
        assert unit.area_m2 == pytest.approx(volume / 3.6576)


@pytest.mark.parametrize(("name", "largest"), LARGEST_UNIT.items())
def test_how_many_units_a_volume_asks_for(name, largest):
    """Four, or as many as keep each within the largest size, and one to spare before the clearwell;
    a number that is given is taken."""
    spare = 1 if name in ("flocculation", "sedimentation", "filters") else 0
    counts = [basins.unit_count(name, Basin(), n * largest) for n in (0.5, 3, 4, 5, 5.01)]
    assert counts == [4, 4, 4 + spare, 5 + spare, 6 + spare]
    assert basins.unit_count(name, Basin(count=2), 9 * largest) == 2


def test_units_at_work():
    """All but one before the clearwell, but never none; else all."""
    for name in ("flocculation", "sedimentation", "filters"):
        assert [basins.units_at_work(name, count) for count in (1, 2, 3, 9)] == [1, 1, 2, 8]
    for name in ("rapid_mix", "clearwell", "primary", "aeration", "final_settling", "contact"):
        assert [basins.units_at_work(name, count) for count in (1, 2, 3, 9)] == [1, 2, 3, 9]


def test_one_of_two_filters_holds_the_time_of_both():
    """A number alone: of two filters one keeps the 15 min of 30,000 m3/d, 312.5 m3, and both hold
    625; a single one holds 312.5."""
    for count, each in ((2, 312.5), (1, 312.5), (3, 156.25)):
        text = f"[town.larkmill.plant.basins.filters]\ncount = {count}\n"
        assert step(water_of(WASHED + text, BUILT), "filters").volume == pytest.approx(each)
        plant = one_town(WASHED + text).town["larkmill"].plant
        assert basins.step_volume(plant, "filters", 30_000.0) == pytest.approx(count * each)


def test_volumes_that_are_given():
    """Number times volume; or times surface and depth, the usual one if none is said."""
    head = "[town.larkmill.plant.basins.{}]\ncount = 3\n"
    said = 'length = "10 m"\nwidth = "5 m"\n'
    floc, filters = head.format("flocculation"), head.format("filters")
    volume = basins.given_volume
    assert volume(basin_of("flocculation", floc + 'volume = "40 m3"\n')) == pytest.approx(120.0)
    assert volume(basin_of("flocculation", floc + said + 'depth = "2 m"\n')) == pytest.approx(300.0)
    assert volume(basin_of("flocculation", floc + said)) == pytest.approx(150 * 3.6576)
    assert volume(basin_of("filters", filters + said)) == pytest.approx(150 * 2.4384)
    assert volume(basin_of("flocculation", floc + 'diameter = "4 m"\n')) == pytest.approx(
        3 * math.pi * 4 * 3.6576
    )
    assert volume(basin_of("flocculation", floc)) is None
    assert volume(Basin()) is None


def test_what_of_a_step_is_said_to_be_given():
    """Volume, or surface and depth, give the volume; a surface, or volume and depth, the surface; a
    weir, or that once round, the weir."""
    head = "[town.larkmill.plant.basins.sedimentation]\ncount = 4\n"
    said = {
        "": {"count"},
        'volume = "900 m3"\n': {"count", "volume"},
        'volume = "900 m3"\ndepth = "3 m"\n': {"count", "volume", "area"},
        'depth = "3 m"\n': {"count"},
        'length = "30 m"\nwidth = "9 m"\n': {"count", "area"},
        'length = "30 m"\nwidth = "9 m"\ndepth = "3 m"\n': {"count", "volume", "area"},
        'weir = "30 m"\n': {"count", "weir"},
        'diameter = "20 m"\n': {"count", "area", "weir"},
    }
    for text, given in said.items():
        assert step(water_of(head + text), "sedimentation").given == given


def test_a_depth_alone_makes_the_surface():
    """1,666.7 m3 at 5 m: 333.3 m2, though the overflow rate asks for 340.9."""
    text = '[town.larkmill.plant.basins.sedimentation]\ndepth = "5 m"\n'
    unit = step(water_of(WASHED + text, BUILT), "sedimentation")
    assert (unit.area_m2, unit.depth_m) == pytest.approx((1000.0 / 3.0, 5.0))


def test_what_is_put_into_supply_counts_wells_and_bought_water():
    """With an intake 20,000 from the plant, 9,000 from wells past it and 5,000 bought; without, the
    wells are the plant's own; with bought water alone there is no step."""
    wells, bought = {"capacity": "9 ML/day"}, "5 ML/day"
    river = one_town(town__larkmill__wells=wells, town__larkmill__imported=bought)
    design = water_plant(river.town["larkmill"], 20_000.0)
    assert (design.capacity, design.wells, design.imported) == pytest.approx((34e3, 9e3, 5e3))
    assert design.contact.treatment == "conventional"
    ground = river.changed({"town.larkmill.intake": None})
    design = water_plant(ground.town["larkmill"], 20_000.0)
    assert (design.capacity, design.wells, design.imported) == pytest.approx((14e3, 0.0, 5e3))
    assert [unit.process for unit in design.processes] == ["clearwell"]
    only = ground.changed({"town.larkmill.wells": None})
    design = water_plant(only.town["larkmill"], 20_000.0)
    assert (design.processes, design.capacity) == ((), pytest.approx(5e3))
    assert [has_steps(s.town["larkmill"]) for s in (river, ground, only)] == [True, False, False]


def test_reclaimed_water_makes_a_plant_whole():
    """A town of wells whose plant takes reclaimed water has all steps, however little that is."""
    ground = one_town(
        town__larkmill__wells={"capacity": "9 ML/day"},
        town__larkmill__reuse={"plant": "0.5 m3/day"},
    ).changed({"town.larkmill.intake": None})
    assert has_steps(ground.town["larkmill"])
    assert len(water_plant(ground.town["larkmill"], 20_000.0).processes) == 5
