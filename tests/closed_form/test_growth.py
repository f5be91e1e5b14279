"""Growth and the years until a limit, against compound interest."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.errors import AskError
from hydroloop.plants.growth import (
    Rates,
    Remedy,
    Uses,
    bought,
    reached,
    sewage_by_year,
    supply_by_year,
    years_until,
)


def test_people_grow_by_compound_interest():
    """At 2 % a year a demand doubles in ln 2 / ln 1.02 = 35.0 years."""
    demand = supply_by_year(Uses(100.0, 0.0, 0.0, 0.0), Rates(0.02, 0.0, 0.0), 40)
    assert demand[35] == pytest.approx(100.0 * 1.02**35)
    doubling = math.log(2) / math.log(1.02)
    assert float(years_until(demand, 200.0)) == pytest.approx(doubling, abs=0.01)


def test_each_use_grows_at_its_own_rate():
    """Homes 1.02 x 0.99, workplaces 1.03, yards 1.02 a year, all over 1 - losses."""
    demand = supply_by_year(Uses(50.0, 30.0, 20.0, 0.2), Rates(0.02, 0.03, 0.01), 10)
    expected = (50 * (1.02 * 0.99) ** 10 + 30 * 1.03**10 + 20 * 1.02**10) / 0.8
    assert demand[10] == pytest.approx(expected)


def test_what_seeps_into_sewers_does_not_grow_with_people():
    """Homes 1.02 x 0.99 and workplaces 1.03 a year; infiltration and storm water stay."""
    sewage = sewage_by_year(50.0, 30.0, 40.0, Rates(0.02, 0.03, 0.01), 10)
    assert sewage[0] == pytest.approx(120.0)
    assert sewage[10] == pytest.approx(50 * (1.02 * 0.99) ** 10 + 30 * 1.03**10 + 40)


@settings(max_examples=60, deadline=None)
@given(limit=st.floats(50, 400), growth=st.floats(0.0, 0.08))
def test_a_higher_limit_is_never_reached_earlier(limit, growth):
    """Years until a limit do not fall as it rises, nor rise with faster growth."""
    slow = supply_by_year(Uses(80.0, 20.0, 0.0, 0.1), Rates(growth, growth, 0.0), 60)
    fast = supply_by_year(Uses(80.0, 20.0, 0.0, 0.1), Rates(growth + 0.01, growth, 0.0), 60)
    assert years_until(slow, 1.1 * limit) >= years_until(slow, limit)
    assert years_until(fast, limit) <= years_until(slow, limit)


def test_a_band_encloses_the_middle():
    """Members from 1 % to 3 % growth reach a limit before and after the 2 % that lie between."""
    uses = Uses(100.0, 0.0, 0.0, 0.0)
    middle = supply_by_year(uses, Rates(0.02, 0.0, 0.0), 60)
    members = supply_by_year(uses, Rates(np.linspace(0.01, 0.03, 101), 0.0, 0.0), 60)
    (one,) = reached({"filters": 150.0}, middle, members)
    assert one.early < one.years < one.late
    # 5 and 95 % of the members grow at 2.9 and 1.1 %; between two years a straight line.
    assert one.early == pytest.approx(math.log(1.5) / math.log(1.029), abs=0.05)
    assert one.late == pytest.approx(math.log(1.5) / math.log(1.011), abs=0.05)


def test_a_remedy_buys_the_years_that_its_saving_takes_to_grow_back():
    """Halving losses of 20 % lowers demand by 0.8 / 0.9; at 2 % that takes ln(9/8) / ln 1.02."""
    now, mended = (
        supply_by_year(Uses(80.0, 0.0, 0.0, losses), Rates(0.02, 0.0, 0.0), 60)
        for losses in (0.2, 0.1)
    )
    limits = {"plant": 140.0}
    ((_, years),) = bought(now, limits, [Remedy("repair", mended, limits)])
    assert years == pytest.approx(math.log(9 / 8) / math.log(1.02), abs=0.02)


def test_no_years_to_look_ahead_are_refused():
    """A study of no year, or of a town that leaks all its water, says so."""
    with pytest.raises(AskError, match="less than one"):
        supply_by_year(Uses(1.0, 1.0, 1.0, 0.0), Rates(0.0, 0.0, 0.0), 0)
    with pytest.raises(AskError, match="leaks"):
        supply_by_year(Uses(1.0, 1.0, 1.0, 1.0), Rates(0.0, 0.0, 0.0), 5)


def test_a_falling_demand_is_below_a_limit_again():
    """200 that falls by a tenth each year is 162 after two years and 145.8 after three: 150 is
    passed at (162 - 150) / (162 - 145.8) of the third year, and 300 is never reached."""
    demand = 200.0 * 0.9 ** np.arange(6.0)
    found = {
        one.limit: one
        for one in reached({"low": 150.0, "high": 300.0, "deep": 1.0}, demand, demand[:, None])
    }
    assert found["low"].years == 0.0
    assert found["low"].below == pytest.approx(2.0 + 12.0 / 16.2)
    assert np.isinf(found["high"].years)
    assert np.isinf(found["high"].below)
    assert np.isinf(found["deep"].below)


def test_a_limit_that_is_just_reached():
    """At a limit it is reached: in the first year, in the last, and for the first time."""
    for line, years in (
        ([100.0, 90.0], 0.0),
        ([120.0, 130.0], 0.0),
        ([80.0, 100.0], 1.0),
        ([80.0, 100.0, 100.0], 1.0),
        ([80.0, 90.0, 110.0, 100.0, 120.0], 1.5),
        ([99.0, 99.9], np.inf),
    ):
        assert float(years_until(np.array(line), 100.0)) == years


def test_each_member_has_its_own_years():
    """Three members: from 80 to 120 half a year, past it at once, and never."""
    members = np.array([[80.0, 105.0, 50.0], [120.0, 110.0, 60.0], [130.0, 90.0, 70.0]])
    assert years_until(members, 100.0).tolist() == [0.5, 0.0, np.inf]


def test_a_demand_that_falls_to_a_limit():
    """Below it from the year on in which it is last at it; not at all if that is the last year."""
    for line, below in (
        ([100.0, 90.0], 0.0),
        ([120.0, 100.0], np.inf),
        ([120.0, 100.0, 90.0], 1.0),
        ([120.0, 90.0, 110.0, 90.0], 2.5),
        ([80.0, 90.0], np.inf),
        ([90.0, 80.0, 101.0], np.inf),
    ):
        demand = np.array(line)
        (one,) = reached({"permit": 100.0}, demand, demand[:, None])
        assert one.below == below


def test_the_range_is_that_of_the_members():
    """Twenty members reach 100 after 1, 2, ... 20 years: 5 % of them after one, 95 % after 19."""
    members = np.array([[99.0 if year < k else 100.0 for k in range(1, 21)] for year in range(22)])
    (one,) = reached({"permit": 100.0}, members[:, 9], members)
    assert (one.limit, one.flow, one.years) == ("permit", 100.0, 10.0)
    assert (one.early, one.late) == (1.0, 19.0)


def test_limits_come_by_their_years_and_then_by_their_flow():
    """Of two that are reached today, and of two that never are, the lower one first."""
    demand = np.array([50.0, 60.0, 70.0])
    found = reached(
        {"a": 90.0, "b": 65.0, "c": 40.0, "d": 80.0, "e": 30.0}, demand, demand[:, None]
    )
    assert [one.limit for one in found] == ["e", "c", "b", "d", "a"]


def test_years_that_remedies_buy():
    """From 80 by 10 a year: 90 is reached after one year, with half the growth after two, with the
    limit raised to 120 after four, and never by a town that stands still; most first. What only
    lifts the other limit buys nothing, and nothing is bought where no limit is in sight."""
    demand, limits = 80.0 + 10.0 * np.arange(6.0), {"filters": 90.0, "permit": 120.0}
    remedies = [
        Remedy("permit", demand, {"filters": 90.0, "permit": 500.0}),
        Remedy("filters", demand, {"filters": 500.0, "permit": 120.0}),
        Remedy("save", 80.0 + 5.0 * np.arange(6.0), limits),
        Remedy("still", np.full(6, 80.0), limits),
    ]
    assert bought(demand, limits, remedies) == [
        ("still", np.inf),
        ("filters", 3.0),
        ("save", 1.0),
        ("permit", 0.0),
    ]
    assert bought(demand, {"permit": 500.0}, remedies[:1]) == [("permit", 0.0)]


def test_a_number_may_be_one_for_each_member():
    """Any of the uses and rates; the years stand first, one more than are looked at."""
    two = np.array([0.0, 0.5])
    plain = {"homes": 80.0, "work": 16.0, "yards": 4.0, "losses": 0.0}
    still = {"people": 0.0, "jobs": 0.0, "use_falls": 0.0}
    for name, second in (
        ("homes", 20.5),
        ("work", 84.5),
        ("yards", 96.5),
        ("losses", 200.0),
        ("people", 142.0),
        ("jobs", 108.0),
        ("use_falls", 60.0),
    ):
        uses = Uses(**(plain | {name: two} if name in plain else plain))
        rates = Rates(**(still | {name: two} if name in still else still))
        found = supply_by_year(uses, rates, 1)
        assert found.shape == (2, 2)
        assert found[1, 1] == pytest.approx(second), name
