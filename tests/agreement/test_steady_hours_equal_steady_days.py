"""Two towns under a steady river and no rain, by the day and by the hour: one table of measures.

Homes and workplaces draw more by day than by night, and tanks take the difference up; the season
must not notice. Yards are left out: what their soil lost yesterday is not steady.
"""

from __future__ import annotations

import numpy as np
import pytest
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.record import flow_mask

SECOND = """
[town.osselby]
people = 12000
intake = { river = "wren", at = "25 km" }
outfall = { river = "wren", at = "30 km" }
"""
STEADY = {
    "weather.rain_scale": 0.0,
    "town.larkmill.yards.area_per_person": "0 m2",
    "town.osselby.yards.area_per_person": "0 m2",
}
# An hour's peak is higher, and its trough lower, than the day's mean.
BY_THE_HOUR = {"lowest_dilution", "dilution", "lowest_flow"}
# Most-used day and first wet step are chosen among other steps.
OF_ONE_STEP = ("last_use", "within_", "glass", "molecules_in_homes", "parcel_")


@pytest.fixture(scope="module")
def both():
    """Scenario, and its records by the day and by the hour."""
    scenario = one_town(SECOND).changed(STEADY)
    return scenario, [
        hl.simulate(scenario.changed({"season.step": step})) for step in ("1 day", "1 hour")
    ]


@pytest.fixture(scope="module")
def tables(both):
    """Measures by the day and by the hour."""
    scenario, records = both
    return [hl.measures(record, scenario) for record in records]


def test_every_flow_of_the_season_agrees(both):
    """Volume of every flow of the season within 0.5 %, and of what the towns move within 0.2 %."""
    _, (days, hours) = both
    assert days["flow"].values.tolist() == hours["flow"].values.tolist()
    by_day, by_hour = days["rate"].mean("time").values, hours["rate"].mean("time").values
    moved = by_day > 1e-6 * by_day.max()
    assert moved.sum() > 60
    np.testing.assert_allclose(by_hour[moved], by_day[moved], rtol=0.005)
    kinds = ("intake", "supply", "home_use", "work_use", "leak", "sewage", "outfall")
    works = flow_mask(days, kind=kinds)
    np.testing.assert_allclose(by_hour[works & moved], by_day[works & moved], rtol=0.002)


def test_every_measure_of_the_season_agrees(tables):
    """Every total, share and count of the season within 0.3 %, however the steps are cut."""
    days, _ = tables
    compared = 0
    for name, by_day in days.data_vars.items():
        is_told = by_day.dtype.kind == "f" and "units" in by_day.attrs
        if (
            not is_told
            or name in BY_THE_HOUR
            or str(name).startswith(OF_ONE_STEP)
            or (by_day.attrs["units"] == "d" and not str(name).endswith("days"))
            or by_day.dims[-1:] == ("days_between",)
            or name in ("balance", "turnover_time")
        ):
            continue
        left, right = (
            table[name].mean("time") if "time" in by_day.dims else table[name] for table in tables
        )
        if left.shape != right.shape:
            continue  # by days that have gone by: as many as there are steps
        np.testing.assert_allclose(right, left, rtol=0.003, atol=2e-6, err_msg=str(name))
        compared += int((np.abs(left.values) > 1e-6).any())
    assert compared > 25


def test_times_agree_within_part_of_a_day(tables):
    """Ages and transit times differ by less than a step of the coarser run, a day."""
    days, hours = tables
    times = [
        name
        for name, values in days.data_vars.items()
        if values.attrs.get("units") == "d"
        and values.dtype.kind == "f"
        and not {"time", "on"} & {*values.dims}
        and name != "turnover_time"
        and not str(name).startswith(OF_ONE_STEP)
    ]
    assert len(times) >= 5
    for name in times:
        apart = np.abs(hours[name].values - days[name].values)
        assert np.nanmax(apart, initial=0.0) < 1.0, name


def test_the_account_of_every_place_agrees(tables):
    """In and out of every place within 0.3 %."""
    days, hours = (table["balance"].sel(term=["inflow", "outflow"]).values for table in tables)
    assert (days > 0).all()
    np.testing.assert_allclose(hours, days, rtol=0.003)
