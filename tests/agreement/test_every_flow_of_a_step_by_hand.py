"""Every flow of every step of two towns with all works agrees with the same worked out by hand from
the volumes at the step's start: in spring by the day, in a cold winter and a dry summer in steps of
six hours, and for hamlets of three people, so that nothing there comes to a cubic metre."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from step_by_hand import USES, Steps, ground, reach, reservoir, streams
from town_by_hand import ground_of, supply, use, wastewater, yards_ask

from hydroloop.scenario import read_toml
from hydroloop.waterworks import simulate
from hydroloop.waterworks.demand import hourly_factors

LARKMILL, OSSELBY = "larkmill", "osselby"
SCENARIO = """
title = "Two towns with all works"
[season]
start = 2031-04-01
end = 2031-04-12
run_up = "0 day"
[weather]
seed = 3
[river.wren]
length = "40 km"
inflow = "0.9 m3/s"
minimum_flow = "0.1 m3/s"
reference_flow = "2 m3/s"
width = "12 m"
cell = "10 km"
[river.fenlow]
length = "12 km"
joins = "wren"
joins_at = "20 km"
catchment = "60 km2"
catchment_at_end = "90 km2"
cell = "10 km"
reference_flow = "1 m3/s"
baseflow = "0.4 m3/s"
[reservoir.mere]
river = "wren"
at = "8 km"
area = "1 km2"
capacity = "2 hm3"
start = "99 %"
release = "0.15 m3/s"
dead_storage = "10 %"
[town.larkmill]
people = 20000
intake = { reservoir = "mere", capacity = "7 ML/day" }
outfall = { river = "wren", at = "15 km" }
wells = { capacity = "900 m3/day" }
imported = "300 m3/day"
plant = { capacity = "6 ML/day" }
tanks = { volume = "7000 m3", start = "60 %", refill = "2 day" }
sewers = { kind = "combined", capacity = "20 ML/day", storage = "1000 m3" }
wastewater = { capacity = "12 ML/day" }
reuse = { yards = "400 m3/day", plant = "300 m3/day", groundwater = "200 m3/day", \
reservoir = "100 m3/day", into = "mere", tank = "900 m3" }
homes = { septic = "10 %" }
yards = { soil_start = "30 %", area_per_person = "90 m2" }
land = { area = "13 km2", snow_start = "4 mm" }
built_for = { demand = "8 ML/day", sewage = "6 ML/day" }
[town.osselby]
people = 30000
intake = { river = "wren", at = "25 km", capacity = "30 ML/day" }
outfall = { river = "wren", at = "22 km" }
plant = { backwash_to = "plant", capacity = "25 ML/day" }
tanks = { volume = "9000 m3", start = "85 %" }
sewers = { capacity = "30 ML/day", storage = "4000 m3", storm_share = "5 %" }
wastewater = { capacity = "20 ML/day" }
yards = { soil_start = "60 %", area_per_person = "70 m2" }
land = { area = "20 km2" }
built_for = { demand = "12 ML/day", sewage = "10 ML/day" }
[stage.low]
river = "wren"
at = "25 km"
flow_below = "0.62 m3/s"
homes = "10 %"
workplaces = "0 %"
yards = "50 %"
compliance = "80 %"
towns = ["osselby"]
"""
HAMLET = {
    "people": 3,
    "yards.area_per_person": "2 m2",
    "land.area": "0.00002 km2",
    "plant.capacity": "0.8 m3/day",
    "tanks.volume": "0.9 m3",
    "sewers.capacity": "0.9 m3/day",
    "sewers.storage": "0.5 m3",
    "wastewater.capacity": "0.7 m3/day",
    "built_for": {"demand": "0.9 m3/day", "sewage": "0.8 m3/day"},
}
SEASONS = {
    "spring": {"stage.low.flow_below": "2.6 m3/s", "stage.low.hold": "2 day"},
    "winter": {
        "season.start": "2031-01-10",
        "season.end": "2031-01-16",
        "season.step": "6 hour",
        "weather.seed": 5,
        "weather.warmer_by": -4.0,
        "town.larkmill.plant.backwash_to": "river",
        "town.osselby.sewers.capacity": "9 ML/day",
        "town.osselby.sewers.storage": "500 m3",
        "town.osselby.wastewater.capacity": "8 ML/day",
    },
    "summer": {
        "season.start": "2031-06-10",
        "season.end": "2031-06-16",
        "season.step": "6 hour",
        "weather.seed": 12,
        "river.wren.inflow": "0.2 m3/s",
        "reservoir.mere.start": "11 %",
        "town.osselby.plant.capacity": "8 ML/day",
    },
    "hamlets": {
        "season.end": "2031-04-06",
        "weather.rain_scale": 4.0,  # so that it runs off
        **{
            f"town.{place}.{key}": value
            for place in ("larkmill", "osselby")
            for key, value in HAMLET.items()
        },
        "town.larkmill.wells.capacity": "0.2 m3/day",
        "town.larkmill.imported": "0.1 m3/day",
        "town.larkmill.reuse.yards": "0.05 m3/day",
        "town.larkmill.reuse.plant": "0.1 m3/day",
        "town.larkmill.reuse.groundwater": "0.1 m3/day",
        "town.larkmill.reuse.reservoir": "0.1 m3/day",
        "town.larkmill.reuse.tank": "0.5 m3",
    },
}


@pytest.fixture(scope="module", params=SEASONS)
def steps(request):
    scenario = read_toml(SCENARIO).changed(SEASONS[request.param])
    return Steps(simulate(scenario), scenario)


def _agree(steps: Steps, t: int, expected: dict) -> None:
    for (source, target, *kind), value in expected.items():
        found = steps.flow(source, target, t, kind="".join(kind))
        assert found == pytest.approx(value, rel=1e-9, abs=1e-6), (source, target, kind, t)


def _each(steps: Steps) -> range:
    return range(len(steps.rates))


def _areas(steps: Steps, place: str) -> tuple[float, float, float]:
    """Pavement, yards and all of a town [m2]."""
    town = steps.scenario.town[place]
    whole = town.land.area * 1e6
    return town.land.paved * whole, town.yards.area_per_person * town.people, whole


@pytest.mark.parametrize("place", [LARKMILL, OSSELBY])
def test_land_of_a_town(steps, place):
    """Snow, pavement, soil, yards and drains."""
    town = steps.scenario.town[place]
    paved, yards, whole = _areas(steps, place)
    soil, dt, share = whole - paved - yards, steps.dt, town.sewers.storm_share
    share = 1.0 if share is None else share  # combined sewers
    for t in _each(steps):
        snow, rain, melt = (mm / 1000.0 / dt for mm in steps.wet_mm(place, whole, t))
        expected = {("rain", f"{place}/snow"): snow * whole}
        for part, area in (("pavement", paved), ("soil", soil), ("yards", yards)):
            expected["rain", f"{place}/{part}"] = rain * area
            expected[f"{place}/snow", f"{place}/{part}"] = melt * area
        street = f"{place}/pavement"
        comes = steps.held(street, t) / dt + (rain + melt) * paved
        dries = min(steps.open_water[t] / 1000.0 / dt * paved, comes)
        runs = max(0.0, comes - dries - town.land.depression / 1000.0 * paved / dt)
        expected[street, "sky"] = dries
        expected[street, f"{place}/sewers"] = share * runs
        expected[street, f"{place}/storm_drains"] = (1.0 - share) * runs
        number = town.land.curve_number
        bare = steps.soil(f"{place}/soil", t, soil, whole, (town.land.soil_depth, number, 1.0))
        lawn = (town.yards.soil_depth, number, town.yards.crop_coefficient)
        lawns = steps.soil(f"{place}/yards", t, yards, whole, lawn)
        lost = steps.into(f"{place}/yards", t) - melt * yards  # watering, of which part dries up
        expected |= {
            (f"{place}/soil", "sky"): bare["evaporates"],
            (f"{place}/yards", "sky"): lawns["evaporates"] + (1 - town.yards.efficiency) * lost,
            (f"{place}/soil", f"{place}/subsoil"): bare["passes"],
            (f"{place}/yards", f"{place}/subsoil"): lawns["passes"],
            (f"{place}/soil", f"{place}/storm_drains"): bare["runs off"],
            (f"{place}/yards", f"{place}/storm_drains"): lawns["runs off"],
        }
        drains = f"{place}/storm_drains"
        outlet = {LARKMILL: "wren/reach_4", OSSELBY: "wren/reach_6"}[place]
        gone = (steps.held(drains, t) + dt * steps.into(drains, t)) / (1.0 / 24.0 + dt)
        expected[drains, outlet] = gone
        _agree(steps, t, expected)


def test_open_land_and_its_streams(steps):
    """A catchment of 60 km2 above the head of its river, and 30 beside it."""
    river, area = steps.scenario.river["fenlow"], 90e6
    drained = river.recession * river.baseflow * 2.0  # of three parts one drains
    for t in _each(steps):
        snow, rain, melt = (mm / 1000.0 / steps.dt * area for mm in steps.wet_mm("fenlow", area, t))
        numbers = (river.soil_depth, river.curve_number, 1.0)
        soil = steps.soil("fenlow/soil", t, area, area, numbers)
        below = ground(steps, "fenlow", t, (river, drained, 0.0, 0.0))
        gathered = streams(steps, "fenlow", t, 60.0)
        _agree(
            steps,
            t,
            {
                ("rain", "fenlow/snow"): snow,
                ("rain", "fenlow/soil"): rain,
                ("fenlow/snow", "fenlow/soil"): melt,
                ("fenlow/soil", "sky"): soil["evaporates"],
                ("fenlow/soil", "fenlow/streams"): soil["runs off"],
                ("fenlow/soil", "fenlow/subsoil"): soil["passes"],
                ("fenlow/subsoil", "fenlow/streams"): below["interflow"],
                ("fenlow/subsoil", "fenlow/groundwater"): below["recharge"],
                ("fenlow/groundwater", "fenlow/streams"): below["baseflow"],
                ("fenlow/streams", "fenlow/reach_1"): gathered * 2.0 / 3.0,
                ("fenlow/streams", "fenlow/reach_2"): gathered / 6.0,
                ("fenlow/streams", "fenlow/reach_3"): gathered / 6.0,
            },
        )


@pytest.mark.parametrize("place", [LARKMILL, OSSELBY])
def test_ground_under_a_town(steps, place):
    """Interflow, recharge, baseflow and infiltration into the sewers."""
    outlet = {LARKMILL: "wren/reach_4", OSSELBY: "wren/reach_6"}[place]
    for t in _each(steps):
        found = ground(steps, place, t, ground_of(steps, place))
        _agree(
            steps,
            t,
            {
                (f"{place}/subsoil", outlet): found["interflow"],
                (f"{place}/subsoil", f"{place}/groundwater"): found["recharge"],
                (f"{place}/groundwater", outlet): found["baseflow"],
                (f"{place}/groundwater", f"{place}/sewers"): found["infiltration"],
            },
        )


def test_reaches(steps):
    """Rain, evaporation and the law of storage of each stretch; those at heads and ends have no
    length and hand on what comes."""
    day = 86_400.0
    # between places, and cut in halves where that is more than the cells' 10 km
    lengths = {"wren": (8, 7, 5, 2, 3, 7.5, 7.5), "fenlow": (6, 6)}
    stretches = {(river, k + 2): km for river in lengths for k, km in enumerate(lengths[river])}
    for t in _each(steps):
        for (river, number), km in stretches.items():
            given = steps.scenario.river[river]
            width = 12.0 if river == "wren" else 4.8
            flow = (2.0 if river == "wren" else 1.0) * day
            store = f"{river}/reach_{number}"
            numbers = (km, width, given.speed, flow, given.speed_exponent)
            rain, evaporates, one, other = reach(steps, store, t, numbers)
            _agree(steps, t, {("rain", store): rain, (store, "sky"): evaporates})
            assert one == pytest.approx(other, rel=1e-9)
        for store in ("wren/reach_1", "fenlow/reach_1"):
            leaves = steps.out(store, t, "river", "downstream")
            assert leaves == pytest.approx(steps.into(store, t))


def test_reservoir(steps):
    """Rain, evaporation, release and spill."""
    for t in _each(steps):
        found = reservoir(steps, "mere", t)
        _agree(
            steps,
            t,
            {
                ("rain", "mere/reservoir"): found["rain"],
                ("mere/reservoir", "sky"): found["evaporation"],
                ("mere/reservoir", "wren/reach_3", "release"): found["release"],
                ("mere/reservoir", "wren/reach_3", "spill"): found["spill"],
            },
        )


def _demand(steps: Steps, place: str) -> list[tuple[float, float, float, float]]:
    """Homes, workplaces and yards of each step, cuts taken off, and the mean of indoor use."""
    town, number = steps.scenario.town[place], [LARKMILL, OSSELBY].index(place)
    factors = hourly_factors(len(steps.rates), steps.dt)
    homes = town.people * town.homes.use_per_person
    work = town.people * town.workplaces.use_per_person
    _, area, whole = _areas(steps, place)
    demand = []
    for t in _each(steps):
        stands = place == OSSELBY and steps.record["stage_days"].values[t, 0] > 0.0
        left = (0.92, 1.0, 0.6) if stands else (1.0, 1.0, 1.0)  # 80 % of 10 and 50 %
        asked = yards_ask(steps, place, t, factors[2][t], (area, whole))
        full = np.array([homes * factors[0][t], work * factors[1][t], asked])
        demand.append((*(left * full), left[0] * homes + work))
        np.testing.assert_allclose(steps.record["demand"][t, number], demand[-1][:3], rtol=1e-9)
        cut = full - demand[-1][:3]
        np.testing.assert_allclose(steps.record["cut"][t, number], cut, rtol=1e-9, atol=1e-6)
    return demand


@pytest.mark.parametrize("place", [LARKMILL, OSSELBY])
def test_supply_and_use(steps, place):
    """What is asked for, drawn, made, put into the mains, and who gets it."""
    town, demand = steps.scenario.town[place], _demand(steps, place)
    for t in _each(steps):
        found = supply(steps, place, t, demand, partial(_drawn, steps, place, t))
        used = use(steps, place, found, demand[t])
        at = f"{place}/"
        into = {LARKMILL: "sewers", OSSELBY: "washwater"}[place]
        into = "wren/reach_4" if town.plant.backwash_to == "river" else at + into
        expected = {
            (at + "clearwell", at + "tanks"): found["made"] + found["wells"],
            (at + "groundwater", at + "clearwell"): found["wells"],
            ("import", at + "tanks"): found["imported"],
            (at + "tanks", at + "mains"): found["supplied"],
            (at + "mains", at + "groundwater"): found["leak"],
            (at + "mains", at + "yards"): used["yards"],
            (at + "sedimentation", "solids"): found["sludge"],
            (at + "filters", into): found["backwash"],
            (at + "filters", at + "clearwell"): found["made"],
            (at + "washwater", at + "rapid_mix"): found["washwater"],
            (at + "rapid_mix", at + "flocculation"): found["mixed"],
            (at + "flocculation", at + "sedimentation"): found["mixed"],
            (at + "sedimentation", at + "filters"): found["mixed"] - found["sludge"],
            (at + "reclaimed", at + "yards"): found["reuse_yards"],
            (at + "reclaimed", at + "rapid_mix"): found["reuse_plant"],
            (at + "reclaimed", at + "groundwater"): found["reuse_groundwater"],
            (at + "reclaimed", "mere/reservoir"): found["reuse_reservoir"],
        }
        source = {LARKMILL: "mere/reservoir", OSSELBY: "wren/reach_6"}[place]
        expected[source, at + "rapid_mix"] = found["intake"]
        for part in (*USES, "workplaces", "work_toilets"):
            expected[at + "mains", at + part] = used[part]
            expected[at + part, at + "sewers"] = used[f"{part} sewers"]
            expected[at + part, "sky"] = used[f"{part} sky"]
            if part in USES:
                expected[at + part, at + "groundwater"] = used[f"{part} ground"]
        _agree(steps, t, expected)


def _drawn(steps: Steps, place: str, t: int, wanted: float) -> float:
    """What river or reservoir let an intake have."""
    if place == LARKMILL:
        return min(wanted, 7_000.0, reservoir(steps, "mere", t)["left"])
    passing = steps.out("wren/reach_6", t, "river", "intake")
    return max(0.0, min(wanted, 30_000.0, passing - 8_640.0))


@pytest.mark.parametrize("place", [LARKMILL, OSSELBY])
def test_sewers_and_wastewater(steps, place):
    """From the sewers to the outfall; the second town's effluent waits a day in a pond."""
    for t in _each(steps):
        found, at = wastewater(steps, place, t), f"{place}/"
        river = {LARKMILL: "wren/reach_4", OSSELBY: at + "effluent_pond"}[place]
        expected = {
            (at + "sewers", at + "primary"): found["carried"],
            (at + "sewers", river): found["overflow"],
            (at + "primary", "solids"): found["primary sludge"],
            (at + "primary", at + "aeration"): found["aeration"],
            (at + "primary", at + "contact"): found["bypass"],
            (at + "aeration", at + "final_settling"): found["aeration"],
            (at + "final_settling", "solids"): found["final sludge"],
            (at + "final_settling", at + "contact"): found["contact"],
            (at + "contact", at + "reclaimed"): found["reclaimed"],
            (at + "contact", river): found["effluent"],
        }
        if place == OSSELBY:
            leaves = steps.held(at + "effluent_pond", t) * (1.0 - np.exp(-steps.dt)) / steps.dt
            expected[at + "effluent_pond", "wren/reach_6"] = leaves
        _agree(steps, t, expected)


def test_a_drought_stage(steps):
    """It begins below its mark, as the intakes left the river in the step before, and ends a fifth
    above it once it has stood for as long as it must."""
    stage, days = steps.scenario.stage["low"], 0.0
    for t in _each(steps):
        passed = steps.out("wren/reach_6", t - 1, "river") if t else np.inf
        mark = stage.flow_below
        stays = days < stage.hold or passed <= 1.2 * mark if days else passed < mark
        days = days + steps.dt if stays else 0.0
        assert steps.record["stage_days"].values[t, 0] == pytest.approx(days)
