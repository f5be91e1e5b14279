"""Materials, storage and gaps of small works, ends of parcels, and glasses that there are not."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from small_records import small_record

import hydroloop as hl
from hydroloop.measures import find_towns, run_of, turnover_time
from hydroloop.measures.balance import balance, largest_gap
from hydroloop.measures.land_balance import LAND_TERMS, land_balance
from hydroloop.measures.last import time_since_use
from hydroloop.measures.lifetime import cycling
from hydroloop.measures.materials import STEPS, chlorine_decay, materials
from hydroloop.measures.parcel import ENDS, parcel_fate
from hydroloop.measures.reservoir_yield import sequent_peak, storage_for_draft, yield_for_storage
from hydroloop.tracing import find_gate, operator

NAN = float("nan")
QUALITY = SimpleNamespace(
    salt_mg_per_l=100.0,
    salt_per_use_mg_per_l=200.0,
    particles_mg_per_l=50.0,
    solids_per_use_mg_per_l=300.0,
    settled=0.8,
    filtered=0.9,
    primary_removal=0.5,
    secondary_removal=0.75,
    iron_mg_per_l=0.7,
    iron_removed=0.5,
    manganese_mg_per_l=0.4,
    manganese_removed=0.25,
    chlorine_decay_per_day=0.5,
    fluoride_mg_per_l=0.2,
    fluoride_target_mg_per_l=0.7,
)


def nearly(values):
    return pytest.approx(np.array(values), rel=1e-9, abs=1e-9, nan_ok=True)


def town_that_aims_at(chlorine):
    disinfection = SimpleNamespace(chlorine_mg_per_l=chlorine, temperature=4.0)
    return SimpleNamespace(plant=SimpleNamespace(disinfection=disinfection))


def works(clearwell=2.0, mains=4.0):
    """A plant that takes 4 of a river of 10; homes use 3 and evaporate 1, workplaces use 1; beside
    it town b buys 2."""
    flows = [
        ("upstream", "wren/reach", "upstream", 10.0),
        ("wren/reach", "downstream", "downstream", 6.0),
        ("wren/reach", "a/sedimentation", "intake", 4.0),
        ("a/sedimentation", "a/filters", "treatment", 4.0),
        ("a/filters", "a/clearwell", "treatment", 4.0),
        ("a/clearwell", "a/mains", "supply", 4.0),
        ("a/mains", "a/taps", "home_use", 3.0),
        ("a/mains", "a/workplaces", "work_use", 1.0),
        ("a/taps", "sky", "evaporation", 1.0),
        ("a/taps", "a/sewers", "sewage", 2.0),
        ("a/workplaces", "a/sewers", "sewage", 1.0),
        ("a/sewers", "a/primary", "sewage", 3.0),
        ("a/primary", "a/aeration", "treatment", 3.0),
        ("a/aeration", "a/final_settling", "treatment", 3.0),
        ("a/final_settling", "a/contact", "treatment", 3.0),
        ("a/contact", "downstream", "outfall", 3.0),
        ("import", "b/mains", "import", 2.0),
        ("b/mains", "b/taps", "home_use", 2.0),
        ("b/taps", "sky", "evaporation", 2.0),
    ]
    return small_record(flows, {"a/clearwell": clearwell, "a/mains": mains}, days=[1.0] * 3)


@pytest.fixture(scope="module")
def found():
    record = works()
    op = operator(record)
    taps = {town.name: town.taps for town in find_towns(op)}
    towns = {"a": town_that_aims_at(2.0), "b": town_that_aims_at(1.5)}
    return materials(record, op, taps, SimpleNamespace(quality=QUALITY, town=towns))


def test_materials_at_the_tap(found):
    """Salt as the river and the import bring it, particles of which settling leaves a fifth and
    filters a tenth, metals by what filters leave, chlorine that decays by half in a day's volume of
    mains, fluoride as it is aimed at, and no dye before a use."""
    at_tap = {
        "salt": [100.0, 100.0],
        "particles": [50 * 0.2 * 0.1, 0.0],
        "iron": [0.7 * 0.5, 0.0],
        "manganese": [0.4 * 0.75, 0.0],
        "dye": [0.0, 0.0],
        "chlorine": [2.0 / (1 + 0.5 * 1), 1.5],
        "fluoride": [0.7, 0.7],
    }
    assert found.material.values.tolist() == list(at_tap)
    for name, expected in at_tap.items():
        told = found.at_tap.sel(material=name, town=["a", "b"])
        assert told.isel(time=-1).values == pytest.approx(expected, rel=1e-6, abs=1e-9), name


def test_what_each_step_catches(found):
    """160 and 36 g of the 200 that the river brings to the plant; of 4 (1 + 300) g that are used
    half settles first and three quarters of the rest at last; b has no steps."""
    caught = found.caught.sel(material="particles", step=list(STEPS))
    used = 4 * 301.0
    grams = [160.0, 36.0, used / 2, 0.75 * used / 2]
    assert caught.sel(town="a").values == pytest.approx(np.array(grams) / 1000, rel=1e-6)
    assert (found.caught.sel(town="b").values == 0.0).all()
    iron = found.caught.sel(material="iron", town="a").values
    assert iron == pytest.approx([0.0, 4 * 0.35 / 1000, 0.0, 0.0], rel=1e-6)
    assert (found.caught.sel(material="salt").values == 0.0).all()


@pytest.mark.parametrize(
    ("material", "entered", "left", "caught", "decayed"),
    [
        ("salt", 1000 + 6 * 200 + 2 * 100, 600 + 600 - 200 + 4 * 200, NAN, 0.0),
        ("particles", 500 + 6 * 300, 300 + 4 * 301 / 8, 196 + 7 / 8 * 4 * 301, 0.0),
        ("dye", 3 + 2, 3, NAN, 0.0),
        ("chlorine", 2.5 * 4 + 1.5 * 2, 0.0, 4 * 4 / 3 + 1.5 * 2, 2 + 0.5 * 4 * 4 / 3),
    ],
)
def test_the_balance_of_a_material(found, material, entered, left, caught, decayed):
    """What the river and the import bring and uses add, what goes on with the river and the
    effluent, what steps or customers take, and what decays in clearwell and mains."""
    mass = found.mass.sel(material=material) * 1000.0
    assert float(mass.sel(term="entered")) == pytest.approx(entered, rel=1e-6)
    assert float(mass.sel(term="decayed")) == pytest.approx(decayed, rel=1e-6, abs=1e-9)
    if material in ("particles", "chlorine"):
        held = 2 * 300 if material == "particles" else 0.0  # in the taps that only evaporate
        assert float(mass.sel(term="stored")) + float(mass.sel(term="left")) == pytest.approx(
            left + held, rel=1e-6, abs=1e-6
        )
        assert float(mass.sel(term="caught")) == pytest.approx(caught, rel=1e-6)
    assert float(found.mass_gap.sel(material=material)) < 1e-9


def test_no_fluoride_is_dosed_where_the_river_holds_enough():
    """A river of .9 mg/L comes to taps as it is, where .7 is aimed at."""
    record = works()
    op = operator(record)
    quality = SimpleNamespace(**{**vars(QUALITY), "fluoride_mg_per_l": 0.9})
    taps = {"a": find_towns(op, ["a"])[0].taps}
    scenario = SimpleNamespace(quality=quality, town={"a": town_that_aims_at(2.0)})
    told = materials(record, op, taps, scenario).at_tap.isel(time=-1, town=0)
    assert float(told.sel(material="fluoride")) == pytest.approx(0.9, rel=1e-6)


def test_a_clearwell_that_gives_to_two_mains_in_two_members():
    """What leaves it holds 2 mg/L on the mean of all that both mains get in both members, of which
    the first draws 2 and the second 8; a town at rest is left as it is."""
    taken = np.array([[2.0, 8.0]] * 2)
    flows = [
        ("upstream", "a/clearwell", "intake", taken),
        ("a/clearwell", "a/mains", "supply", taken / 2),
        ("a/clearwell", "a/high_zone", "supply", taken / 2),
        ("a/mains", "a/taps", "home_use", taken / 2),
        ("a/high_zone", "a/baths", "home_use", taken / 2),
        ("a/taps", "sky", "evaporation", taken / 2),
        ("a/baths", "sky", "evaporation", taken / 2),
        ("b/clearwell", "b/mains", "supply", 0.0 * taken),
        ("b/mains", "b/taps", "home_use", 0.0 * taken),
    ]
    record = small_record(flows, {"a/clearwell": 4.0, "b/clearwell": 1.0}, days=[1.0] * 2)
    op = operator(record)
    taps = {name: find_towns(op, [name])[0].taps for name in ("a", "b")}
    towns = {"a": town_that_aims_at(2.0), "b": town_that_aims_at(1.0)}
    told = materials(record, op, taps, SimpleNamespace(quality=QUALITY, town=towns))
    tap = told.at_tap.sel(material="chlorine", town="a").isel(time=-1).values
    # A dose d leaves d q / (q + k V): a half of it at 2, four fifths at 8 m3/d.
    dose = 2.0 * 10.0 / (0.5 * 2.0 + 0.8 * 8.0)
    assert tap == pytest.approx([0.5 * dose, 0.8 * dose], rel=1e-6)


def test_chlorine_of_cold_water_lasts():
    """6050 (1/283.15 - 1/293.15) = .7289, and e to the minus that .4824: half as fast at 10 C as at
    20 C, and never colder than the coldest water."""
    record = works().assign(tmean_c=("time", [20.0, 20.0, 20.0]))
    town = town_that_aims_at(2.0)
    assert chlorine_decay(record, QUALITY, town) == nearly([0.5] * 3)
    record["tmean_c"] = ("time", [10.0] * 3)
    assert chlorine_decay(record, QUALITY, town) == pytest.approx([0.5 * 0.4824] * 3, rel=1e-3)
    record["tmean_c"] = ("time", [-10.0] * 3)
    town.plant.disinfection.temperature = 10.0
    assert chlorine_decay(record, QUALITY, town) == pytest.approx([0.5 * 0.4824] * 3, rel=1e-3)
    assert chlorine_decay(works(), QUALITY, town).tolist() == [0.5] * 3


def test_largest_gap_is_over_what_a_store_held_and_took_in():
    """10 held, 4 in and 3 out, but 1.5 more at the end: .5 over 14; a store that never held any
    has no gap; in the second member it lets out 7, and .5 are lost of 10 and 7."""
    moved = np.array([[4.0, 4.0], [3.0, 7.0]])
    run = SimpleNamespace(
        op=SimpleNamespace(
            source=np.array([-1, 0]),
            target=np.array([0, -1]),
            stores=("a/pond", "a/dry"),
            shape=(1, 2, 2),
            water=SimpleNamespace(volume=np.array([[[10.0, 10.0], [0.0, 0.0]]])),
        ),
        moved=moved,
        stored=np.array([[1.5, -3.5], [0.0, 0.0]]),
    )
    assert largest_gap(run).tolist() == nearly([0.5 / 14, 0.5 / 17])
    run.stored[0] = [1.0, -3.0]
    assert largest_gap(run).tolist() == [0.0, 0.0]


def test_balance_of_places_whose_stores_stand_apart():
    """Flows within a place cancel, flows between places are out of one and into the other; steps of
    one and two days, two members."""
    rate = np.array([[3.0, 5.0], [1.0, 2.0]])
    flows = [
        ("rain", "a/soil", "rain", rate),
        ("b/pond", "a/drain", "river", 1.0),
        ("a/soil", "a/drain", "runoff", 0.5),
        ("a/drain", "b/lake", "river", 0.5),
        ("b/lake", "downstream", "downstream", 0.25),
    ]
    record = small_record(flows, {"b/pond": 9.0, "a/soil": 1.0, "b/lake": 0.0}, days=[1.0, 2.0])
    places, terms = balance(run_of(record))
    assert places == ["b", "a", "whole map"]
    for member, rained in enumerate((5.0, 9.0)):
        assert terms[..., member].tolist() == nearly(
            [
                [1.5, 3.75, -2.25, 0.0],
                [rained + 3.0, 1.5, rained + 1.5, 0.0],
                [rained, 0.75, rained - 0.75, 0.0],
            ]
        )


def test_turnover_of_stores_without_flow():
    """Nothing goes through one: no time. What only loses counts by its outflow."""
    flows = [("a/tank", "downstream", "supply", [2.0, 4.0])]
    record = small_record(flows, {"a/tank": 12.0, "a/still": 5.0}, days=[1.0, 1.0])
    # 12, 10, 6 at the edges: 9.5 on the mean, over 3.
    assert turnover_time(record)[:, 0] == nearly([9.5 / 3, NAN])


def test_glasses_of_which_there_are_none():
    """Of no glass at all nothing is known; beside one that there is the others are left open."""
    flows = [
        ("upstream", "wren/reach", "upstream", 2.0),
        ("wren/reach", "a/taps", "home_use", 2.0),
        ("a/taps", "wren/below", "outfall", 2.0),
        ("wren/below", "downstream", "downstream", 2.0),
    ]
    op = operator(small_record(flows, {"wren/below": 2.0}, days=[1.0] * 40))
    gate = find_gate(op, "home")
    none = time_since_use(op, gate, [(-1, -1), (0, -1)])
    assert none["days_ago"].tolist() == [0.0]
    assert none["last_use_share"].shape == (2, 1, 1)
    assert all(np.isnan(none[name]).all() for name in none if name != "days_ago")
    below = op.stores.index("wren/below")
    found = time_since_use(op, gate, [(-1, -1), (below, 39), (below, 1)])
    assert np.isnan(found["last_use_never"][0]).all()
    # Half of the reach is replaced each day: 1/2 today, 1/4 yesterday, and so on.
    assert found["last_use_share"][1, :4, 0] == nearly([0.5, 0.25, 0.125, 0.0625])
    assert found["last_use_median"][:, 0] == nearly([NAN, 0.0, 0.0])
    assert found["within_7"][1, 0] == pytest.approx((1 - 0.5**8) / (1 - 0.5**40))
    assert found["within_30"][1, 0] == pytest.approx((1 - 0.5**31) / (1 - 0.5**40))
    assert found["last_use_unknown"][2, 0] == pytest.approx(0.25)
    assert found["last_use_share"][2, :3, 0] == nearly([0.5, 0.25, 0.0])


def test_where_parcels_are_in_the_end():
    """Let go in a reach that gives a tenth to each of ten ways: ends by role or boundary."""
    ways = {
        "sky": "evaporated", "downstream": "left down the river", "solids": "left with sludge",
        "wren/streams": "in rivers", "mere/reservoir": "in reservoirs",
        "a/subsoil": "in the ground",
        "a/groundwater": "in the ground", "a/snow": "in soil, yards and snow",
        "a/storm_drains": "in soil, yards and snow", "a/mains": "in pipes and water works",
    }  # fmt: skip
    flows = [("upstream", "wren/reach", "upstream", 10.0)]
    flows += [("wren/reach", end, "supply", 1.0) for end in ways]
    op = operator(small_record(flows))
    fate = parcel_fate(op, find_gate(op, ["supply"]), 2, [(0, 0), (0, -1)])
    expected = [sum(0.1 for end in ways.values() if end == one) for one in ENDS]
    assert fate["parcel_end_share"][0, :, 0] == nearly(expected)
    assert fate["parcel_pass_share"][0, :, 0] == nearly([0.0, 1.0, 0.0])
    assert fate["parcel_passes"][:, 0] == nearly([1.0, NAN])
    assert np.isnan(fate["parcel_end_share"][1]).all()
    held = operator(small_record(flows, {"wren/reach": 10.0}))
    fate = parcel_fate(held, find_gate(held, ["supply"]), 2, [(0, 0)])
    assert fate["parcel_end_share"][0, ENDS.index("in rivers"), 0] == pytest.approx(0.5 + 0.05)


def test_cycling_of_a_loop():
    """Half of what leaves the basin comes back by the pump: it passes twice on the mean, so half of
    its flow, and of the pump's, is water that comes by again."""
    flows = [
        ("upstream", "a/basin", "upstream", 1.0),
        ("a/basin", "a/pump", "home_use", 1.0),
        ("a/pump", "a/basin", "reclaimed", 1.0),
        ("a/basin", "downstream", "downstream", 1.0),
    ]
    found = cycling(small_record(flows), "home", ["a/pump", "c/none", "a/basin"])
    assert found["lifetime_passes"][:, 0] == nearly([1.0, NAN, 1.0])
    # Basin: T = 2, N = 2; pump: T = 1, N = 2. So (2 + 1) / 2 over 3.
    assert found["cycling_index"].tolist() == nearly([0.5])
    assert found["path_length"].tolist() == nearly([3.0])
    still = small_record(flows[1:3], {"a/basin": 5.0})
    assert np.isnan(cycling(still, "home", ["a/basin"])["lifetime_passes"]).all()


def test_reservoirs_by_hand():
    """Inflows of 4, 0, 0, 4 and a draft of 2 draw down 2, 4 and 2 of the second to the fourth; a
    storage of 4 gives 2, of 1 (1 + 0) / 2, of nothing nothing."""
    inflow = np.array([4.0, 0.0, 0.0, 4.0])
    assert sequent_peak(inflow, 2.0, runs=1).tolist() == [0.0, 2.0, 4.0, 2.0]
    assert sequent_peak(inflow, 2.0)[4:].tolist() == [0.0, 2.0, 4.0, 2.0]
    assert len(sequent_peak(inflow, 2.0)) == 8
    assert storage_for_draft(inflow, 2.0) == 4.0
    assert storage_for_draft(inflow, 0.5) == 1.0
    assert [yield_for_storage(inflow, held) for held in (0.0, 1.0, 4.0, 9.0)] == [
        0.0,
        0.5,
        2.0,
        2.0,
    ]
    assert yield_for_storage(np.array([0.0]), 3.0) == 0.0
    for held, series in ((-1.0, inflow), (1.0, inflow[:0])):
        with pytest.raises(ValueError, match="give a storage that is not negative"):
            yield_for_storage(series, held)
    with pytest.raises(ValueError, match="more than the mean inflow of 2"):
        storage_for_draft(inflow, 2.5)


def test_land_in_depth_by_hand():
    """10 mm of rain are 10 m3: soil gives 3 to the sky, 2 to a reach, 1 to the ground, and gets 1
    of watering; the ground gets .5 of a leak, gives 1 to the reach and .25 to a well."""
    flows = [
        ("rain", "a/soil", "rain", 10.0),
        ("a/mains", "a/soil", "yard_use", 1.0),
        ("a/soil", "sky", "evaporation", 3.0),
        ("a/soil", "wren/reach", "interflow", 2.0),
        ("a/soil", "a/groundwater", "percolation", 1.0),
        ("a/mains", "a/groundwater", "leak", 0.5),
        ("a/groundwater", "wren/reach", "baseflow", 1.0),
        ("a/groundwater", "a/mains", "intake", 0.25),
        ("wren/reach", "downstream", "downstream", 3.0),
    ]
    record = small_record(flows, {"a/mains": 5.0, "a/groundwater": 9.0}, days=[1.0, 1.0])
    record = record.assign(rain_mm=("time", [10.0, 10.0]))
    land, depth = land_balance(run_of(record))
    assert land == ["a"]
    told = dict(zip(LAND_TERMS, depth[0, :, 0].tolist(), strict=True))
    assert told == pytest.approx(
        {
            "rain": 20.0,
            "watering": 2.0,
            "evaporation": 6.0,
            "runoff and interflow": 4.0,
            "recharge": 2.0,
            "change of soil and snow": 10.0,
            "leaks and reuse": 1.0,
            "baseflow": 2.0,
            "sewers and wells": 0.5,
            "change of groundwater": 0.5,
        }
    )
    half = land_balance(run_of(record.assign(rain_mm=("time", [5.0, 5.0]))))[1]
    assert half == nearly(depth / 2)
    assert land_balance(run_of(record.drop_vars("rain_mm")))[0] == []


def test_a_town_on_wells_has_no_return_ratio_and_the_first_town_may_be_the_next():
    """The return ratio is a river's; what a town further on in the record gives back comes to the
    first."""
    flows = [
        ("a/mains", "a/taps", "home_use", 5.0),
        ("a/taps", "sky", "evaporation", 5.0),
        ("wren/low", "a/mains", "intake", 5.0),
        ("b/groundwater", "b/mains", "intake", 4.0),
        ("b/mains", "b/taps", "home_use", 4.0),
        ("b/taps", "wren/low", "outfall", 4.0),
        ("upstream", "wren/low", "upstream", 6.0),
        ("wren/low", "downstream", "downstream", 5.0),
    ]
    table = hl.measures(small_record(flows, {"b/groundwater": 40.0}, days=[1.0] * 4))
    assert table.town.values.tolist() == ["a", "b"]
    assert table.season_return_ratio.values == nearly([0.4, NAN])
    assert table.season_mean_uses_at_intake.values == nearly([0.4, 0.0])
    assert table.next_town.values.tolist() == ["", "a"]
    assert float(table.outfall_to_tap_share.sel(town="b", town_to="a")) == pytest.approx(0.4)
