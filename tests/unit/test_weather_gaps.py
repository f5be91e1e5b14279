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
