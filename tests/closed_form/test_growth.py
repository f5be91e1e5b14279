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
