"""Rules of measures on a handful of numbers: steps of any length, classes of time, what is unknown.

Classes of 0, 1 and 2 days with 0.2, 0.3 and 0.5 of the water stand for the time from half a day
before to half a day after, and none begins before 0: one tenth has come at 0.25 days, one half at
the end of the second class, 1.5, and three quarters in the middle of the third, 2.
"""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import xarray as xr

from hydroloop.measures import LAND_TERMS
from hydroloop.measures.flows import mean_flow, spilled
from hydroloop.measures.land_balance import unexplained_storage
from hydroloop.measures.materials import water_temperature
from hydroloop.measures.supply import supply
from hydroloop.tracing import time_within

SHARES = np.array([[0.2, 0.0], [0.3, 0.0], [0.5, 0.0]])


@pytest.mark.parametrize(
    ("part", "whole", "days"),
    [
        (0.1, None, 0.25),
        (0.5, None, 1.5),
        (0.75, None, 2.0),
        (1.0, None, 2.5),
        (0.4, 2.0, 2.1),
        (0.6, 2.0, np.nan),
        (0.05, 2.0, 0.25),
    ],
)
def test_times_between_classes(part, whole, days):
    """Of the water that has come, or of a whole that some is still under way of; no water has no
    time."""
    found = time_within(np.arange(3.0), SHARES, part, whole)
    assert found.tolist() == pytest.approx([days, np.nan], nan_ok=True)


def test_a_single_class_has_no_width():
    """All that is known of it is that it has come."""
    assert time_within(np.zeros(1), np.ones((1, 1)), 0.5).tolist() == [0.0]


def test_steps_of_unequal_length_count_by_their_length():
    """30 for half a day and 10 for two days are 35 in 2.5 days, a mean of 10 over 3.5."""
    rate, days = np.array([0.0, 30.0, 10.0]), np.array([1.0, 0.5, 2.0])
    assert [float(part) for part in spilled(rate, days)] == [35.0, 2.5, 30.0]
    assert mean_flow(SimpleNamespace(days=days), rate[:, None]).tolist() == [10.0]


def test_supply_by_quarters_of_a_day():
    """Two purposes ask for 2 each; the first lacks 1 in two steps, the second in two, one of them
    the same: 1 of 4 m3 are missing, three steps in a row, up to 2 at once, and no recovery."""
    short = np.zeros((4, 3, 2, 1))
    short[1:3, 0, 0], short[2:, 0, 1] = 1.0, 1.0
    asked = np.full_like(short, 2.0)
    asked[:, 1] = 0.0
    short[:, 2] = asked[:, 2] = np.nan
    found = {
        name: values[..., 0].tolist()
        for name, values in supply(short, asked, np.full(4, 0.25)).items()
    }
    assert found.pop("unmet_total")[:2] == [[0.5, 0.5], [0.0, 0.0]]
    nan = pytest.approx(np.nan, nan_ok=True)
    assert found == {
        "reliability": [0.25, 1.0, nan],
        "resilience": [0.0, nan, nan],
        "vulnerability": [2.0, 0.0, nan],
        "largest_shortage": [2.0, 0.0, nan],
        "longest_failure": [0.75, 0.0, nan],
        "volume_reliability": [0.75, 1.0, nan],
    }


@pytest.mark.parametrize(
    ("days", "usual", "et0", "change", "beyond"),
    [
        (365, 2.0, 0.0, 200.0, 200.0 - 70.0 - 40.0),  # 800 fell, 730 are usual, 5 % are 40
        (365, 2.0, 0.0, -200.0, -90.0),
        (365, 2.0, 0.0, 110.0, 0.0),
        (359, 2.0, 700.0, 200.0, 200.0 - 100.0 - 40.0),  # not nearly a year: rain less evaporation
        (365, None, 700.0, 200.0, 60.0),
        (365, None, None, 900.0, 60.0),
    ],
)
def test_storage_beyond_what_the_weather_explains(days, usual, et0, change, beyond):
    """Soil and ground together, against the difference of rain and 5 % of it besides."""
    depth = np.zeros((1, len(LAND_TERMS), 1))
    for term, value in (
        ("rain", 800.0),
        ("change of soil and snow", 0.25 * change),
        ("change of groundwater", 0.75 * change),
    ):
        depth[0, LAND_TERMS.index(term)] = value
    run = SimpleNamespace(
        days=np.ones(days),
        usual_rain_mm=usual,
        et0_mm=None if et0 is None else np.full((days, 1), et0 / days),
    )
    assert unexplained_storage(run, depth).item() == pytest.approx(beyond, abs=1e-9)


def test_water_is_as_warm_as_the_air_of_its_month():
    """The mean of each month's days, and never colder than the coldest."""
    time = np.array(["2031-01-30", "2031-01-31", "2031-02-01", "2031-02-02"], "datetime64[ns]")
    record = xr.Dataset({"tmean_c": ("time", [2.0, 4.0, 9.0, 12.0])}, {"time": time})
    assert water_temperature(record, 4.0).tolist() == [4.0, 4.0, 10.5, 10.5]
