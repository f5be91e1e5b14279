"""River flow from a column of a file."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.errors import TableError
from hydroloop.weather import flow_for, read_flow

ROWS = """date,Wren at the mill [m3/s],Alder [cfs],rain [mm],note
2031-05-01,1.0,100,0,a
2031-05-02,2.0,200,0,b
2031-05-03,4.0,400,0,c
"""


@pytest.fixture
def table(tmp_path):
    """Two gauges in one file, each in its own unit."""
    path = tmp_path / "rivers.csv"
    path.write_text(ROWS)
    return path


@pytest.mark.parametrize("column", ["Wren at the mill", "wren at the mill [M3/s]"])
def test_a_column_by_its_name(table, column):
    """With or without its unit, in any case; 1 m3/s is 86,400 m3/d."""
    flow = read_flow(table, column=column)
    assert flow["flow"].values.tolist() == [86400.0, 172800.0, 345600.0]
    assert flow.attrs["source"] == "file rivers.csv"


def test_cubic_feet(table):
    """1 ft3/s is 0.3048^3 x 86,400 m3/d by definition of the foot."""
    flow = read_flow(table, column="Alder")["flow"].values
    assert np.allclose(flow, np.array([100, 200, 400]) * 0.3048**3 * 86400, rtol=1e-12)


def test_steps_keep_the_mean(table):
    """Hours repeat the day's mean flow, so that each day keeps its volume."""
    hours = flow_for("2031-05-01", "2031-05-02", 1 / 24, file=table, column="Alder")
    days = flow_for("2031-05-01", "2031-05-02", 1.0, file=table, column="Alder")
    assert len(hours) == 48
    assert np.allclose(hours.reshape(2, 24).mean(axis=1), days)


def lines(raised):
    return [str(problem) for problem in raised.value.problems]


def test_which_of_several(table):
    """Two flow columns: the message names both."""
    with pytest.raises(TableError) as raised:
        read_flow(table)
    assert lines(raised) == [
        'rivers.csv:1: there are several flow columns: "Wren at the mill", '
        '"Alder". Say which column.'
    ]


def test_a_misspelt_column(table):
    """A near miss is asked about."""
    with pytest.raises(TableError, match=r'no column "Aldr"\. Did you mean "Alder"'):
        read_flow(table, column="Aldr")


def test_a_column_of_something_else(table):
    """Rain is not flow, and a note has no unit of flow."""
    with pytest.raises(TableError, match='column "rain \\[mm\\]" is rain, not flow'):
        read_flow(table, column="rain")
    with pytest.raises(TableError, match='column "note" has no unit'):
        read_flow(table, column="note")


def test_dry_is_no_rule_for_rivers(table):
    """A gap in a river's record is not filled with a dry river."""
    with pytest.raises(TableError, match='gaps = "dry" is not known'):
        read_flow(table, column="Alder", gaps="dry")


def test_negative_flow_and_missing_days(tmp_path):
    """Flow against the current and gaps are told together."""
    path = tmp_path / "tidal.csv"
    path.write_text("date,flow [m3/s]\n2031-05-01,-3\n2031-05-04,1\n")
    with pytest.raises(TableError) as raised:
        read_flow(path)
    told = lines(raised)
    assert told[0].startswith("tidal.csv:2: flow [m3/s]: -3 m3/s is negative.")
    assert told[1].startswith("tidal.csv:3: there is no row for 2031-05-02 to 2031-05-03 (2 days)")


def test_no_flow_at_all(tmp_path):
    """A table of weather has no flow; the message shows how to call it."""
    path = tmp_path / "dry.csv"
    path.write_text("date,rain [mm]\n2031-05-01,0\n")
    with pytest.raises(TableError, match='Call it for example "flow \\[m3/s\\]"'):
        read_flow(path)
