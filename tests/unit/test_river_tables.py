"""What kind of river each is: told of a year or longer, and against the curves if it has rain."""

from __future__ import annotations

import numpy as np
import pytest
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.outputs.document.as_text import as_text
from hydroloop.outputs.run.document import run_document
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.river_tables import rivers
from hydroloop.outputs.whatif.changed import as_it_is

YEAR = {"season__start": "2031-01-01", "season__end": "2031-12-31"}
CATCHMENT = {"river__wren__inflow": None, "river__wren__catchment": "120 km2"}


def result(**changes) -> Result:
    scenario = one_town(**changes)
    record = hl.simulate(scenario)
    return Result(scenario, record, hl.measures(record, scenario), "metric")


def text_of(one: Result) -> str:
    return "\n".join(as_text(run_document(one, as_it_is(one.scenario)), full=True))


def test_a_year_of_a_catchment_is_told_beside_the_curves():
    """The runoff ratio is what passes the head over the rain on the catchment, on screen too."""
    one = result(**CATCHMENT, **YEAR)
    (row,) = rivers(one).records("metric")
    record = one.record
    head = record["rate"].isel(flow=record["target"].values == "wren/reach_1").sum("flow")
    rain = float(record["rain_mm"].sum()) / 1000.0 * 120e6
    assert row["runoff ratio [%]"] == pytest.approx(100.0 * float(head.sum()) / rain)
    assert 0.0 < row["the same by the curve of Budyko [%]"] < 100.0
    text = text_of(one)
    assert "The rivers at their heads" in text
    assert "baseflow index [%]" in text


def test_a_flow_that_is_given_has_no_runoff_ratio():
    """Nobody knows its catchment: a gap, and no curve to hold it against."""
    (row,) = rivers(result(**YEAR)).records("metric")
    gaps = [name for name, value in row.items() if value is None]
    assert gaps == [
        "runoff ratio [%]",
        "the same by the curve of Turc and Pike [%]",
        "the same by the curve of Budyko [%]",
    ]
    assert np.isclose(row["baseflow index [%]"], 100.0)


def test_a_part_of_a_year_tells_nothing_of_a_river():
    """Half a year is no river's year: the table is in the files alone."""
    assert "The rivers at their heads" not in text_of(result(**CATCHMENT))
