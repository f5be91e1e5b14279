"""Hours made from days, against integrals that can be done by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from hydroloop.errors import InputError
from hydroloop.weather import sun
from hydroloop.weather.calendar import (
    daily_curve,
    month_index,
    season_days,
    step_starts,
    steps_per_day,
)
from hydroloop.weather.steps import daylight_weights, temperature_on_steps


@pytest.mark.parametrize("per_day", [1, 2, 4, 24, 96])
def test_hours_average_to_the_middle_of_the_day(per_day):
    """The cosine's integral over a whole day is zero, so the steps average to (Tmin + Tmax) / 2."""
    steps = temperature_on_steps(np.array([-3.0, 8.0]), np.array([5.0, 30.0]), per_day)
    means = steps["tmean_c"].reshape(2, per_day).mean(axis=1)
    assert np.allclose(means, [1.0, 19.0], atol=1e-12, rtol=0)


def test_a_quarter_of_the_day_in_closed_form():
    """From 12 to 18 h the mean of cos(2 pi (h - 15) / 24) is sin(pi / 4) / (pi / 4).

    The integral of cos x from -pi/4 to pi/4 is 2 sin(pi/4), over a length of pi/2.
    """
    steps = temperature_on_steps(np.array([10.0]), np.array([20.0]), 4)
    expected = 15.0 + 5.0 * math.sin(math.pi / 4) / (math.pi / 4)
    assert steps["tmean_c"][2] == pytest.approx(expected, abs=1e-12)


@pytest.mark.parametrize("per_day", [1, 2, 3, 4, 24])
def test_the_day_reaches_its_lowest_and_highest_temperature(per_day):
    """The lowest of the steps is Tmin and the highest is Tmax, and the mean lies between."""
    steps = temperature_on_steps(np.array([10.0]), np.array([20.0]), per_day)
    assert steps["tmin_c"].min() == pytest.approx(10.0, abs=1e-12)
    assert steps["tmax_c"].max() == pytest.approx(20.0, abs=1e-12)
    assert (steps["tmin_c"] <= steps["tmean_c"] + 1e-12).all()
    assert (steps["tmean_c"] <= steps["tmax_c"] + 1e-12).all()


def test_the_sun_over_the_equator():
    """At latitude 0 the sunset angle is pi / 2 and Ra = (1440 / pi) Gsc dr cos(delta).

    With phi = 0, sin(phi) = 0 and cos(phi) = 1; arccos(0) = pi / 2, whose sine is 1.
    """
    for day in (1, 80, 172, 266, 355):
        expected = (
            1440 / math.pi * 0.0820 * sun.inverse_distance(day) * math.cos(sun.declination_rad(day))
        )
        assert sun.extraterrestrial_radiation_mj_per_m2(0.0, day) == pytest.approx(expected)
        assert sun.day_length_h(0.0, day) == pytest.approx(12.0)


def test_no_sun_in_the_polar_night_and_none_missing_in_the_polar_day():
    """At 80 N there is no sun in late December and 24 hours of it in late June."""
    assert sun.day_length_h(80.0, 355) == 0.0
    assert sun.extraterrestrial_radiation_mj_per_m2(80.0, 355) == 0.0
    assert sun.day_length_h(80.0, 172) == pytest.approx(24.0)
    weights = daylight_weights(season_days("2031-12-21", "2031-12-21"), 24, 80.0)
    assert np.allclose(weights, 1 / 24)


def test_evaporation_is_even_about_noon():
    """The sun's height depends on the cosine of the hour angle, so morning and afternoon agree."""
    weights = daylight_weights(season_days("2031-04-10", "2031-04-10"), 24, 50.0)[0]
    assert np.allclose(weights, weights[::-1])
    assert weights[0] == 0.0
    assert weights.argmax() in (11, 12)


def test_a_months_days_average_to_the_month():
    """The corner system (c[m-1] + 6 c[m] + c[m+1]) / 8 = mean keeps monthly means.

    On each half of a month the curve is straight, from the value at the month's end, (c[m-1] +
    c[m]) / 2, to c[m]; the mean of the first half is (c[m-1] + 3 c[m]) / 4, and so for the other.
    Days sample the line at their middles, which is exact but for the day that holds the corner.
    """
    monthly = np.array([8.2, 9.9, 12.4, 15.0, 19.3, 22.4, 26.0, 26.1, 21.9, 16.4, 11.0, 8.2])
    days = season_days("2031-01-01", "2031-12-31")
    curve = daily_curve(monthly, days)
    means = [curve[month_index(days) == month].mean() for month in range(12)]
    assert np.allclose(means, monthly, atol=0.005)
    assert np.abs(np.diff(curve)).max() < 0.25


def test_steps_of_a_day_and_when_they_start():
    """From a minute to a day, whole numbers of them in a day; sevenths to the nanosecond."""
    assert [steps_per_day(1.0 / n) for n in (1, 24, 7, 1440)] == [1, 24, 7, 1440]
    for days in (1.0 / 1441, 1.001, 0.4, 2.0):
        with pytest.raises(InputError, match="does not divide a day"):
            steps_per_day(days)
    starts = step_starts(np.datetime64("2031-12-31"), 9, 7)
    assert starts[[0, 7]].astype("datetime64[h]").astype(str).tolist() == [
        "2031-12-31T00",
        "2032-01-01T00",
    ]
    assert str(starts[8]) == "2032-01-01T03:25:42.857142857"
