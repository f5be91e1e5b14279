"""Shortage, dilution, minimum flow and the plain flows of towns, on records of a few numbers."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
from small_records import asking, small_record

import hydroloop as hl
from hydroloop.measures import run_of
from hydroloop.measures.flows import mean_flow, reclaimed_share, river_flow, spilled, town_flow
from hydroloop.measures.gather.how_much import how_much
from hydroloop.measures.supply import (
    cut_share,
    days_in_stages,
    days_under_minimum,
    dilution,
    longest_failure,
    lowest,
    reliability,
    resilience,
    supply,
    unmet,
    vulnerability,
)

NAN = float("nan")


def nearly(values):
    return pytest.approx(np.array(values), rel=1e-12, abs=1e-12, nan_ok=True)


# Four systems side by side: nothing fails; one failure of 1 and 3, recovered from, and one of .5
# that is not over; all steps fail; the first step alone.
SHORT = np.array(
    [[0.0, 0.0, 2.0, 4.0], [0.0, 1.0, 1.0, 0.0], [0.0, 3.0, 1.0, 0.0], [0.0, 0.0, 1.0, 0.0],
     [0.0, 0.5, 1.0, 0.0]]
)  # fmt: skip


@pytest.mark.parametrize(
    ("measure", "expected"),
    [
        (reliability, [1.0, 0.4, 0.0, 0.8]),
        (resilience, [NAN, 1 / 3, 0.0, 1.0]),
        (vulnerability, [0.0, (3.0 + 0.5) / 2, 2.0, 4.0]),
        (longest_failure, [0, 2, 5, 1]),
    ],
)
def test_failures_of_four_systems(measure, expected):
    """Each system by itself, and all four side by side."""
    assert measure(SHORT).tolist() == nearly(expected)
    assert [float(measure(one)) for one in SHORT.T] == nearly(expected)


def test_the_largest_shortage_of_four_systems():
    """The worst step of all, nothing where nothing failed, and no third variant."""
    assert vulnerability(SHORT, variant="largest").tolist() == [0.0, 3.0, 2.0, 4.0]
    assert vulnerability(SHORT[:, :1]).tolist() == [0.0]
    assert vulnerability(np.zeros((0, 2))).tolist() == [0.0, 0.0]
    with pytest.raises(ValueError, match='no variant "worst"'):
        vulnerability(SHORT, variant="worst")


def test_supply_of_two_towns_in_two_members():
    """a lacks 1 of 4 in the second of two half days of its second member; b asks for nothing."""
    asked = np.zeros((2, 2, 3, 2))
    asked[:, 0, 0] = asked[:, 0, 2] = 2.0
    short = np.zeros_like(asked)
    short[1, 0, 2, 1] = 1.0
    found = supply(short, asked, np.array([0.5, 0.5]))
    assert found["reliability"].tolist() == [[1.0, 0.5], [1.0, 1.0]]
    assert found["volume_reliability"].tolist() == nearly([[1.0, 1 - 0.5 / 4], [1.0, 1.0]])
    assert found["resilience"].tolist() == nearly([[NAN, 0.0], [NAN, NAN]])
    assert found["vulnerability"].tolist() == [[0.0, 1.0], [0.0, 0.0]]
    assert found["largest_shortage"].tolist() == [[0.0, 1.0], [0.0, 0.0]]
    assert found["longest_failure"].tolist() == [[0.0, 0.5], [0.0, 0.0]]
    assert found["unmet_total"][0].tolist() == [[0.0, 0.0], [0.0, 0.0], [0.0, 0.5]]


def test_one_purpose_unknown_makes_the_town_unknown():
    """A town of which one number is not known has none of the measures, the other has."""
    asked = np.ones((2, 2, 3, 1))
    short = np.zeros_like(asked)
    short[0, 0, 1] = NAN
    found = supply(short, asked, np.ones(2))
    for name in set(found) - {"unmet_total", "resilience"}:
        assert np.isnan(found[name][:, 0]).tolist() == [True, False], name


def test_cut_share_of_towns():
    """1 of 4 cut in two days of one member and nothing in the other; nothing asked, nothing cut;
    all that would be asked for is cut."""
    cut, asked = np.zeros((2, 3, 2, 2)), np.zeros((2, 3, 2, 2))
    cut[0, 0, 1, 0], asked[:, 0, 0, :] = 2.0, 3.0  # 2 of 2 + 6 by days of 1
    cut[:, 2, 0, :] = 0.5
    assert cut_share(cut, asked, np.ones(2)).tolist() == nearly(
        [[0.25, 0.0], [0.0, 0.0], [1.0, 1.0]]
    )
    assert cut_share(cut, asked, np.array([3.0, 1.0]))[0, 0] == nearly(6 / (6 + 12))


def test_days_in_stages_of_unequal_steps():
    """Two stages in steps of a half, one and two days; a stage counts where it is in force."""
    stage_days = np.array([[0.0, 0.0], [0.5, 0.0], [1.5, 1e-9]])[..., None]
    assert days_in_stages(stage_days, np.array([0.5, 1.0, 2.0])).tolist() == [[3.0], [2.0]]


def test_lowest_of_what_is_known():
    """A step that is not known is passed over; one that is never known has no lowest."""
    values = np.array([[3.0, NAN, NAN], [NAN, 0.0, NAN], [2.0, 5.0, NAN]])
    assert lowest(values).tolist() == nearly([2.0, 0.0, NAN])


def town_on_river(river, taken, returned, over=0.0, days=None, below="wren/reach_2"):
    """A river of two reaches, a town between them: intake, homes, works, effluent and overflow."""
    river, taken, returned, over = (
        np.array(x, dtype=float) for x in (river, taken, returned, over)
    )
    taken = np.broadcast_to(taken, river.shape)
    returned, over = np.broadcast_to(returned, river.shape), np.broadcast_to(over, river.shape)
    flows = [
        ("upstream", "wren/reach_1", "upstream", river),
        ("wren/reach_1", "wren/reach_2", "river", river - taken),
        ("wren/reach_1", "a/mains", "intake", taken),
        ("a/mains", "a/taps", "home_use", taken),
        ("a/taps", "a/sewers", "sewage", returned + over),
        ("a/taps", "sky", "evaporation", taken - returned - over),
        ("a/sewers", below, "outfall", returned),
        ("a/sewers", below, "overflow", over),
    ]
    whole = river - taken + (returned + over if below == "wren/reach_2" else 0.0)
    flows.append(("wren/reach_2", "downstream", "downstream", whole))
    return small_record(flows, days=days or [1.0] * len(river))


def test_dilution_counts_overflow_and_needs_effluent():
    """10 - 2 over 1 of effluent and 1 of overflow is 4; without effluent there is none to dilute;
    a river drawn empty dilutes nothing."""
    run = run_of(town_on_river([10.0, 10.0, 2.0], 2.0, [1.0, 0.0, 2.0], [1.0, 0.0, 0.0]))
    assert dilution(run)[:, 0, 0].tolist() == nearly([4.0, NAN, 0.0])
    found = how_much(run)
    assert found["lowest_dilution"].tolist() == [[0.0]]


def test_no_dilution_where_effluent_meets_no_river():
    """What an outfall takes over the edge of the map is diluted by nothing that is known."""
    run = run_of(town_on_river([10.0], 2.0, [1.0], below="downstream"))
    assert np.isnan(dilution(run)).all()
    assert np.isnan(how_much(run)["lowest_dilution"]).all()


def test_next_to_no_effluent_has_no_dilution_and_next_to_no_river_none():
    """A quotient beyond all numbers is not known; less than a billionth is an empty river."""
    river = np.array([1e300, 2.0 + 1e-9, 2.0 + 4e-9])[:, None, None]
    back = np.array([1e-300, 2.0, 2.0])[:, None, None]
    come = river - np.array([0.0, 2.0, 2.0])[:, None, None]
    run = SimpleNamespace(
        flow={"at_outfall": come, "returned": back}.__getitem__,
        op=SimpleNamespace(target=np.array([0])),
        towns=[SimpleNamespace(outfalls=np.array([True]))],
    )
    found = dilution(run).ravel()
    assert np.isnan(found[0])
    assert found[1] == 0.0
    assert found[2] == pytest.approx(2e-9, rel=1e-6)


def test_days_under_a_minimum_flow():
    """Of 10, 5 and 4 less 1 there pass 9, 4 and 3 in steps of 1, 2 and 3 days: under 4 for three
    days, under just more than 4 for five; a billionth less than the minimum is none."""
    record = town_on_river([10.0, 5.0, 4.0], 1.0, 0.0, days=[1.0, 2.0, 3.0])
    for least, days in ((4.0, 3.0), (4.0 * (1 + 0.5e-9), 3.0), (4.0 * (1 + 2e-9), 5.0), (3.0, 0.0)):
        run = run_of(asking(record, ["a"], minimum_flow=np.full((3, 1), least)))
        assert days_under_minimum(run).tolist() == [[days]]
    run = run_of(asking(record, ["a"], minimum_flow=np.array([[4.0], [NAN], [4.0]])))
    assert np.isnan(days_under_minimum(run)).all()
    assert np.isnan(days_under_minimum(run_of(record))).all()


WELL_TOWN = [
    ("upstream", "wren/reach", "upstream", 9.0),
    ("wren/reach", "downstream", "downstream", 8.0),
    ("wren/reach", "a/mains", "intake", 1.0),
    ("a/mains", "a/taps", "home_use", 1.0),
    ("a/taps", "sky", "evaporation", 1.0),
    ("b/groundwater", "b/mains", "intake", [2.0, 4.0]),
    ("import", "b/mains", "import", [3.0, 0.0]),
    ("b/works", "b/mains", "reclaimed", [1.0, 0.0]),
    ("b/mains", "b/taps", "home_use", [6.0, 4.0]),
    ("b/taps", "sky", "evaporation", [6.0, 4.0]),
]


def test_flows_of_a_town_on_a_river_and_one_on_wells():
    """A town on wells has no river at its intake, and no minimum flow is asked of it; of 2 + 4 + 3
    and 1 that it takes in, 1 is reclaimed; of a town that takes nothing in there is no share."""
    record = small_record(WELL_TOWN, {"b/groundwater": 20.0, "b/works": 5.0}, [1.0, 1.0])
    run = run_of(asking(record, ["a", "b"], minimum_flow=np.full((2, 2), 8.5)))
    assert [town.name for town in run.towns] == ["a", "b"]
    assert town_flow(run, "withdrawn")[..., 0].tolist() == [[1.0, 0.0], [1.0, 0.0]]
    assert town_flow(run, "pumped")[..., 0].tolist() == [[0.0, 2.0], [0.0, 4.0]]
    assert town_flow(run, "reclaimed_to_supply")[..., 0].tolist() == [[0.0, 1.0], [0.0, 0.0]]
    assert town_flow(run, "effluent")[..., 0].tolist() == [[0.0, 0.0], [0.0, 0.0]]
    assert river_flow(run)[..., 0].tolist() == nearly([[9.0, NAN], [9.0, NAN]])
    assert reclaimed_share(run)[:, 0].tolist() == nearly([0.0, 1 / 10])
    assert days_under_minimum(run)[:, 0].tolist() == nearly([2.0, NAN])
    shut = [(*flow[:3], 0.0) for flow in WELL_TOWN]
    assert np.isnan(reclaimed_share(run_of(small_record(shut)))).all()


def test_effluent_that_may_be_somebody_elses():
    """Where the record has an outfall, a town without one has an effluent that is not known."""
    lone = [*WELL_TOWN, ("c/works", "wren/reach", "outfall", 0.5)]
    lone[1] = ("wren/reach", "downstream", "downstream", 8.5)
    own = [*WELL_TOWN, ("a/works", "wren/reach", "outfall", 0.5)]
    own[1] = lone[1]
    held = {"b/groundwater": 20.0, "b/works": 5.0}
    run = run_of(small_record(lone, {**held, "c/works": 3.0}, [1.0, 1.0]))
    assert np.isnan(town_flow(run, "effluent")).all()
    run = run_of(small_record(own, {**held, "a/works": 3.0}, [1.0, 1.0]))
    assert town_flow(run, "effluent")[..., 0].tolist() == nearly([[0.5, NAN], [0.5, NAN]])


def test_no_reach_of_a_reservoir_counts_as_a_river():
    """A town that draws on a reservoir has no river flow and no days under a minimum."""
    flows = [
        ("upstream", "mere/reservoir", "upstream", 9.0),
        ("mere/reservoir", "downstream", "release", 8.0),
        ("mere/reservoir", "a/mains", "intake", 1.0),
        ("a/mains", "a/taps", "home_use", 1.0),
        ("a/taps", "sky", "evaporation", 1.0),
    ]
    record = asking(small_record(flows), ["a"], minimum_flow=np.full((1, 1), 8.5))
    run = run_of(record)
    assert np.isnan(river_flow(run)).all()
    assert np.isnan(days_under_minimum(run)).all()
    assert town_flow(run, "withdrawn").item() == 1.0


def test_what_is_spilled_by_members():
    """Volume and days by the lengths of steps, the largest by rate, member by member."""
    rate = np.array([[0.0, 4.0], [6.0, 0.0], [3.0, 2.0]])
    volume, on, largest = spilled(rate, np.array([1.0, 0.5, 2.0]))
    assert volume.tolist() == [9.0, 8.0]
    assert on.tolist() == [2.5, 3.0]
    assert largest.tolist() == [6.0, 4.0]
    run = SimpleNamespace(days=np.array([1.0, 0.5, 2.0]))
    assert mean_flow(run, rate).tolist() == nearly([9 / 3.5, 8 / 3.5])


def test_unmet_counts_every_purpose_and_no_rounding():
    """Homes ask for 3 and get 2, workplaces get what they ask for but for a billionth of it, yards
    ask for 2 and get 1 as reclaimed water; a town that nothing is known of is short of nobody
    knows how much."""
    flows = [
        ("import", "a/mains", "import", 7.0),
        ("a/mains", "a/taps", "home_use", 2.0),
        ("a/mains", "a/workplaces", "work_use", 5.0),
        ("import", "a/yards", "reclaimed", 1.0),
        ("a/taps", "sky", "evaporation", 2.0),
        ("a/workplaces", "sky", "evaporation", 5.0),
        ("a/yards", "sky", "evaporation", 1.0),
        ("import", "b/taps", "home_use", 1.0),
        ("b/taps", "sky", "evaporation", 1.0),
    ]
    asked = np.array([[[3.0, 5.0 * (1 + 0.5e-9), 2.0]]])
    run = run_of(asking(small_record(flows), ["a"], demand=asked))
    names = [town.name for town in run.towns]
    short = unmet(run)[0, names.index("a"), :, 0]
    assert short.tolist() == [1.0, 0.0, 1.0]
    assert np.isnan(unmet(run)[0, names.index("b")]).all()
    asked[0, 0, 1] = 5.0 * (1 + 3e-9)
    run = run_of(asking(small_record(flows), ["a"], demand=asked))
    assert unmet(run)[0, names.index("a"), 1, 0] == pytest.approx(15e-9, rel=1e-3)
    found = how_much(run)
    assert "cut_share" not in found
    assert found["unmet_total"][names.index("a"), :, 0].tolist() == nearly([1.0, 15e-9, 1.0])


def test_purposes_are_told_by_name_not_by_place():
    """A record with its purposes in another order says the same; towns are found by name."""
    flows = [
        ("import", "a/taps", "home_use", 2.0),
        ("a/taps", "sky", "evaporation", 2.0),
        ("import", "b/taps", "home_use", 3.0),
        ("b/taps", "sky", "evaporation", 3.0),
    ]
    asked = np.array([[[4.0, 0.0, 1.0], [3.0, 0.0, 2.0]]])
    record = asking(small_record(flows), ["b", "a"], demand=asked, cut=asked / 2)
    turned = record.isel(purpose=[2, 0, 1], town=[1, 0])
    for one in (record, turned):
        run = run_of(one, ["a"])
        assert [town.name for town in run.towns] == ["a", "b"]
        assert run.demand[0, :, :, 0].tolist() == [[3.0, 0.0, 2.0], [4.0, 0.0, 1.0]]
        assert run.cut[0, :, :, 0].tolist() == [[1.5, 0.0, 1.0], [2.0, 0.0, 0.5]]
        assert (run.number("a"), run.number("b")) == (0, 1)


def test_what_is_one_for_all_members_is_each_members():
    """Rain without members stands for each of two; each member by itself has its own."""
    rain = np.array([[1.0, 2.0], [3.0, 4.0]])
    flows = [
        ("rain", "a/soil", "rain", rain),
        ("import", "a/taps", "home_use", 1.0),
        ("a/taps", "sky", "evaporation", 1.0),
    ]
    record = small_record(flows, days=[1.0, 3.0]).assign(
        rain_mm=("time", [5.0, 7.0]), et0_mm=(("time", "member"), [[1.0, 2.0], [3.0, 4.0]])
    )
    run = run_of(record)
    assert run.rain_mm.tolist() == [[5.0, 5.0], [7.0, 7.0]]
    assert run.moved[0].tolist() == [1.0 + 9.0, 2.0 + 12.0]
    assert run.stored[run.op.stores.index("a/soil")].tolist() == [10.0, 14.0]
    second = run.member(1)
    assert second.et0_mm.tolist() == [[2.0], [4.0]]
    assert second.op.water.rate[:, 0].tolist() == [[2.0], [4.0]]
    assert second.demand is None
    assert run.by_itself(0).moved[0].tolist() == [10.0]


def test_a_record_without_towns_has_its_account_alone():
    """No home, no town: balance and turnover are there, and nothing that towns are asked."""
    flows = [("rain", "a/pond", "rain", 2.0), ("a/pond", "sky", "evaporation", 1.0)]
    table = hl.measures(small_record(flows, {"a/pond": 5.0}))
    assert table.balance.sel(place="a").values.tolist() == [2.0, 1.0, 1.0, 0.0]
    assert table.turnover_time.values.tolist() == [5.5 / 2]
    assert "town" not in table.dims
    assert "delivered" not in table
