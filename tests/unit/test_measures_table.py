"""The table of measures: towns it finds, names and units it gives, questions it refuses."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from conserves import assert_closes
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.errors import AskError
from hydroloop.glossary import term
from hydroloop.measures import find_towns


@pytest.fixture(scope="module")
def five():
    scenario = hl.read_scenario("five_towns")
    record = hl.simulate(scenario)
    assert_closes(record)
    return scenario, record, hl.measures(record, scenario, glass_dates=["2031-09-01", "2031-10-01"])


def plain(flows, stores, days=3, **more):
    """Steady record without volumes, from a class's own table."""
    edges = pd.date_range("2031-01-01", periods=days + 1)
    rows = pd.concat(
        pd.DataFrame({"time": edges[:-1], "source": a, "target": b, "kind": kind, "rate": rate})
        for a, b, kind, rate in flows
    )
    record = hl.water_record(pd.DataFrame(0.0, index=edges, columns=stores), rows, **more)
    assert_closes(record)
    return record


def test_towns_come_in_the_order_of_the_file(five):
    """With a scenario its order holds, without it that of the record."""
    scenario, record, table = five
    assert table.town.values.tolist() == list(scenario.town)
    assert {town.name for town in find_towns(record)} == set(scenario.town)
    assert next(iter(find_towns(record, ["osselby"]))).name == "osselby"


def test_towns_know_their_waters_and_where_their_water_begins(five):
    """A town that drinks from the river, and one that buys its water."""
    found = {town.name: town for town in find_towns(five[1])}
    river, buyer = found["osselby"], found["tamberly"]
    assert (river.first, river.mains) == ("osselby/rapid_mix", "osselby/mains")
    assert (buyer.first, buyer.mains) == ("tamberly/clearwell", "tamberly/mains")
    role = dict(zip(five[1]["store"].values.tolist(), five[1]["role"].values.tolist(), strict=True))
    assert [role.get(town.water_source) for town in (river, buyer)] == ["reach", None]
    assert all(role[town.outlet] == "reach" for town in found.values() if town.outfalls.any())
    assert all(name.startswith(f"{town.name}/") for town in found.values() for name in town.homes)


def test_every_variable_has_unit_and_meaning(five):
    """Units agree with the glossary, and every variable has a long name."""
    _, _, table = five
    for name, values in table.data_vars.items():
        assert values.attrs.get("long_name"), name
        if values.dtype.kind != "M":
            assert (
                values.attrs.get("units")
                == term(
                    str(name).removeprefix("glass_")
                    if name != "glass_homes_last_month"
                    else "molecules_in_homes_last_month"
                ).units
            ), name


def test_time_comes_first(five):
    """Dims stand in one order everywhere."""
    _, _, table = five
    assert table.use_share.dims == ("time", "town", "use")
    assert table.unmet.dims == ("time", "town", "purpose")
    assert table.last_use_share.dims == ("town", "days_ago")
    assert table.glass_last_use_share.dims == ("glass", "town", "days_before")
    assert table.outfall_to_tap_spread.dims == ("town", "days_between")


def test_wells_and_rivers(five):
    """A town with wells pumps and does not withdraw; its at-intake values are the groundwater's."""
    _, _, table = five
    wells, river = table.sel(town="tamberly"), table.sel(town="larkmill")
    assert (wells.pumped > 0).all()
    assert (wells.withdrawn == 0).all()
    assert wells.river_flow_at_intake.isnull().all()
    assert (wells.used_share_at_intake > 0).all()
    assert (river.withdrawn > 0).all()
    assert (river.pumped == 0).all()
    assert (river.river_flow_at_intake > river.withdrawn).all()


def test_reuse_in_a_town_shows_at_its_tap_and_not_at_its_intake(five):
    """Osselby's tap has its own effluent in it, on top of what the river brings."""
    _, _, table = five
    town = table.sel(town="osselby")
    assert (town.used_share > town.used_share_at_intake + 0.02).all()
    assert float(town.toilet_share.max()) < float(town.used_share.max())


def test_river_intakes_keep_the_order_of_the_three(five):
    """f <= m <= S at the river intakes and at the reservoir, day by day."""
    _, _, table = five
    towns = table.sel(town=["quillford", "larkmill", "osselby"])
    assert (towns.used_share_at_intake <= towns.mean_uses_at_intake + 1e-12).all()
    assert (towns.mean_uses_at_intake <= towns.return_ratio + 1e-12).all()


def test_next_town_is_where_effluent_comes_first(five):
    """Quillford's effluent comes to Larkmill before Osselby; Osselby's comes to nobody."""
    _, _, table = five
    assert table.next_town.sel(town="quillford").item() == "larkmill"
    assert table.next_town.sel(town="osselby").item() == ""
    spread = table.outfall_to_tap_spread.sum("days_between")
    assert 0.01 < float(spread.sel(town="quillford")) < 1.0
    assert float(spread.sel(town="osselby")) == 0.0


def test_glasses_of_other_dates(five):
    """A glass of a date is what `last_use` says of the mains on it."""
    _, record, table = five
    ago = hl.last_use(record, at="larkmill/mains", on="2031-09-01")
    ours = table.glass_last_use_share.sel(town="larkmill").isel(glass=0)
    assert float(ours.sum()) == pytest.approx(float(ago.share.sum()), abs=1e-12)
    assert float(table.glass_last_use_never.sel(town="larkmill")[0]) == pytest.approx(
        float(ago.never), abs=1e-12
    )


def test_tap_shares_are_those_of_the_mains(five):
    """What runs out of the mains in a step is what they hold at its end."""
    _, record, table = five
    uses = hl.count_uses(record, most=5)
    mains = uses.sel(store="osselby/mains").isel(edge=slice(1, None))
    assert (
        np.abs(
            table.use_share.sel(town="osselby").values - mains.share.transpose("edge", "use").values
        ).max()
        <= 1e-12
    )


def test_plain_table_with_homes_on_the_river():
    """A home that drinks straight from a river store is a town with an intake there."""
    flows = [
        ("upstream", "river", "upstream", 10.0),
        ("river", "home", "home_use", 4.0),
        ("home", "river", "outfall", 4.0),
        ("river", "downstream", "downstream", 10.0),
    ]
    town = hl.measures(plain(flows, ["river", "home"])).sel(town="home")
    assert (town.withdrawn == 4.0).all()
    assert (town.river_flow_at_intake == 14.0).all()
    # What returns above its own intake is in the river: U = 4 of 14 at the tap.
    assert np.abs(town.used_share - 4 / 14).max() <= 1e-7


def test_plain_table_with_homes_on_imported_water():
    """Water that comes straight from over a boundary has what the record says of it."""
    flows = [("import", "a/home", "home_use", 3.0), ("a/home", "sky", "evaporation", 3.0)]
    record = plain(flows, ["a/home"], used_before={"import > a/home": [0.0, 0.25]})
    town = hl.measures(record, most=3).sel(town="a")
    assert town.use_share.isel(time=0).values.tolist() == pytest.approx([0.75, 0.0, 0.25, 0.0])
    assert town.mean_uses.values == pytest.approx(0.5)
    assert town.used_share_at_intake.isnull().all()
    assert np.isnat(town.glass_date.values)
    assert np.isnan(float(town.lifetime_passes))


def test_a_blend_of_two_sources_is_mixed_by_rate():
    """Homes fed 3 from a store and 1 from over the boundary, of which half was used."""
    flows = [
        ("upstream", "a/mains", "upstream", 3.0),
        ("a/mains", "a/home", "home_use", 3.0),
        ("import", "a/home", "home_use", 1.0),
        ("a/home", "sky", "evaporation", 4.0),
    ]
    record = plain(flows, ["a/mains", "a/home"], used_before={"import > a/home": [0.5]})
    town = hl.measures(record).sel(town="a")
    assert town.used_share.values == pytest.approx(0.125)


def test_a_record_without_towns():
    """Without homes there are no towns, and the rest of the table is there."""
    flows = [("rain", "lake", "rain", 2.0), ("lake", "downstream", "river", 2.0)]
    table = hl.measures(plain(flows, ["lake"]), gate="river")
    assert "town" not in table.dims
    assert float(table.balance.sel(place="whole map", term="inflow")) == 6.0


def test_a_day_without_water_has_no_share():
    """A dry tap has no use shares; the season is that of the days with water."""
    edges = pd.date_range("2031-01-01", periods=3)
    rows = pd.DataFrame(
        {
            "time": [edges[0]] * 3,
            "source": ["upstream", "river", "home"],
            "target": ["river", "home", "sky"],
            "rate": [2.0] * 3,
            "kind": ["upstream", "home_use", "evaporation"],
        }
    )
    record = hl.water_record(pd.DataFrame(0.0, index=edges, columns=["river", "home"]), rows)
    town = hl.measures(record).sel(town="home")
    assert town.used_share.isnull().values.tolist() == [False, True]
    assert float(town.season_used_share) == 0.0


def test_unmet_demand():
    """A river that falls dry leaves homes short of what they asked for."""
    short = hl.measures(hl.simulate(one_town(river__wren__inflow="0.02 m3/s"))).unmet
    full = hl.measures(hl.simulate(one_town())).unmet
    assert float(short.sel(purpose="homes").sum()) > 0
    assert float(full.sum()) == 0.0
    assert (short >= 0).all()


def test_most_is_the_last_class(five):
    """With fewer classes the last one holds the rest, and mean uses stay the same."""
    _, record, table = five
    few = hl.measures(record, most=1)
    assert few.use_share.sizes["use"] == 2
    assert np.abs(few.season_used_share - table.season_used_share).max() <= 1e-9
    assert np.abs(few.season_mean_uses - table.season_mean_uses).max() <= 1e-7


def test_refused_questions(five):
    """A gate that is not there, no use classes, and a date outside the record are refused."""
    _, record, _ = five
    with pytest.raises(AskError, match="home_use"):
        hl.measures(record, gate="home_uses")
    with pytest.raises(AskError, match="most"):
        hl.measures(record, most=0)
    with pytest.raises(AskError, match="outside the record"):
        hl.measures(record, glass_dates=["2040-01-01"])


def test_package_is_callable():
    """`hydroloop.measures` stays the function when the package of that name was imported."""
    import hydroloop.measures as package

    flows = [("rain", "lake", "rain", 2.0), ("lake", "downstream", "river", 2.0)]
    assert float(package(plain(flows, ["lake"]), gate="river").cycling_index) == 0.0


NO_USE = {
    "homes.use_per_person": "0 m3/person/day",
    "workplaces.use_per_person": "0 m3/person/day",
    "yards.area_per_person": "0 m2",
}


@pytest.mark.parametrize("dry", [["larkmill"], ["quillford", "osselby"], "all"])
def test_a_town_that_uses_no_water_has_nothing_to_tell(dry):
    """Its glass and shares are NaN, wherever it stands in the file; the other towns have theirs."""
    scenario = hl.read_scenario("five_towns").changed({"season.end": "2031-06-05"})
    dry = list(scenario.town) if dry == "all" else dry
    scenario = scenario.changed(
        {f"town.{town}.{key}": value for town in dry for key, value in NO_USE.items()}
    )
    table = hl.measures(hl.simulate(scenario), scenario)
    for town in scenario.town:
        glass = table.sel(town=town)
        told = [
            bool(glass[name].notnull().any())
            for name in ("season_used_share", "last_use_share", "glass_date")
        ]
        assert told == [town not in dry] * 3, town
        if town not in dry:
            parts = [glass[f"last_use_{part}"] for part in ("never", "before_record", "unknown")]
            assert float(glass.last_use_share.sum() + sum(parts)) == pytest.approx(1.0, abs=1e-9)
