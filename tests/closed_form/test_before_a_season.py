"""Rules of what comes before a season and drives it, worked out beside each."""

from __future__ import annotations

from datetime import date
from types import SimpleNamespace

import numpy as np
import pytest
from small_scenarios import one_town

from hydroloop.scenario.sampling import changes_for
from hydroloop.waterworks import simulate
from hydroloop.waterworks.forcing import (
    _before,
    _past_in_words,
    run_up_years,
    season_forcing,
)
from hydroloop.waterworks.last_day import latest, mean_of_day, most_of_day
from hydroloop.waterworks.ledger import NONE, Ledger, row, stacked
from hydroloop.waterworks.run_up import _kept, _lacking, _mean_above
from hydroloop.waterworks.simulate import weather_seeds
from hydroloop.weather.earlier import days_before


def day(text):
    return np.datetime64(text)


@pytest.mark.parametrize(
    ("run_up", "year", "years"),
    [
        (0.0, 2031, 0),
        (1.0, 2031, 1),
        (365.25, 2031, 1),
        (365.3, 2031, 2),
        (7 * 365.25, 2031, 7),
        (7 * 365.25, 1705, 4),  # no weather before 1701
        (7 * 365.25, 1701, 0),
        (7 * 365.25, 1700, 0),
    ],
)
def test_whole_years_of_a_run_up(run_up, year, years):
    """Begun years count as whole ones, as far as dates reach back."""
    season = SimpleNamespace(run_up=run_up, start=date(year, 5, 1))
    assert run_up_years(SimpleNamespace(season=season)) == years


SPAN, LESS = "3 years, {}made of the files' own whole years, repeated", "less than a year of files"


@pytest.mark.parametrize(
    ("own", "words"),
    [
        (0, SPAN.format("")),
        (3, SPAN.format("")),  # less than a hundredth of a year
        (61, SPAN.format("the last 2 months from the files, the rest ")),
        (361, SPAN.format("the last 12 months from the files, the rest ")),
        (365, SPAN.format("the last year from the files, the rest ")),
        (547, SPAN.format("the last year from the files, the rest ")),
        (549, SPAN.format("the last 1.5 years from the files, the rest ")),
        (1094, SPAN.format("the last 3 years from the files, the rest ")),
        (1096, "3 years of the files"),
    ],
)
def test_where_the_years_before_come_from(own, words):
    """Of 1,096 days so many are the files' own."""
    days = days_before(day("2031-01-01"), 3)
    served = days + 365
    served[len(days) - own :] = days[len(days) - own :]
    assert _past_in_words(days, served, (day("2029-01-01"), day("2040-12-31"))) == words
    assert _past_in_words(days, days, None) == "3 years of generated weather"


def test_files_of_less_than_a_year_say_so():
    """364 days are less than a year, 365 are not."""
    days = days_before(day("2031-01-01"), 3)
    for last, is_less in (("2040-12-29", True), ("2040-12-30", False)):
        words = _past_in_words(days, days + 365, (day("2040-01-01"), day(last)))
        assert (LESS in words) == is_less
    assert "completed with their first and last month" in _past_in_words(
        days, days + 365, (day("2040-01-01"), day("2040-01-31"))
    )


def test_a_mean_without_a_dry_season():
    """Over the ratio by which it was made dry; as it is where nothing was left of it."""
    assert [_before(6.0, ratio) for ratio in (0.5, 1.0, 2.0, 0.0)] == [12.0, 6.0, 3.0, 6.0]


def test_releases_by_month_or_as_the_river_must_have():
    """A release of each month, one for all, and else the minimum flow of the river."""
    dam = '[reservoir.{}]\nriver = "wren"\nat = "{} km"\ncapacity = "1 hm3"\narea = "0.2 km2"\n'
    by_month = [f"{month} m3/s" for month in range(1, 13)]
    text = "".join(
        dam.format(name, at) + more
        for name, at, more in (
            ("mere", 5, f"release = {by_month}\n".replace("'", '"')),
            ("tarn", 6, 'release = "2 m3/s"\n'),
            ("pool", 7, ""),
        )
    )
    scenario = one_town(
        text,
        season__start="2031-11-30",
        season__end="2032-02-01",
        season__run_up="0 day",
        river__wren__minimum_flow="0.5 m3/s",
    )
    forcing = season_forcing(scenario)
    months = [11] + 31 * [12] + 31 * [1] + [2]
    expected = np.column_stack([months, np.full(64, 2.0), np.full(64, 0.5)])
    assert forcing.release == pytest.approx(86_400.0 * expected)
    assert season_forcing(one_town(season__run_up="0 day")).release.shape == (123, 0)


def test_what_was_read_through_the_last_day():
    """Three steps make a day: on the first day only its own are known, then the last three. One
    step of a day stands by itself, whatever was read before."""
    kept, seen = np.zeros(3), []
    for t, value in enumerate([5.0, 1.0, 3.0, 2.0, 4.0]):
        seen.append(sorted(latest(kept, t, value)))
        assert mean_of_day(kept, t, value) == pytest.approx(np.mean(seen[-1]))
        assert most_of_day(kept, t, value) == max(seen[-1])
    assert seen == [[5], [1, 5], [1, 3, 5], [1, 2, 3], [2, 3, 4]]
    assert [of(np.array([9.0]), 4, 2.0) for of in (mean_of_day, most_of_day)] == [2.0, 2.0]


def test_names_of_flows():
    """From where to where; where two run side by side, with what they are."""
    ledger = Ledger()
    lake = ledger.store("mere", "reservoir", "the reservoir", 5.0, given=True)
    reach = ledger.store("wren", "reach_1", "the river", 2.0, role="reach", full=True)
    flows = [("rain", lake, "rain"), (lake, reach, "release"), (lake, reach, "spill")]
    assert [ledger.flow(*flow) for flow in flows] == [0, 1, 2]
    assert ledger.flow_names() == [
        "rain > mere/reservoir",
        "mere/reservoir > wren/reach_1 (release)",
        "mere/reservoir > wren/reach_1 (spill)",
    ]
    assert (ledger.sources, ledger.targets) == ([NONE, lake, lake], [lake, reach, reach])
    assert (ledger.given, ledger.full) == ({lake: 5.0}, [False, True])
    assert ledger.roles == ["reservoir", "reach"]


def test_rows_and_tables():
    """A number that is not given is 0, a whole one `NONE`; no rows make an empty table."""
    table = np.dtype([("share", "f8"), ("area", "f8"), ("store", "i8"), ("flow", "i8")])
    rows = [row(table, share=0.25, flow=3), row(table, area=2.0, store=1)]
    assert stacked(rows, table).tolist() == [(0.25, 0.0, NONE, 3), (0.0, 2.0, 1, NONE)]
    assert stacked([], table).shape == (0,)
    with pytest.raises(AssertionError, match="no such field"):
        row(table, length=1.0)


def _works(**grounds):
    """Works of two aquifers, of which the first has sewers over it."""
    fields = {
        "s_store": [1, 0],
        "f_baseflow": [0, 2],
        "drained_volume": [2.0, 5.0],
        "recession": [30.0, 10.0],
        "infiltration": [4.0, 0.0],
        "mean_active": [7.0, 8.0],
    } | grounds
    types = [(name, "i8" if name[1] == "_" else "f8") for name in fields]
    aquifers = np.array(list(zip(*fields.values(), strict=True)), dtype=types)
    towns = np.array([(1,)], dtype=[("f_infiltration", "i8")])
    ends = SimpleNamespace(source=np.array([1, 1, 0, -1]), target=np.array([-1, -1, -1, 0]))
    return SimpleNamespace(tables=SimpleNamespace(aquifers=aquifers, towns=towns), ends=ends)


def test_what_is_left_of_an_error_in_the_level_of_groundwater():
    """(1 - dt q / V)^n: of 10 m3 of which 8 drain 3 + 1 a day leave by their level, in half a day a
    quarter; nothing is left where more leaves than there is, all where nothing lies above."""
    past = SimpleNamespace(step=0.5)

    def left(steps, held, rates):
        run = SimpleNamespace(volume=np.array(held), rate=np.array(rates))
        return _kept(_works(), run, past, steps).tolist()

    assert left(3, [6.0, 10.0], [3.0, 1.0, 1.0, 9.0]) == pytest.approx([0.75**3, 0.5**3])
    assert left(1, [5.0, 10.0], [30.0, 1.0, 1.0, 9.0]) == [0.0, 1.0]
    assert left(1, [4.0, 1.0], [3.0, 1.0, 1.0, 9.0]) == [1.0, 1.0]


def test_by_how_much_groundwater_began_too_low():
    """Of a rise of 2 half was made up; where nothing drains no level is wrong."""
    found = _lacking(np.array([0.5, 1.0, 0.0]), np.array([2.0, 3.0, -4.0]))
    assert found.tolist() == [4.0, 0.0, -4.0]


def test_what_lies_above_the_drained_level_in_the_mean():
    """Recession times what is left after the sewers, a tenth at least; as it was where nothing
    reaches the ground."""
    for inflow, held in (
        ([10.0, 3.0], [180.0, 30.0]),
        ([4.2, 0.0], [30.0 * 0.42, 8.0]),
        ([-1.0, 0.2], [7.0, 2.0]),
    ):
        assert _mean_above(_works(), np.array(inflow)) == pytest.approx(held)


def test_members_are_drawn_from_the_ranges():
    """Three members of two days, each with a number of people from the range and with weather of
    its own, from the scenario's seed on or from the one asked for."""
    scenario = one_town(
        town__larkmill__people="10000 to 30000", season__end="2031-05-02", season__run_up="0 day"
    )
    record = simulate(scenario, members=3, seed=5)
    people = record["drawn"].sel(key="town.larkmill.people").values
    assert record["drawn"].dims == ("key", "member")
    assert len(set(people)) == 3
    assert 10_000 <= people.min() < people.max() <= 30_000
    for number, drawn in enumerate(record["drawn"].values.T):
        own = scenario.changed(changes_for(scenario, ["town.larkmill.people"], drawn))
        alone = simulate(own, seed=5 + number)
        for name in ("volume", "rate", "rain_mm", "demand", "minimum_flow"):
            one = record[name].values[..., number]
            assert np.allclose(one, alone[name].values, rtol=1e-12, atol=1e-12), name
    assert record.attrs["scenario"] == scenario.text
    assert weather_seeds(scenario, 2, None) == [3, 4]
    assert weather_seeds(scenario, 2, 9) == [9, 10]
