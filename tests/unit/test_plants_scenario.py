"""Unit processes in a scenario: what is given, what is worked out, and what cannot be built."""

from __future__ import annotations

import pytest
from simple_plants import CAPACITY, SEWAGE, wastewater_of, water_of
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.errors import ScenarioError
from hydroloop.plants.basins import basin_volume, given_volume
from hydroloop.plants.design import raw_water, water_plant
from hydroloop.scenario.schema_units import LARGEST_UNIT, LEAST_COUNT
from hydroloop.waterworks.sizes import town_sizes

PLANT = "[town.larkmill.plant.basins.{}]\n"


def refused(text: str) -> list:
    """Problems with which a scenario with these tables is refused."""
    with pytest.raises(ScenarioError) as caught:
        one_town(text)
    return caught.value.problems


def step(design, name):
    return next(unit for unit in design.processes if unit.process == name)


@pytest.mark.parametrize("name", ["rapid_mix", "flocculation", "sedimentation", "filters"])
def test_default_volumes_follow_from_the_times_of_the_steps(name):
    """Left alone, a step holds what its time at capacity asks for, shared by equal units; all but
    the rapid mix hold it with one unit out."""
    plant = one_town().town["larkmill"].plant
    unit = step(water_of(), name)
    assert unit.count >= LEAST_COUNT
    spare = 0 if name == "rapid_mix" else 1
    assert unit.volume * (unit.count - spare) == pytest.approx(
        getattr(plant, name) * raw_water(plant, CAPACITY)
    )
    assert unit.given == frozenset()


def test_default_volumes_of_wastewater_follow_from_design_flow():
    """Left alone, a step of the wastewater plant holds what its time at design flow asks for."""
    works = one_town().town["larkmill"].wastewater
    for unit in wastewater_of().processes:
        assert unit.volume * unit.count == pytest.approx(getattr(works, unit.process) * SEWAGE)


def test_the_design_flow_leaves_room_for_infiltration_and_storm_water():
    """Left alone it stands to dry weather as 120 to 100 gal a person and day (40 CFR 35.2120(c), 35
    Ill. Adm. Code 370.310(a)(1)); full treatment is 2.7 times it; a design flow that is given
    decides over both, and over the basins."""
    sizes = town_sizes(one_town().town["larkmill"])
    assert sizes.design_flow / sizes.dry_weather == pytest.approx(120 / 100)
    assert sizes.secondary_capacity == pytest.approx(2.7 * sizes.design_flow)
    given = one_town('[town.larkmill.wastewater]\ndesign_flow = "9 ML/day"\n')
    assert town_sizes(given.town["larkmill"]).secondary_capacity == pytest.approx(2.7 * 9000.0)
    primary = hl.simulate(given)["volume"].sel(store="larkmill/primary")
    assert primary.values == pytest.approx(9000.0 * 2 / 24)


def test_large_plants_get_more_units():
    """Where one of four units would pass the largest size, there are more."""
    sizes = {unit.process: unit for unit in water_of(capacity=40 * CAPACITY).processes}
    assert sizes["filters"].count > LEAST_COUNT
    for name, unit in sizes.items():
        assert unit.volume <= LARGEST_UNIT[name] * (1 + 1e-12)


def test_given_sizes_come_before_the_time_of_the_step():
    """Number and dimensions make volume, surface and depth; depth follows from a given volume."""
    basins = PLANT.format("sedimentation") + 'count = 3\nlength = "40 m"\nwidth = "10 m"\n'
    unit = step(water_of(basins + 'depth = "4 m"\nweir = "60 m"\n'), "sedimentation")
    assert (unit.count, unit.volume, unit.area_m2, unit.weir_m) == (3, 1600.0, 400.0, 60.0)
    assert unit.given == {"count", "volume", "area", "weir"}
    by_volume = step(water_of(basins + 'volume = "1200 m3"\n'), "sedimentation")
    assert by_volume.depth_m == pytest.approx(3.0)


def test_round_tanks():
    """A diameter makes the surface, and the weir runs once round."""
    basins = PLANT.format("sedimentation") + 'count = 2\ndiameter = "20 m"\ndepth = "3 m"\n'
    unit = step(water_of(basins), "sedimentation")
    assert unit.area_m2 == pytest.approx(314.159, abs=0.001)
    assert unit.weir_m == pytest.approx(62.832, abs=0.001)


def test_volume_for_the_water_account():
    """A step that is given fills the account; one that is not leaves its time to decide."""
    text = PLANT.format("clearwell") + 'count = 2\nvolume = "500 m3"\n'
    basins = one_town(text).town["larkmill"].plant.basins
    assert basin_volume(basins.clearwell, 77.0) == 1000.0
    assert given_volume(basins.filters) is None
    assert basin_volume(basins.filters, 77.0) == 77.0


def test_wells_alone_need_no_steps():
    """A town with wells alone has a clearwell, and viruses to think of."""
    wells = one_town().changed(
        {
            "town.larkmill.intake": None,
            "town.larkmill.wells": {"capacity": "9 ML/day"},
        }
    )
    design = water_plant(wells.town["larkmill"], CAPACITY)
    assert [unit.process for unit in design.processes] == ["clearwell"]
    assert design.contact.treatment == "groundwater"
    assert design.capacity == 9000.0


def test_direct_filtration_has_no_sedimentation():
    """Direct filtration leaves sedimentation out."""
    text = '[town.larkmill.plant.disinfection]\ntreatment = "direct"\n'
    assert "sedimentation" not in [unit.process for unit in water_of(text).processes]


def test_a_step_of_no_time_is_passed_at_once():
    """A scenario may set the time of a step to zero."""
    assert step(water_of('[town.larkmill.plant]\nrapid_mix = "0 s"\n'), "rapid_mix").volume < 1e-6


@pytest.mark.parametrize(
    ("keys", "key", "words"),
    [
        ("count = 0", "count", "0 is out of bounds"),
        ("count = 900", "count", "from 1 to 200"),
        ("count = 2.5", "count", "is not a whole number"),
        ('count = 2\nlength = "20 m"', "length", "without a width"),
        ('count = 2\nlength = "20 m"\nwidth = "0 m"', "width", "above zero"),
        ('count = 2\ndiameter = "0 ft"', "diameter", "above zero"),
        ('count = 2\ndiameter = "20 m"\nwidth = "4 m"', "diameter", "round and has a width"),
        ('count = 2\ndepth = "90 m"', "depth", "out of bounds"),
        ('count = 2\nvolume = "100 m3"\ndiameter = "20 m"\ndepth = "3 m"', "volume", "942.5 m3"),
        ('volume = "100 m3"', "volume", "not how many there are"),
        ('count = 2\ndepth = "4 m3"', "depth", "is a volume"),
        ('count = 2\nweirs = "4 m"', "weirs", 'Did you mean "weir"?'),
    ],
)
def test_impossible_basins(keys, key, words):
    """A basin that cannot be built is refused at its key, with what to do."""
    problems = refused(PLANT.format("sedimentation") + keys + "\n")
    assert [p.key for p in problems] == [f"town.larkmill.plant.basins.sedimentation.{key}"]
    assert words in str(problems[0])


def test_all_impossible_basins_are_told_at_once():
    """Several wrong basins, in both plants, make one message."""
    problems = refused(
        PLANT.format("filters")
        + "count = 0\n"
        + PLANT.format("clearwell")
        + 'count = 2\nlength = "9 m"\nbaffling_factor = "0 %"\n'
        "[town.larkmill.wastewater.basins.aeration]\n"
        'count = 2\ndiameter = "500 m"\n[town.larkmill.plant.disinfection]\nph = 10.4\n'
        'chlorine_mg_per_l = 80.0\ntemperature = "60 C"\n'
    )
    assert len(problems) == 7
    assert all(problem.where.startswith("scenario:") for problem in problems)


def test_unusual_chlorine_is_allowed_with_a_warning():
    """A residual above the legal mean of a year is allowed, and said to be unusual."""
    scenario = one_town("[town.larkmill.plant.disinfection]\nchlorine_mg_per_l = 6.0\n")
    assert [w.key for w in scenario.warnings] == [
        "town.larkmill.plant.disinfection.chlorine_mg_per_l"
    ]


def test_every_choice_of_baffling_has_a_factor():
    """The words a scenario may use are those the contact rules know."""
    for word in ("unbaffled", "poor", "average", "superior", "perfect"):
        text = PLANT.format("clearwell") + f'baffling = "{word}"\n'
        assert 0.0 < water_of(text).contact.baffling <= 1.0


def test_a_tracer_study_comes_before_the_rule():
    """A measured factor is taken in place of the word for baffling."""
    text = PLANT.format("clearwell") + 'baffling = "perfect"\nbaffling_factor = "42 %"\n'
    assert water_of(text).contact.baffling == pytest.approx(0.42)
