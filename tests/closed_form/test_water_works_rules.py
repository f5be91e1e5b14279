"""Rules of the water works against closed forms, worked out beside each."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hydroloop.waterworks.demand import hourly_factors
from hydroloop.waterworks.land import groundwater_flows, soil_flows, storm_drain_outflow
from hydroloop.waterworks.linear_store import drained
from hydroloop.waterworks.plant_and_mains import planned_production, raw_for, shared_out
from hydroloop.waterworks.reservoir import spill, water_surface
from hydroloop.waterworks.river import reach_outflow, storage_factor
from hydroloop.waterworks.wastewater import sewer_flows

POSITIVE = st.floats(1e-3, 1e7)


def test_a_reach_without_exponent_is_a_linear_reservoir():
    """With b = 0, V = K Q, so K Q + dt Q = A gives Q = A / (K + dt)."""
    for available, factor, dt in ((100.0, 3.0, 1.0), (7.0, 0.2, 0.25)):
        expected = available / (factor + dt)
        assert reach_outflow(available, dt, factor, 0.0, 1.0) == pytest.approx(expected, rel=1e-13)


def test_a_steady_reach_passes_on_what_it_gets():
    """In steady flow V = K Q^(1-b) and inflow Q: the available water is V + dt Q, and Q leaves."""
    flow, exponent = 250_000.0, 0.34
    factor = storage_factor(18_000.0, 0.4 * 86_400.0, 300_000.0, exponent)
    volume = factor * flow ** (1.0 - exponent)
    out = reach_outflow(volume + 1.0 * flow, 1.0, factor, exponent, volume)
    assert out == pytest.approx(flow, rel=1e-13)


def test_travel_time_lengthens_as_flow_falls():
    """Time V / Q = (L / s) (Q_ref / Q)^b: at a tenth of the flow 10^0.34 = 2.19 times as long."""
    factor = storage_factor(10_000.0, 20_000.0, 1_000.0, 0.34)
    times = [factor * q ** (1.0 - 0.34) / q for q in (1_000.0, 100.0)]
    assert times[0] == pytest.approx(0.5)
    assert times[1] / times[0] == pytest.approx(10**0.34)


@settings(max_examples=200, deadline=None)
@given(
    available=POSITIVE,
    factor=st.floats(0.0, 1e5),
    exponent=st.floats(0.0, 0.9),
    held=POSITIVE,
    dt=st.sampled_from([1.0, 0.25, 1.0 / 24.0]),
)
def test_a_reach_keeps_or_lets_go_all_its_water(available, factor, exponent, held, dt):
    """From any start of the search K Q^(1-b) + dt Q = A, and Q lies between 0 and A / dt."""
    flow = reach_outflow(available, dt, factor, exponent, held)
    assert 0.0 <= flow <= available / dt
    kept = factor * flow ** (1.0 - exponent)
    assert kept + dt * flow == pytest.approx(available, rel=1e-9)


@settings(max_examples=200, deadline=None)
@given(
    available=st.floats(0.0, 1e-60),
    factor=st.floats(0.0, 1e5),
    exponent=st.floats(0.0, 0.9),
    held=st.floats(0.0, 1e-60),
    dt=st.sampled_from([1.0, 1.0 / 24.0]),
)
def test_a_reach_that_has_all_but_dried_up_has_a_flow(available, factor, exponent, held, dt):
    """However little water is left, what leaves is a number and not more than there is."""
    assert 0.0 <= reach_outflow(available, dt, factor, exponent, held) <= available / dt


def test_a_draining_store_follows_the_exponential():
    """Outflows V (1 - e^(-dt/k)) / dt, step by step, leave V0 e^(-t/k), whatever the step."""
    for dt in (1.0, 0.25):
        volume = 100.0
        for _ in range(round(10 / dt)):
            volume -= dt * drained(volume, 7.0, dt)
        assert volume == pytest.approx(100.0 * math.exp(-10.0 / 7.0), rel=1e-12)


def test_inflow_that_recedes_for_six_weeks_fills_a_lake():
    """Inflow 10 m3/s that falls to 1.8 in six weeks: k = 42 d / ln(10 / 1.8) = 24.49 d; the weeks
    bring Q0 k (1 - e^(-7/k)) e^(-7 n / k), over 20 km2 a rise of 263.0 197.6 148.5 111.6 83.9
    63.0 mm."""
    k = 42.0 / math.log(10.0 / 1.8)
    volume, rises = 10.0 * 86_400.0 * k, []
    for _ in range(6):
        week = 7.0 * drained(volume, k, 7.0)
        volume -= week
        rises.append(week / 20e6 * 1000.0)
    assert k == pytest.approx(24.49, abs=0.005)
    np.testing.assert_allclose(rises, [263.0, 197.6, 148.5, 111.6, 83.9, 63.0], atol=0.05)


@pytest.mark.parametrize("above", [0.0, -0.5, -100.0])
def test_nothing_drains_below_the_drained_level(above):
    """Neither into the river nor into the sewers."""
    assert groundwater_flows(above, 30.0, (4.0, 50.0), 1.0) == (0.0, 0.0)


def test_baseflow_falls_by_a_constant_ratio():
    """Without recharge each day's baseflow is e^(-1/k) times the one before."""
    volume, flows = 5_000.0, []
    for _ in range(5):
        flows.append(groundwater_flows(volume - 1_000.0, 30.0, (0.0, 0.0), 1.0)[0])
        volume -= flows[-1]
    ratios = np.array(flows[1:]) / np.array(flows[:-1])
    np.testing.assert_allclose(ratios, math.exp(-1.0 / 30.0), rtol=1e-12)


@settings(max_examples=200, deadline=None)
@given(
    volume=st.floats(0, 1e4),
    inflow=st.floats(0, 1e5),
    time=st.floats(1e-3, 2),
    capacity=POSITIVE,
    storage=st.floats(1, 1e5),
)
def test_sewers_never_hold_more_than_they_can(volume, inflow, time, capacity, storage):
    """Carried at most the capacity; what would not fit overflows; the account closes at or above
    zero."""
    start = min(volume, storage)
    carried, overflow = sewer_flows(start, inflow, time, capacity, storage, 1.0)
    after = start + inflow - carried - overflow
    assert carried <= capacity
    assert -1e-9 * (start + inflow) <= after <= storage * (1 + 1e-9) + 1e-9 * inflow


def test_soil_passes_more_the_fuller_it_is():
    """Of soil of 100: full and without evaporation it passes all that comes. Empty soil that gets
    80 is 0.4 full in the middle of the step, and 0.4^3 passes; half-full soil that gets 8 and loses
    7 stays so, and an eighth passes."""
    assert soil_flows(100.0, 50.0, 0.0, 100.0, 1.0) == (0.0, 50.0)
    assert soil_flows(0.0, 80.0, 5.0, 100.0, 1.0) == (0.0, pytest.approx(0.4**3 * 80.0))
    assert soil_flows(50.0, 8.0, 7.0, 100.0, 1.0) == (7.0, 1.0)


def test_soil_lets_go_what_it_cannot_hold():
    """Soil of 100 that holds 120 passes in half a day the 20, which are 40 a day, and the 10 a day
    that come."""
    assert soil_flows(120.0, 10.0, 0.0, 100.0, 0.5) == (0.0, 50.0)


def test_storm_drains_are_a_linear_reservoir():
    """Q = (V + dt I) / (k + dt); with k an hour, nearly all of a day is gone the same day."""
    out = storm_drain_outflow(0.0, 96.0, 1.0 / 24.0, 1.0)
    assert out == pytest.approx(96.0 * 24.0 / 25.0)


def test_a_spillway_passes_what_does_not_fit():
    """95 held, 20 a day come in for half a day, 100 at most: 5 in half a day are 10 a day."""
    assert spill(95.0, 20.0, 100.0, 0.5) == pytest.approx(10.0)
    assert spill(10.0, 20.0, 100.0, 0.5) == 0.0


def test_the_surface_of_a_valley_shrinks_by_the_two_thirds_power():
    """Half as deep means a quarter of the surface and an eighth of the water; dry, none is left."""
    assert water_surface(0.0, 1.0, 4.0) == 0.0
    assert water_surface(1.0 / 8.0, 1.0, 4.0) == pytest.approx(1.0)


def test_production_refills_and_never_overfills():
    """At the mean plus the refill, cut to the room there is, and enough that the tank lasts."""

    def made(mean, need, volume, refill):
        return planned_production(mean, need, (volume, volume), (90.0, 100.0, refill), 1.0)

    assert made(100.0, 100.0, 50.0, 2.0) == pytest.approx(120.0)
    assert made(100.0, 20.0, 95.0, 2.0) == pytest.approx(25.0)
    assert made(10.0, 100.0, 30.0, 60.0) == pytest.approx(70.0)


def test_within_a_day_production_goes_by_the_fullest_hour():
    """A tank that a day's peak drew from 90 to 60 lacks nothing: 90 - 90 = 0 over the refill.

    Only where the hour would empty it, 60 in an hour of 1/24 d = 1440 a day, must the plant follow:
    2000 - 1440 = 560. A refill of less than a day counts as a day: 100 + (90 - 80) / 1 = 110.
    """
    tanks, hour = (90.0, 100.0, 0.25), 1.0 / 24.0
    assert planned_production(100.0, 150.0, (60.0, 90.0), tanks, hour) == pytest.approx(100.0)
    assert planned_production(100.0, 2000.0, (60.0, 90.0), tanks, hour) == pytest.approx(560.0)
    assert planned_production(100.0, 150.0, (60.0, 80.0), tanks, hour) == pytest.approx(110.0)


@settings(max_examples=100, deadline=None)
@given(
    delivered=st.floats(0, 100),
    homes=st.floats(0, 50),
    work=st.floats(0, 50),
    yards=st.floats(0, 50),
)
def test_shortage_takes_from_yards_first(delivered, homes, work, yards):
    """Nobody gets more than asked for, all that is there is used, and yards are cut before
    workplaces, workplaces before homes."""
    to_homes, to_work, to_yards = shared_out(delivered, homes, work, yards)
    total = min(delivered, homes + work + yards)
    assert to_homes + to_work + to_yards == pytest.approx(total, abs=1e-9)
    if to_homes < homes:
        assert to_work == pytest.approx(0.0, abs=1e-9)
    if to_work < work:
        assert to_yards == pytest.approx(0.0, abs=1e-9)


def test_raw_water_covers_sludge_and_wash_water():
    """raw (1 - s)(1 - b) is the treated flow again."""
    raw = raw_for(1_000.0, 0.003, 0.02)
    assert raw * (1 - 0.003) * (1 - 0.02) == pytest.approx(1_000.0)


@pytest.mark.parametrize("dt", [1.0, 0.5, 0.25, 1.0 / 24.0])
def test_the_hours_of_a_day_average_to_one(dt):
    """Whatever the step, a whole day's factors have the mean one; a daily step sees no peak."""
    homes, work, yards = hourly_factors(round(2 / dt), dt)
    assert homes.mean() == pytest.approx(1.0, abs=1e-12)
    assert work.mean() == pytest.approx(1.0, abs=1e-12)
    assert yards.mean() == pytest.approx(1.0, abs=1e-12)
    assert (yards == 1.0).all() == (dt == 1.0)  # to the last bit, so that days are as they were
    assert (homes.max() < 1.0 + 1e-9) == (dt == 1.0)


@pytest.mark.parametrize("use", [0, 1, 2])
def test_the_hours_of_a_day_have_two_peaks(use):
    """Use rises and falls twice from one night to the next, without leaps, and never ends; a
    season that begins at six in the morning begins with that hour."""
    day = hourly_factors(24, 1.0 / 24.0)[use]
    turns = np.diff(np.append(day, day[0])).round(9)
    signs = np.sign(turns[turns != 0.0])
    assert (signs != np.roll(signs, 1)).sum() == 4
    assert day.min() > 0.15
    assert np.abs(turns).max() <= 1.0
    assert hourly_factors(24, 1.0 / 24.0, 6)[use].tolist() == np.roll(day, -6).tolist()
    assert hourly_factors(4, 0.25)[use] == pytest.approx(day.reshape(4, 6).mean(axis=1), rel=1e-12)
