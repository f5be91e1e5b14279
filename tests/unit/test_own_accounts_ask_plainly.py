"""Records from somebody's own tables: nothing is asked that is not needed, and no zero is false."""

from __future__ import annotations

import inspect
import warnings

import numpy as np
import pytest

import hydroloop as hl
import hydroloop.measures
import hydroloop.record
import hydroloop.tracing
from hydroloop.errors import HydroloopError, HydroloopWarning
from hydroloop.measures import return_ratio, turnover_time
from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import operator


def lake():
    """A lake that a river runs through; nobody lives there."""
    ends = ["upstream", "lake"], ["lake", "downstream"], ["river", "river"]
    return build_record(
        Network(["lake"], *ends), edges_of("2031-01-01", 2), [[10]] * 3, [[2, 2]] * 2
    )


def two_towns(plant):
    """Two towns on a river; the upper one's wastewater plant is called as asked."""
    flows = [
        ("upstream", "wren/reach", "upstream", 10),
        ("wren/reach", "a/mains", "intake", 2),
        ("a/mains", "a/homes", "home_use", 2),
        ("a/homes", plant, "sewage", 2),
        (plant, "wren/low", "outfall", 2),
        ("wren/reach", "wren/low", "river", 8),
        ("wren/low", "b/mains", "intake", 3),
        ("b/mains", "b/homes", "home_use", 3),
        ("b/homes", "sky", "evaporation", 3),
        ("wren/low", "downstream", "river", 7),
    ]
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    stores = ["wren/reach", "a/mains", "a/homes", plant, "wren/low", "b/mains", "b/homes"]
    return build_record(
        Network(stores, source, target, kind),
        edges_of("2031-01-01", 30),
        [[5.0] * 7] * 31,
        [rate] * 30,
    )


def test_no_gate_is_asked_where_none_is_needed():
    """Without homes the long run tells times, measures tell balances, and uses are NaN."""
    run = hl.long_run(lake())
    assert run.time_to_leave.item() == 5.0
    assert np.isnan(run.passes).all()
    assert np.isnan(run.used_share).all()
    assert hl.measures(lake()).turnover_time.item() == 5.0
    assert hl.follow(lake(), at="lake", on="2031-01-01").share.sum().item() == pytest.approx(1.0)


def test_counting_without_a_gate_warns():
    """Uses of a record without homes are zero, with a warning; a gate by name is still checked."""
    with pytest.warns(HydroloopWarning, match="no gate is named"):
        assert hl.count_uses(lake()).mean_uses.values.max() == 0.0
    with pytest.raises(hl.InputError, match="home_use"):
        hl.count_uses(lake(), gate="home_use")
    with pytest.raises(hl.InputError, match="home_use"):
        hl.last_use(lake(), at="lake", on="2031-01-01")


def test_a_plant_of_no_town_gives_no_false_zero():
    """Effluent of a store that lies in no town: a warning, and NaN instead of none at the tap."""
    with warnings.catch_warnings():
        warnings.simplefilter("error", HydroloopWarning)
        known = hl.measures(two_towns("a/plant"))
    with pytest.warns(HydroloopWarning, match='"WWTP" belongs to no town'):
        stray = hl.measures(two_towns("WWTP"))
    way = {"town": "a", "town_to": "b"}
    assert known.outfall_to_tap_share.sel(way).item() == pytest.approx(0.2, abs=0.001)
    assert np.isnan(stray.outfall_to_tap_share.sel(way).item())
    assert np.isnan(stray.effluent.sel(town="a")).all()
    assert stray.season_return_ratio.sel(town="b").item() == pytest.approx(
        known.season_return_ratio.sel(town="b").item()
    )


def of_records():
    """Public functions of records, measures and tracing whose first argument is a record."""
    for package in (hydroloop.record, hydroloop.measures, hydroloop.tracing):
        for name in package.__all__:
            thing = getattr(package, name)
            if inspect.isfunction(thing):
                first = next(iter(inspect.signature(thing).parameters.values()), None)
                if first and "Dataset" in str(first.annotation):
                    yield thing


OF_RECORDS = list(dict.fromkeys(of_records()))


@pytest.mark.parametrize("function", OF_RECORDS, ids=lambda function: function.__name__)
def test_what_is_no_record_is_refused_plainly(function):
    """A word in place of a record: one plain error of ours, whatever else is asked."""
    asked = inspect.signature(function).parameters.values()
    others = {p.name: None for p in list(asked)[1:] if p.default is inspect.Parameter.empty}
    with pytest.raises(HydroloopError, match="water record"):
        function("a lake", **others)


OF_SCENARIOS = [
    name
    for name in hl.__all__
    if inspect.isfunction(getattr(hl, name))
    and "Scenario" in str(next(iter(inspect.signature(getattr(hl, name)).parameters.values())))
]


@pytest.mark.parametrize("name", OF_SCENARIOS)
def test_a_scenario_is_read_before_it_is_handed_on(name, tmp_path):
    """The name of a scenario in its place is refused, and the message tells how one is read."""
    function = getattr(hl, name)
    asked = list(inspect.signature(function).parameters.values())[1:]
    others = {p.name: tmp_path / "out" for p in asked if p.default is inspect.Parameter.empty}
    with pytest.raises(hl.ScenarioError, match=r"'first_town' is not a scenario\. Read one first:"):
        function("first_town", **others)
    assert not any(tmp_path.iterdir())


def test_measures_take_no_name_for_a_scenario():
    """The second argument of measures is a scenario too."""
    with pytest.raises(hl.ScenarioError, match="read_scenario"):
        hl.measures(lake(), "first_town")


@pytest.mark.parametrize("measure", [return_ratio, turnover_time], ids=lambda m: m.__name__)
def test_measures_take_a_record_or_its_operator(measure):
    """A record and its operator give the same answer."""
    record = two_towns("a/plant")
    np.testing.assert_array_equal(measure(record), measure(operator(record)))


@pytest.fixture(scope="module")
def hill():
    """Homes that draw straight from a river, whose plant returns nine tenths below: no demand, no
    intake, and a river that is called as it likes."""
    days, rates = 30, [1000.0, 200.0, 20.0, 180.0, 180.0, 980.0]
    ends = (
        ["upstream", "river", "hill/mains", "hill/mains", "hill/works", "river"],
        ["river", "hill/mains", "sky", "hill/works", "river", "downstream"],
        ["upstream", "home_use", "evaporation", "sewer", "outfall", "downstream"],
    )
    return build_record(
        Network(["river", "hill/mains", "hill/works"], *ends),
        edges_of("2031-06-01", days),
        [[5000.0, 300.0, 150.0]] * (days + 1),
        [rates] * days,
    )


def test_what_passes_homes_as_it_comes_in_has_passed_once(hill):
    """Every drop that Hill takes in goes through its homes: none is counted as never used, and a
    drop's uses are one more than those of what leaves Hill."""
    own = hl.measures(hill).sel(town="hill")
    assert own.parcel_pass_share.sel(use=0).item() == 0.0
    assert own.parcel_pass_share.sum().item() == pytest.approx(1.0)
    # From mean flows a drop returns to the river with .9 and comes to Hill again with 200 of 1180.
    again = 0.9 * 200.0 / 1180.0
    assert own.lifetime_passes.item() == pytest.approx(1.0 / (1.0 - again), rel=1e-6)
    picture = hl.draw.parcel(hill)
    drops = [str(one.get_gid()) for one in picture.sheet.patches]
    assert sum(one.startswith("drop") for one in drops) == 100
    assert "drop 0" not in drops


def test_a_parcel_is_told_in_the_drops_that_are_drawn(hill):
    """The numbers of the caption are those beside the rows, and add up to the hundred drawn."""
    picture = hl.draw.parcel(hill)
    rows = [one.get_text() for one in picture.sheet.texts if one.get_text()[:1].isdigit()]
    assert len(rows) >= 3
    assert all(row in picture.caption for row in rows[:3])


def test_pictures_say_nothing_that_tables_do_not_tell(hill):
    """No shortage where nobody knows what was asked for; a loop says what it lacks, and not that
    no water is taken in."""
    season = hl.draw.season(hill)
    assert "short" not in season.caption
    assert "Over the season" in season.caption
    with pytest.raises(hl.InputError, match="does not tell the parts of Hill's water wo") as caught:
        hl.draw.loop(hill)
    assert "kind intake" in str(caught.value)
    with pytest.raises(hl.InputError, match="does not tell the parts of A's water works"):
        hl.draw.loop(two_towns("a/plant"), "a")


def test_last_use_and_because_ask_of_two_pasts(hill):
    """Without a past before the record both find the same never used; repeated, it is more."""
    asked = {"at": "river", "on": "2031-06-15"}
    last = hl.last_use(hill, **asked)
    alike, repeated = (hl.because(hill, **asked, warm_up=past) for past in ("none", "repeat"))
    assert last.unknown.item() > 0.01
    assert last.never.item() == pytest.approx(alike.never.item(), abs=1e-12)
    assert last.unknown.item() == pytest.approx(alike.unknown.item(), abs=1e-12)
    assert repeated.unknown.item() == 0.0
    assert repeated.never.item() > last.never.item()
