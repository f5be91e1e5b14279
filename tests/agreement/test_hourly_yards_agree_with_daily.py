"""Yards of a season in hours against the same season in days."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from small_scenarios import one_town

import hydroloop as hl


@pytest.fixture(scope="module")
def runs():
    """The same four months in days and in hours, and the hours of one dry week."""
    scenario = one_town()
    return hl.simulate(scenario), hl.simulate(scenario.changed({"season.step": "1 hour"}))


def test_a_season_takes_the_same_for_yards(runs):
    """Watering early and late, and by the day before, takes within 5 % what days ask for."""
    daily, hourly = (float(run["demand"].sel(purpose="yards").mean()) for run in runs)
    assert daily > 0.0
    assert hourly == pytest.approx(daily, rel=0.05)
    assert_closes(runs[1])


def test_yards_are_watered_early_and_late(runs):
    """From 5 to 8 h and from 18 to 21 h more is taken than at noon, and least before dawn."""
    yards = runs[1]["demand"].sel(purpose="yards").values.reshape(-1, 24).mean(axis=0)
    noon, night = yards[10:15].max(), yards[0:3].max()
    assert min(yards[5:8].min(), yards[18:21].min()) > 1.5 * noon > 1.5 * night


def test_days_of_rain_are_days_without_watering(runs):
    """Where days ask for nothing because of rain, hours ask for next to nothing either."""
    by_day, by_hour = (run["demand"].sel(purpose="yards").values[:, 0] for run in runs)
    by_hour = by_hour.reshape(-1, 24).mean(axis=1)
    rain = runs[0]["rain_mm"].values
    stops = np.flatnonzero((rain[1:] > 0.0) & (by_day[1:] == 0.0) & (by_day[:-1] > 0.0)) + 1
    assert len(stops) > 3
    assert by_hour[stops].max() < 0.1 * by_day[stops - 1].min()
    assert by_hour[stops].mean() < 0.02 * by_day[stops - 1].mean()


def test_a_day_of_hours_asks_for_what_the_last_day_needed(runs):
    """In weather without rain yards ask each hour for the last day's mean times the hour's factor.

    So the factors cancel: two hours of a day that follow each other differ in what they ask for by
    their factors and by a day's change of need, which is small against a lawn's use.
    """
    from hydroloop.waterworks.demand import hourly_factors

    hourly = runs[1]
    yards = hourly["demand"].sel(purpose="yards").values[:, 0]
    factor = hourly_factors(len(yards), 1.0 / 24.0)[2]
    need = (yards / factor).reshape(-1, 24)
    rain = hourly["rain_mm"].values.reshape(-1, 24).sum(axis=1)
    dry = [
        day
        for day in range(2, len(rain))
        if rain[day - 2 : day + 1].sum() == 0.0 and need[day - 1].min() > 0.0
    ]
    assert len(dry) > 5
    steps = np.abs(np.diff(need[dry], axis=1))
    assert steps.max() < 0.25 * need[dry].max()
