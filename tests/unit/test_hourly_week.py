"""A week by the hour: the tanks balance, the numbers are the run's, the picture can be read."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest
from chart_checks import assert_labels_are_apart, assert_text_can_be_read
from conserves import assert_closes
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.charts import week as week_picture
from hydroloop.errors import AskError
from hydroloop.outputs.document.as_json import as_values
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.plants.week import week_document
from hydroloop.outputs.whatif.changed import as_it_is
from hydroloop.studies.hourly_week import hourly_week, week_of

FIRST = date(2031, 7, 7)


@pytest.fixture(scope="module")
def scenario():
    return one_town(season__start="2031-06-20", season__end="2031-07-20")


@pytest.fixture(scope="module")
def found(scenario):
    return hourly_week(scenario, "larkmill", FIRST)


def document(week, system="us"):
    """The week as the command shows it."""
    return week_document(week, as_it_is(one_town()), system)


def test_the_tanks_balance_every_hour(found):
    """What comes in less what goes out is the change of the level, to 1e-12 of what is there."""
    change = np.diff(found.level)
    moved = (found.made - found.demand) / 24.0
    assert np.abs(change - moved).max() <= 1e-12 * found.level.max()


def test_it_is_the_week_of_the_season(scenario, found):
    """The week is cut from the season run by the hour, not run for itself."""
    record = hl.simulate(scenario.changed({"season.step": "1 hour"}))
    assert_closes(record)
    again = week_of(scenario, record, "larkmill", FIRST)
    assert np.array_equal(again.demand, found.demand)
    begin = np.flatnonzero(record["time"].values == np.datetime64("2031-07-07"))[0]
    tanks = record["volume"].sel(store="larkmill/tanks").values
    assert np.array_equal(found.level, tanks[begin : begin + 169])


def test_by_default_the_week_of_most_demand(scenario):
    """No seven days of the season take more than those that are chosen."""
    chosen = hourly_week(scenario, "larkmill")
    record = hl.simulate(scenario.changed({"season.step": "1 hour"}))
    out = record["rate"].sel(flow="larkmill/tanks > larkmill/mains").values.reshape(-1, 24)
    sums = [out[day : day + 7].sum() for day in range(len(out) - 6)]
    assert chosen.demand.sum() == pytest.approx(max(sums), rel=1e-12)


def test_near_the_end_the_week_begins_earlier(scenario):
    """A day in the last week gives the season's last seven days."""
    late = hourly_week(scenario, "larkmill", date(2031, 7, 19))
    assert str(late.time[0])[:10] == "2031-07-14"
    assert str(late.time[-1])[:13] == "2031-07-20T23"


def test_a_short_season_counts_whole():
    """Three days are shown as three days."""
    short = one_town(season__start="2031-06-20", season__end="2031-06-22")
    assert len(hourly_week(short, "larkmill").time) == 72


def test_numbers_follow_from_the_hours(found):
    """Peak ratio, busiest day and hours that the tanks last, from the plain series."""
    demand, told = found.demand, as_values(document(found))
    facts, days = told["facts"], told["tables"]["days"]
    peak = int(np.argmax(demand))
    day = demand[peak // 24 * 24 : peak // 24 * 24 + 24]
    assert facts["peak_hour_over_mean_hour"] == pytest.approx(demand[peak] / day.mean())
    assert facts["lasts"] == pytest.approx(found.level.min() / (demand.mean() / 24.0))
    by_day = demand.reshape(7, 24)
    best = int(np.argmax(by_day.sum(axis=1)))
    assert facts["busiest_day"] == str(found.time[24 * best])[:10]
    # A plant at the day's mean: the mass curve's highest less its lowest point.
    curve = np.cumsum(np.append(0.0, by_day[best].mean() - by_day[best])) / 24.0
    assert days[best]["equalising"] == pytest.approx(curve.max() - curve.min())


def test_wrong_questions_get_a_message(scenario):
    """A record of days, a town without tanks, a day outside the season."""
    with pytest.raises(AskError, match="hides the peaks"):
        week_of(scenario, hl.simulate(scenario), "larkmill", FIRST)
    with pytest.raises(AskError, match="no storage tanks"):
        hourly_week(scenario.changed({"town.larkmill.tanks.volume": "0 m3"}), "larkmill")
    with pytest.raises(AskError, match="outside the season"):
        hourly_week(scenario, "larkmill", date(2030, 7, 1))


def test_what_is_short_is_said():
    """A plant of a tenth of the demand leaves the town short, and the page says so."""
    small = one_town(
        season__start="2031-07-01",
        season__end="2031-07-10",
        town__larkmill__plant__capacity="500 m3/day",
    )
    found = hourly_week(small, "larkmill")
    assert found.short_hours > 0
    assert "Water was short" in " ".join(as_text(document(found)))


CASES = {
    "plain": {},
    "no yards": {"town__larkmill__yards__area_per_person": "0 m2"},
    "small tanks": {"town__larkmill__tanks__volume": "500 m3"},
    "village": {"town__larkmill__people": 60},
    "one day": {"season__end": "2031-06-20"},
    "short": {"town__larkmill__plant__capacity": "500 m3/day"},
}


@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("case", CASES)
def test_the_picture_can_be_read(case, units):
    """No label touches another or is hard to read; the lines are those of the run."""
    asked = {"season__start": "2031-06-20", "season__end": "2031-06-29", **CASES[case]}
    found = hourly_week(one_town(**asked), "larkmill")
    words = as_text(document(found, units))
    assert any("A teaching model" in line for line in words)
    picture = week_picture(
        found.town,
        found.time,
        found.taken,
        found.made,
        found.level,
        full=found.tanks,
        able=found.able,
        caption=" ".join(words[2:6]),
        units=units,
    )
    assert_labels_are_apart(picture)
    assert_text_can_be_read(picture)
    lines = [line for axes in picture.axes for line in axes.lines if line.get_gid() == "level"]
    assert np.array_equal(lines[0].get_ydata(), found.level)
    steps = [patch for axes in picture.axes for patch in axes.patches if patch.get_gid() == "made"]
    assert np.array_equal(steps[0].get_data().values, found.made)
    tops = [
        patch.get_data().values
        for axes in picture.axes
        for patch in axes.patches
        if hasattr(patch, "get_data")
    ]
    assert any(np.allclose(top, found.demand, rtol=1e-12) for top in tops)


def test_nothing_to_show_is_said():
    """Without any demand there is no picture."""
    with pytest.raises(AskError, match="no demand"):
        week_picture(
            "larkmill",
            np.array([], dtype="datetime64[h]"),
            {"homes": np.array([])},
            np.array([]),
            np.array([0.0]),
            full=1.0,
            able=1.0,
            caption="Nothing.",
        )
