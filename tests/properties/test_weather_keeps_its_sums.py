"""Laws of weather on steps: what is moved to other steps is neither lost nor made."""

from __future__ import annotations

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.weather import CLIMATES, season_days, sun, weather_for
from hydroloop.weather.series import regrid

DIVISORS = (1, 2, 3, 4, 6, 8, 12, 24)
latitudes = st.floats(-80, 80)
days_of_year = st.integers(1, 366)
seeds = st.integers(0, 10**6)
starts = st.dates(
    min_value=np.datetime64("1950-01-01").item(), max_value=np.datetime64("2100-01-01").item()
)


@settings(max_examples=30, deadline=None)
@given(
    values=st.lists(st.floats(0, 500), min_size=1, max_size=6),
    have=st.sampled_from(DIVISORS),
    wanted=st.sampled_from(DIVISORS),
)
def test_rain_on_another_grid_keeps_every_days_sum(values, have, wanted):
    """Spread over finer steps, or added over coarser ones, each day keeps its rain."""
    rain = np.repeat(np.array(values), have) / have
    moved = regrid(rain, have, wanted, "rain_mm")
    by_day = moved.reshape(len(values), wanted).sum(axis=1)
    assert np.allclose(by_day, values, rtol=1e-12, atol=1e-12)
    assert (moved >= 0).all()


@settings(max_examples=30, deadline=None)
@given(
    seed=seeds,
    start=starts,
    latitude=latitudes,
    per_day=st.sampled_from(DIVISORS),
    climate=st.sampled_from(list(CLIMATES)),
)
def test_hours_keep_the_sums_and_means_of_their_days(seed, start, latitude, per_day, climate):
    """Hourly weather adds up to the daily weather of the same seed."""
    end = start + (np.datetime64("2001-01-20") - np.datetime64("2001-01-01")).item()
    place = {"latitude_deg": latitude, "elevation_m": 100.0, "seed": seed, "climate": climate}
    daily = weather_for(start, end, 1.0, **place)
    steps = weather_for(start, end, 1.0 / per_day, **place)
    assert steps.sizes["time"] == per_day * daily.sizes["time"]
    for name in ("rain_mm", "et0_mm", "open_water_mm"):
        by_day = steps[name].values.reshape(-1, per_day).sum(axis=1)
        assert np.allclose(by_day, daily[name].values, rtol=1e-12, atol=1e-12), name
        assert (steps[name].values >= 0).all()
    means = steps["tmean_c"].values.reshape(-1, per_day).mean(axis=1)
    assert np.allclose(means, daily["tmean_c"].values, atol=1e-9)


@settings(max_examples=50, deadline=None)
@given(latitude=latitudes, day=days_of_year, cuts=st.lists(st.floats(-3.14, 3.14), max_size=6))
def test_the_suns_energy_adds_up_over_any_cuts_of_the_day(latitude, day, cuts):
    """However a day is cut, its parts add up to the whole, and none is negative."""
    edges = np.array([-np.pi, *sorted(cuts), np.pi])
    parts = sun.radiation_between_mj_per_m2(latitude, day, edges[:-1], edges[1:])
    whole = sun.extraterrestrial_radiation_mj_per_m2(latitude, day)
    assert (parts >= 0).all()
    assert np.isclose(parts.sum(), whole, rtol=1e-9, atol=1e-9)
    assert 0.0 <= sun.day_length_h(latitude, day) <= 24.0 + 1e-12


@settings(max_examples=30, deadline=None)
@given(seed=seeds, start=starts, short=st.integers(1, 60), more=st.integers(0, 800))
def test_a_longer_season_begins_with_the_shorter_ones_days(seed, start, short, more):
    """Same seed, same weather; days added at the end change none before them."""
    first = np.datetime64(start)
    place = {"latitude_deg": 45.0, "elevation_m": 10.0, "seed": seed}
    one = weather_for(first, first + short - 1, 1.0, **place)
    two = weather_for(first, first + short - 1 + more, 1.0, **place)
    for name in one.data_vars:
        assert (one[name].values == two[name].values[:short]).all(), name
    assert (two["tmin_c"].values <= two["tmax_c"].values).all()
    assert all(np.isfinite(two[name].values).all() for name in two.data_vars)


@settings(max_examples=50, deadline=None)
@given(start=starts, length=st.integers(1, 1500))
def test_a_season_has_every_calendar_day_once(start, length):
    """Days follow each other by one, over leap days and new years."""
    first = np.datetime64(start)
    days = season_days(first, first + length - 1)
    assert len(days) == length
    assert (np.diff(days).astype(int) == 1).all()
