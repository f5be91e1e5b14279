"""Gaps are filled only as asked, and what was measured stays as it was."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.errors import TableError
from hydroloop.weather import read_weather

ROWS = """date,rain [mm],tmin [C],tmax [C]
2031-05-01,4,2,10
2031-05-02,,,
2031-05-05,8,6,18
2031-05-06,0,,12
"""


@pytest.fixture
def table(tmp_path):
    """A record with three days and one more cell missing."""
    path = tmp_path / "gappy.csv"
    path.write_text(ROWS)
    return path


def test_straight_lines(table):
    """Interpolating draws lines over missing days, and to the end the last value."""
    weather = read_weather(table, gaps="interpolate")
    assert weather["rain_mm"].values.tolist() == [4, 5, 6, 7, 8, 0]
    assert weather["tmax_c"].values.tolist() == [10, 12, 14, 16, 18, 12]
    assert weather["tmin_c"].values.tolist() == [2, 3, 4, 5, 6, 6]
    assert weather.attrs["filled_steps"] == 4
    assert weather.attrs["gaps"] == "interpolate"


def test_carry_on(table):
    """Carrying repeats the last value."""
    weather = read_weather(table, gaps="carry")
    assert weather["rain_mm"].values.tolist() == [4, 4, 4, 4, 8, 0]
    assert weather["tmin_c"].values.tolist() == [2, 2, 2, 2, 6, 6]


def test_dry(table):
    """Dry sets rain to zero and draws lines for the rest."""
    weather = read_weather(table, gaps="dry")
    assert weather["rain_mm"].values.tolist() == [4, 0, 0, 0, 8, 0]
    assert weather["tmax_c"].values.tolist() == [10, 12, 14, 16, 18, 12]


def test_refuse_is_the_default(table):
    """Without a rule every gap is named: the days, and the lone cell."""
    with pytest.raises(TableError) as raised:
        read_weather(table)
    lines = [str(problem) for problem in raised.value.problems]
    assert len(lines) == 2
    assert "gappy.csv:3: there is no row for 2031-05-02 to 2031-05-04 (3 days)" in lines[0]
    assert "gappy.csv:5: tmin_c: there is no value for 2031-05-06" in lines[1]


def test_gaps_outside_the_season_do_not_matter(table):
    """Only the days that are asked for must be whole."""
    weather = read_weather(table, start="2031-05-05", end="2031-05-05")
    assert weather.sizes["time"] == 1


def test_nothing_to_carry(table):
    """A season that begins in a gap cannot carry on; the message says what else to do."""
    with pytest.raises(TableError, match="nothing stands before 2031-05-02"):
        read_weather(table, start="2031-05-02", end="2031-05-05", gaps="carry")


def test_a_column_without_any_value(tmp_path):
    """An empty column cannot be filled."""
    path = tmp_path / "empty.csv"
    path.write_text("date,rain [mm],tmin [C],tmax [C]\n2031-05-01,,1,2\n2031-05-02,,1,2\n")
    with pytest.raises(TableError, match="no value at all"):
        read_weather(path, gaps="interpolate")


def test_measured_values_are_untouched(table):
    """No rule changes a value that is in the file."""
    for gaps in ("interpolate", "carry", "dry"):
        weather = read_weather(table, gaps=gaps)
        assert np.array_equal(weather["rain_mm"].values[[0, 4, 5]], [4, 8, 0])


def by_the_hour(path, hours, heading="rain [mm],temperature [C]", cells="1,10"):
    """A table of some hours of two days, each row alike."""
    rows = [f"{np.datetime64('2031-05-01T00', 'm') + 60 * hour},{cells}" for hour in hours]
    path.write_text(f"date,{heading}\n" + "\n".join(rows).replace("T", " ") + "\n")
    return path


def test_gaps_by_the_hour_are_told_by_the_hour(tmp_path):
    """From the first missing step to the last, with their number, at the row behind the gap."""
    path = by_the_hour(tmp_path / "hours.csv", [*range(3), *range(6, 30), *range(31, 48)])
    with pytest.raises(TableError) as raised:
        read_weather(path)
    assert [str(problem).partition(". ")[0] for problem in raised.value.problems] == [
        "hours.csv:5: there is no row for 2031-05-01 03:00 to 2031-05-01 05:00 (3 steps)",
        "hours.csv:29: there is no row for 2031-05-02 06:00",
    ]


def test_a_gap_at_the_end_is_told_at_the_last_row(tmp_path):
    """Behind it no row stands; a day of which only the end is missing counts as missing it."""
    path = by_the_hour(tmp_path / "hours.csv", range(46))
    with pytest.raises(TableError, match=r"hours.csv:47: .* 2031-05-02 22:00 to 2031-05-02 23:00"):
        read_weather(path)


def test_a_season_within_hourly_rows_takes_its_own(tmp_path):
    """Rows before and after the days that are asked for are left out; what is held per day of an
    hour's energy is 24 times as much."""
    path = by_the_hour(
        tmp_path / "hours.csv",
        range(-24, 72),
        "rain [mm/day],temperature [C],radiation [MJ/m2]",
        "12,10,1.5",
    )
    weather = read_weather(path, start="2031-05-01", end="2031-05-02", gaps="refuse")
    assert weather.sizes["time"] == 48
    assert str(weather["time"].values[[0, -1]].astype("datetime64[h]")) == (
        "['2031-05-01T00' '2031-05-02T23']"
    )
    assert np.allclose(weather["rain_mm"], 0.5)
    assert np.allclose(weather["radiation_mj_per_m2"], 36.0)


@pytest.mark.parametrize(
    ("asked", "days"), [({"start": "2031-05-02"}, 5), ({"end": "2031-05-01"}, 1), ({}, 6)]
)
def test_one_end_of_the_days_wanted_is_enough(table, asked, days):
    """Where only the first or the last day is named, the file says the other."""
    assert read_weather(table, gaps="dry", **asked).sizes["time"] == days
