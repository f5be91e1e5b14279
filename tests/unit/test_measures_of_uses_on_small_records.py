"""How often, how long and by which way, in towns without storage: every share by hand.

Of a river of 10, used .2 once and .1 twice above the map, town a takes 4: 1 through toilets, 2
through taps, 1 through workplaces, and gives all back. Town b takes 5 of the 10 below.
"""

from __future__ import annotations

import numpy as np
import pytest
from small_records import small_record

import hydroloop as hl
from hydroloop.errors import HydroloopWarning
from hydroloop.measures import ends_by_use, find_towns, run_of
from hydroloop.measures.gather.how_long import nearest_taps
from hydroloop.measures.gather.how_often import MOST_NAMED
from hydroloop.measures.gather.totals import season_of
from hydroloop.measures.last import molecules_in_a_glass
from hydroloop.record import flow_mask
from hydroloop.tracing import operator

NAN = float("nan")


def nearly(values, abs=1e-9):
    return pytest.approx(np.array(values), rel=1e-9, abs=abs, nan_ok=True)


def two_towns(drawn=5.0, days=4, into_ground=0.0):
    """The record above; a part of what b takes may seep through the ground first."""
    drawn = np.broadcast_to(drawn, (days, 2)).astype(float)
    flows = [
        ("upstream", "wren/reach_1", "upstream", 10.0),
        ("wren/reach_1", "a/mains", "intake", 4.0),
        ("wren/reach_1", "wren/reach_2", "river", 6.0),
        ("a/mains", "a/toilets", "home_use", 1.0),
        ("a/mains", "a/taps", "home_use", 2.0),
        ("a/mains", "a/workplaces", "work_use", 1.0),
        ("a/toilets", "a/sewers", "sewage", 1.0),
        ("a/taps", "a/sewers", "sewage", 2.0),
        ("a/workplaces", "a/sewers", "sewage", 1.0),
        ("a/sewers", "wren/reach_2", "outfall", 4.0),
        ("wren/reach_2", "b/mains", "intake", drawn - into_ground),
        ("wren/reach_2", "downstream", "downstream", 10.0 - drawn),
        ("b/mains", "b/taps", "home_use", drawn),
        ("b/taps", "sky", "evaporation", drawn),
        ("wren/reach_2", "b/groundwater", "recharge", into_ground),
        ("b/groundwater", "b/mains", "intake", into_ground),
    ]
    before = {"upstream > wren/reach_1": [0.2, 0.1]}
    return small_record(flows, days=[1.0] * days, used_before=before)


@pytest.fixture(scope="module")
def table():
    """Of both members: the second's b takes 2."""
    return hl.measures(two_towns([5.0, 2.0]), most=3, glass_dates=["2031-01-02"]).sel(
        town=["a", "b"]
    )


def test_uses_at_taps_and_intakes(table):
    """b's water: .6 is the river's, .1 passed a's workplaces, .3 its homes, which adds a use."""
    shares = [[0.7, 0.2, 0.1, 0.0], [0.49, 0.35, 0.13, 0.03]]
    for member in range(2):
        one = table.isel(member=member)
        assert one.use_share.isel(time=2).transpose("town", "use").values == nearly(shares)
        assert one.season_use_share.transpose("town", "use").values == nearly(shares)
        for name, expected in {
            "used_share": [0.3, 0.51],
            "mean_uses": [0.4, 0.7],
            "unknown_share": [0.0, 0.0],
            "toilet_share": [0.0, 0.1],
            "used_share_at_intake": [0.3, 0.51],
            "mean_uses_at_intake": [0.4, 0.7],
            "return_ratio": [0.4, 0.8],
            "effluent_share_at_intake": [0.3, 0.6 * 0.3 + 0.4],
        }.items():
            assert one[name].isel(time=-1).values == nearly(expected), name
            assert one[f"season_{name}"].values == nearly(expected), name
        by_gate = one.season_share_as.transpose("town", "count_as")
        assert by_gate.count_as.values.tolist() == [
            "home", "home-or-workplace", "toilet", "wastewater-plant"
        ]  # fmt: skip
        assert by_gate.values == nearly([[0.3, 0.3, 0.0, 0.3], [0.51, 0.58, 0.1, 0.58]])
        rivers = one.season_used_share_in_river
        assert rivers.sel(store=["wren/reach_1", "wren/reach_2"]).values == nearly([0.3, 0.51])
        assert rivers.notnull().sum() == 2


def test_by_whom_and_by_which_way(table):
    """Of b's used .51 the river brought .3 that a used, .2 of it at taps, and .21 of before."""
    one = table.isel(member=0).sel(town="b")
    way = one.season_used_share_by_way
    assert float(way.sel(used_in="a", way="river")) == pytest.approx(0.3)
    assert float(way.sel(used_in="above the map").sum()) == pytest.approx(0.21)
    assert float(way.sum()) == pytest.approx(0.51)
    use = one.season_used_share_by_use
    assert use.sel(used_in="a", used_for=["taps", "toilets"]).values == nearly([0.2, 0.1])
    first = table.isel(member=0).sel(town="a").season_used_share_by_way
    assert float(first.sel(used_in="above the map").sum()) == pytest.approx(0.3)
    assert float(first.sum()) == pytest.approx(0.3)


def test_glasses_of_the_most_used_day_and_of_a_date(table):
    """Of b's glass .3 was in a home today, .21 before the record, .49 never: .588 of the used part
    have a time, so that its median is today."""
    molecules = molecules_in_a_glass()
    for kind, at in (("", {}), ("glass_", {"glass": 0})):
        names = {
            "last_use_never": [0.7, 0.49],
            "last_use_before_record": [0.3, 0.21],
            "last_use_unknown": [0.0, 0.0],
            "last_use_median": [NAN, 0.0],
            "within_7": [0.0, 0.3 / 0.51],
        }
        for name, expected in names.items():
            for member in range(2):
                found = table[kind + name].isel(member=member, **at).values
                assert found == nearly(expected), kind + name
        share = table[f"{kind}last_use_share"].isel(member=0, **at)
        day = "days_before" if kind else "days_ago"
        assert share.isel({day: 0}).values == nearly([0.0, 0.3])
        assert share.sum(day).values == nearly([0.0, 0.3])
    homes = table.molecules_in_homes_last_month.isel(member=1).values
    assert homes == pytest.approx([0.0, 0.3 * molecules])
    assert table.glass_homes_last_month.isel(member=1, glass=0).values == pytest.approx(homes)
    assert (
        table.glass_date.values.astype("datetime64[D]").astype(str).tolist()
        == [["2031-01-01"] * 2] * 2
    )
    assert str(table.glass.values[0])[:10] == "2031-01-02"


def test_from_outfall_to_tap(table):
    """.4 of b's tap came out of a's outfall, by the surface, within an eighth of a day; b takes
    half of it, or a fifth, and gives nothing back."""
    for member, drawn in enumerate((0.5, 0.2)):
        one = table.isel(member=member)
        share = one.outfall_to_tap_share.sel(town_to=["a", "b"])
        assert share.values == nearly([[0.0, 0.4], [NAN, NAN]])
        time = one.outfall_to_tap_time.sel(town="a", town_to="b").values
        assert time == nearly(0.125 * np.array([0.1, 0.5, 0.9]))
        assert np.isnan(one.outfall_to_tap_time.sel(town="a", town_to="a")).all()
        spread = one.outfall_to_tap_spread.sel(town="a").values
        assert spread == nearly([drawn] + [0.0] * 7)
        assert one.outfall_to_tap_pending.values == nearly([0.0, NAN])
        ground = one.outfall_to_tap_ground.sel(town_to=["a", "b"]).values
        assert ground == nearly([[NAN, 0.0], [NAN, NAN]])
        assert one.intake_to_outfall_share.sel(town="a").values == nearly([1.0] + [0.0] * 7)
        assert one.intake_to_outfall_share.sel(town="b").sum() == 0.0
        assert one.intake_to_outfall_pending.values == nearly([0.0, 0.0])
        assert one.intake_to_outfall_ground.values == nearly([0.0, 0.0])
    assert table.next_town.values.tolist() == ["b", ""]
    assert table.days_between.values.tolist() == [0.25 * n for n in range(8)]


def test_a_way_through_the_ground():
    """Of b's 5 that are .4 effluent 2 come through the ground: by it two fifths, by the surface the
    rest; its intake draws 3 of the river and its wells 2."""
    table = hl.measures(two_towns(5.0, into_ground=2.0)).isel(member=0)
    assert float(table.outfall_to_tap_share.sel(town="a", town_to="b")) == pytest.approx(0.4)
    assert float(table.outfall_to_tap_ground.sel(town="a", town_to="b")) == pytest.approx(0.4)
    assert table.pumped.sel(town="b").values.tolist() == [2.0] * 4
    assert table.withdrawn.sel(town="b").values.tolist() == [3.0] * 4
    assert float(table.season_used_share.sel(town="b")) == pytest.approx(0.51)


def test_a_leak_on_the_way_to_the_outfall():
    """Of 4 that a takes in, 1 leaks out of its mains: a quarter, told of the town that loses it."""
    flows = [
        ("upstream", "wren/reach", "upstream", 4.0),
        ("wren/reach", "a/mains", "intake", 4.0),
        ("a/mains", "a/groundwater", "leak", 1.0),
        ("a/groundwater", "downstream", "baseflow", 1.0),
        ("a/mains", "a/taps", "home_use", 3.0),
        ("a/taps", "a/sewers", "sewage", 2.0),
        ("a/taps", "sky", "evaporation", 1.0),
        ("a/sewers", "wren/below", "outfall", 2.0),
        ("wren/below", "c/soil", "irrigation", 1.0),
        ("c/soil", "sky", "evaporation", 1.0),
        ("wren/below", "downstream", "downstream", 1.0),
    ]
    town = hl.measures(small_record(flows, days=[1.0] * 4)).sel(town="a")
    assert float(town.intake_to_outfall_ground) == pytest.approx(0.25)
    assert float(town.intake_to_outfall_share.sum()) == pytest.approx(0.5)
    assert float(town.intake_to_outfall_pending) == pytest.approx(0.0, abs=1e-9)


def test_what_is_said_of_the_gate():
    """The record's own, one that is asked for by name, and flows that somebody chose."""
    record = two_towns()
    work = record["kind"].values == "work_use"
    for gate, said, shares in (
        (None, "home", [0.3, 0.51]),
        ("toilet", "toilet", [0.0, 0.1]),
        ("wastewater-plant", "wastewater-plant", [0.3, 0.58]),
        (["work_use"], "chosen flows", [0.3, 0.37]),
        (work, "chosen flows", [0.3, 0.37]),
    ):
        table = hl.measures(record, gate=gate, most=2).isel(member=1)
        assert table.attrs["gate"] == said
        assert table.attrs["most"] == 2
        assert table.season_used_share.sel(town=["a", "b"]).values == nearly(shares)
        by_gate = table.season_share_as.sel(town="b").values
        assert by_gate == nearly([0.51, 0.58, 0.1, 0.58])
        assert "pairs_of_towns" not in table.attrs
        assert float(table.season_toilet_share.sel(town="b")) == pytest.approx(0.1)
    never = hl.measures(record, gate="toilet").isel(member=0).last_use_never
    assert never.sel(town=["a", "b"]).values == nearly([1.0, 0.9])


def test_gates_that_a_record_has_no_flow_of():
    """Homes that are no toilets, and no outfall: those shares are not known, and there is none of
    toilets; a use of the record stays that of homes."""
    flows = [
        ("upstream", "wren/reach", "upstream", 5.0),
        ("wren/reach", "a/mains", "intake", 5.0),
        ("a/mains", "a/taps", "home_use", 5.0),
        ("a/taps", "sky", "evaporation", 5.0),
    ]
    before = {"upstream > wren/reach": [0.5]}
    table = hl.measures(small_record(flows, used_before=before)).sel(town="a")
    assert table.season_share_as.values == nearly([0.5, 0.5, NAN, NAN])
    assert "toilet_share" not in table
    assert np.isnan(table.season_effluent_share_at_intake)
    assert table.next_town.item() == ""
    assert np.isnan(table.outfall_to_tap_share).all()
    assert np.isnan(table.outfall_to_tap_ground).all()


def test_homes_fed_from_a_store_and_over_the_boundary():
    """3 of 4 come from a reach that was used by a fifth, 1 straight from a neighbour, used by half
    once and by a quarter twice: all classes by 3 to 1."""
    flows = [
        ("upstream", "wren/reach", "upstream", 3.0),
        ("wren/reach", "a/taps", "home_use", 3.0),
        ("import", "a/taps", "home_use", 1.0),
        ("a/taps", "sky", "evaporation", 4.0),
    ]
    before = {"upstream > wren/reach": [0.2], "import > a/taps": [0.5, 0.25]}
    record = small_record(flows, days=[1.0, 2.0], used_before=before)
    town = hl.measures(record, most=2).sel(town="a")
    shares = [(3 * 0.8 + 0.25) / 4, (3 * 0.2 + 0.5) / 4, 0.25 / 4]
    assert town.use_share.isel(time=0).values == nearly(shares)
    assert town.season_use_share.values == nearly(shares)
    assert float(town.season_mean_uses) == pytest.approx((3 * 0.2 + 1.0) / 4)
    by_gate = town.season_share_as.sel(count_as=["home", "home-or-workplace"]).values
    assert by_gate == nearly([1 - shares[0]] * 2)
    other = hl.measures(record, gate="home-or-workplace").sel(town="a").season_share_as
    assert other.sel(count_as="home").item() == pytest.approx(1 - shares[0])
    above = town.season_used_share_by_way.sel(used_in="above the map")
    assert float(above.sum()) == pytest.approx(1 - shares[0])
    season = season_of(run_of(record), 2)
    assert season["season_use_share"][0, :, 0] == nearly(shares)
    capped = season_of(run_of(record), 1)
    assert capped["season_use_share"][0, :, 0] == nearly([shares[0], 1 - shares[0]])
    assert season["season_mean_uses"][0, 0] == pytest.approx((3 * 0.2 + 1.0) / 4)
    assert season["mean_delivered"][0, 0] == pytest.approx(4.0)
    assert season.coords["use"].tolist() == [0, 1, 2]
    assert "days_in_stage" not in season


def test_homes_that_get_nothing_have_what_stands_before_them():
    """Where nothing runs the mix is that of the store which homes are fed from, whatever may come
    over the boundary; if the store is empty there is none."""
    flows = [
        ("upstream", "wren/reach", "upstream", [4.0, 0.0]),
        ("wren/reach", "a/taps", "home_use", [1.0, 0.0]),
        ("import", "a/taps", "home_use", [1.0, 0.0]),
        ("a/taps", "sky", "evaporation", [2.0, 0.0]),
        ("wren/reach", "downstream", "downstream", [1.0, 0.0]),
    ]
    before = {"upstream > wren/reach": [0.2], "import > a/taps": [0.5]}
    record = small_record(flows, days=[1.0, 1.0], used_before=before)
    town = hl.measures(record).sel(town="a")
    assert town.used_share.values == nearly([0.35, 0.2])
    assert float(town.season_used_share) == pytest.approx(0.35)
    assert town.sizes["use"] == 6
    flows[-1] = ("wren/reach", "downstream", "downstream", [3.0, 0.0])
    empty = small_record(flows, days=[1.0, 1.0], used_before=before)
    assert hl.measures(empty).sel(town="a").used_share.values == nearly([0.35, NAN])


def test_effluent_of_no_town_is_told_with_where_it_comes_from():
    """Each store by its name, and how to name the first by its town."""
    flows = [
        ("import", "a/taps", "home_use", 2.0),
        ("a/taps", "works", "sewage", 1.0),
        ("a/taps", "pond", "sewage", 1.0),
        ("works", "downstream", "outfall", 1.0),
        ("pond", "downstream", "outfall", 1.0),
    ]
    with pytest.warns(HydroloopWarning) as warned:
        hl.measures(small_record(flows))
    (said,) = [str(one.message) for one in warned if "belongs to no town" in str(one.message)]
    assert said.startswith('The effluent of "works", "pond" belongs to no town')
    assert said.endswith('Name a store by its town: "a/works".')


def test_a_season_is_weighted_by_water():
    """b's used share is .4, .1 and .2 in steps of one day, two and one, while 1, 2 and 4 m3/d are
    drawn: (.4 + .4 + .8) / 9."""
    used, drawn = np.array([4.0, 1.0, 2.0]), np.array([1.0, 2.0, 4.0])
    town = hl.measures(effluent_by_day(used, drawn, days=[1.0, 2.0, 1.0])).sel(town="b")
    assert town.used_share.values == nearly([0.4, 0.1, 0.2])
    assert float(town.season_used_share) == pytest.approx(1.6 / 9)
    assert float(town.season_used_share_at_intake) == pytest.approx(1.6 / 9)
    assert float(town.season_return_ratio) == pytest.approx(1.6 / 9)


def effluent_by_day(used, drawn, days):
    """Town up buys what it gives to a river; with it the river is 10, and town b draws of that."""
    flows = [
        ("import", "up/taps", "home_use", used),
        ("up/taps", "wren/reach", "outfall", used),
        ("upstream", "wren/reach", "upstream", 10.0 - used),
        ("wren/reach", "b/mains", "intake", drawn),
        ("wren/reach", "downstream", "downstream", 10.0 - drawn),
        ("b/mains", "b/taps", "home_use", drawn),
        ("b/taps", "sky", "evaporation", drawn),
    ]
    return small_record(flows, days=days)


def test_each_member_has_its_own_glass():
    """Used most on the first day in one member and on the third in the other: each glass is of its
    day, and nothing is told of days before the first."""
    used = np.array([[4.0, 1.0], [1.0, 1.0], [1.0, 4.0]])
    drawn = np.ones((3, 2))
    table = hl.measures(effluent_by_day(used, drawn, [1.0] * 3))
    dates = table.glass_date.sel(town="b").values.astype("datetime64[D]").astype(str)
    assert dates.tolist() == ["2031-01-01", "2031-01-03"]
    share = table.last_use_share.sel(town="b").transpose("days_ago", "member").values
    assert share == nearly([[0.4, 0.4], [0.0, 0.0], [0.0, 0.0]])
    assert table.days_ago.values.tolist() == [0.0, 1.0, 2.0]
    # Homes that buy all they use have no mains to draw a glass from.
    assert np.isnat(table.glass_date.sel(town="up").values).all()
    assert np.isnan(table.last_use_share.sel(town="up").values).all()
    unused = hl.measures(effluent_by_day(0.0 * used, drawn, [1.0] * 3)).sel(town="b")
    assert (unused.last_use_share.values == 0.0).all()
    assert unused.last_use_never.values.tolist() == [1.0, 1.0]
    assert np.isnan(unused.last_use_median.values).all()


def test_a_town_that_draws_nothing_at_first():
    """Dry on the first day, its glass and its parcel are of the second; if it never draws there is
    none of either."""
    used = np.array([0.0, 2.0, 1.0])
    town = hl.measures(effluent_by_day(used, np.array([0.0, 1.0, 1.0]), [1.0] * 3)).sel(town="b")
    assert str(town.glass_date.values)[:10] == "2031-01-02"
    assert str(town.parcel_date.values)[:10] == "2031-01-02"
    assert town.used_share.values == nearly([NAN, 0.2, 0.1])
    assert float(town.parcel_passes) == pytest.approx(1.0)
    never = hl.measures(effluent_by_day(used, 0.0 * used, [1.0] * 3)).sel(town="b")
    for name in ("glass_date", "parcel_date"):
        assert np.isnat(never[name].values)
    assert np.isnan(never.parcel_passes)
    assert np.isnan(never.parcel_end_share).all()
    assert np.isnan(never.season_used_share)


def row_of_towns(count, shut=None):
    """Towns along a river of 10: each takes 1 and gives it back one reach below; the flow out of
    one reach may be shut, and all below it stands still."""
    flows = [("upstream", "wren/reach_0", "upstream", 10.0)]
    for k in range(count):
        runs = float(shut is None or k < shut)
        below = f"wren/reach_{k + 1}" if k + 1 < count else "downstream"
        flows += [
            (f"wren/reach_{k}", f"t{k}/mains", "intake", runs),
            (f"t{k}/mains", f"t{k}/taps", "home_use", runs),
            (f"t{k}/taps", below, "outfall", runs),
            (f"wren/reach_{k}", below, "river" if k + 1 < count else "downstream", 9.0 * runs),
        ]
    if shut is not None:
        flows.append((f"wren/reach_{shut}", "sky", "evaporation", 10.0))
    return small_record(flows, days=[1.0] * 2)


def test_nearest_taps_of_many_towns():
    """Of up to five towns all; of more the five that the water reaches first down the river, none
    below the last, and none behind a flow that never runs."""
    op = operator(row_of_towns(5))
    assert nearest_taps(op, find_towns(op)) == [[0, 1, 2, 3, 4]] * 5
    op = operator(row_of_towns(8))
    assert nearest_taps(op, find_towns(op)) == [
        [1, 2, 3, 4, 5], [2, 3, 4, 5, 6], [3, 4, 5, 6, 7], [4, 5, 6, 7], [5, 6, 7], [6, 7], [7], [],
    ]  # fmt: skip
    op = operator(row_of_towns(8, shut=3))
    assert nearest_taps(op, find_towns(op)) == [[1, 2], [2], [], [], [], [], [], []]


def test_many_towns_are_told_of_their_nearest():
    """A tenth of what the next five drink came out of each outfall; of others nothing is said."""
    count = 11
    assert count > MOST_NAMED
    table = hl.measures(row_of_towns(count))
    names = [f"t{k}" for k in range(count)]
    share = table.outfall_to_tap_share.sel(town=names, town_to=names).values
    expected = np.full((count, count), np.nan)
    for k in range(count):
        expected[k, k + 1 : k + 6] = 0.1
    assert share == nearly(expected)
    assert table.next_town.sel(town=names).values.tolist() == [*names[1:], ""]
    assert table.attrs["pairs_of_towns"].startswith(
        "an outfall is followed to the 5 taps that it reaches first; of more than 10 towns"
    )
    # The k-th town's water passed one home of every ten above, one after the other.
    used = 1.0 - 0.9 ** np.arange(count)
    assert table.season_used_share.sel(town=names).values == nearly(used)
    assert table.season_return_ratio.sel(town=names).values == nearly(0.1 * np.arange(count))


def test_where_parcels_end_by_use():
    """A parcel in mains that give half to homes, which evaporate it, and lose half to the ground:
    half ends evaporated after a use, half in the ground unused."""
    flows = [
        ("upstream", "wren/reach", "upstream", 3.0),
        ("wren/reach", "downstream", "downstream", 1.0),
        ("wren/reach", "a/mains", "intake", 2.0),
        ("a/mains", "a/taps", "home_use", 1.0),
        ("a/mains", "a/groundwater", "leak", 1.0),
        ("a/taps", "sky", "evaporation", 1.0),
    ]
    record = small_record(flows, days=[1.0, 1.0])
    table = hl.measures(record)
    town = table.sel(town="a")
    ends = town.parcel_end_share
    assert float(ends.sel(end="evaporated")) == pytest.approx(0.5)
    assert float(ends.sel(end="in the ground")) == pytest.approx(0.5)
    assert float(town.parcel_passes) == pytest.approx(0.5)
    assert town.parcel_pass_share.values == nearly([0.5, 0.5, 0.0, 0.0, 0.0, 0.0])
    by_use = ends_by_use(record, table, "a")
    assert float(by_use.sel(end="evaporated").isel(use=1)) == pytest.approx(0.5)
    assert float(by_use.sel(end="in the ground").isel(use=0)) == pytest.approx(0.5)
    assert float(by_use.sum()) == pytest.approx(1.0)
    assert float(town.lifetime_passes) == pytest.approx(0.5)


def test_where_a_table_leads_a_river_to_homes_a_parcel_has_passed_on_entering():
    """Water that a reach brings straight into homes passes once as it is taken in, and once more of
    the half that comes back to them through a tank."""
    flows = [
        ("upstream", "wren/reach", "upstream", 2.0),
        ("wren/reach", "a/taps", "home_use", 2.0),
        ("a/taps", "sky", "evaporation", 2.0),
    ]
    record = small_record(flows, days=[1.0, 1.0])
    table = hl.measures(record)
    town = table.sel(town="a")
    assert float(town.parcel_passes) == pytest.approx(1.0)
    assert town.parcel_pass_share.values == nearly([0.0, 1.0, 0.0, 0.0, 0.0, 0.0])
    assert float(town.lifetime_passes) == pytest.approx(1.0)
    by_use = ends_by_use(record, table, "a")
    assert float(by_use.sel(end="evaporated").isel(use=1)) == pytest.approx(1.0)
    assert str(town.parcel_date.values)[:10] == "2031-01-01"


def test_masks_of_small_records():
    """The masks that these tests ask by are what they seem to be."""
    record = two_towns()
    towns = {town.name: town for town in find_towns(record)}
    assert np.array_equal(towns["a"].outfalls, record["kind"].values == "outfall")
    assert np.array_equal(towns["b"].taps, flow_mask(record, kind="home_use", to_place="b"))
    assert (towns["a"].water_source, towns["a"].outlet) == ("wren/reach_1", "wren/reach_2")
    assert (towns["b"].water_source, towns["b"].outlet) == ("wren/reach_2", "")
    assert towns["a"].homes == ("a/toilets", "a/taps")
    assert (towns["a"].mains, towns["a"].first) == ("a/mains", "a/mains")
