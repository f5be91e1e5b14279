"""Reference evaporation over a year of real weather, by the package and by an evapotranspiration
library that shares no code with it."""

from __future__ import annotations

import numpy as np
import pytest
import refet
from vega_datasets import data

from hydroloop.weather import Site, reference_evaporation

YEAR = data.seattle_weather().iloc[:366]  # 2012: temperatures [C] and wind [m/s] of each day
DAY = YEAR["date"].dt.day_of_year.to_numpy()
COLD, WARM, WIND = (YEAR[name].to_numpy(dtype=float) for name in ("temp_min", "temp_max", "wind"))


def pressure(temperature):
    """Saturation vapour pressure [kPa]; FAO-56 equation 11."""
    return 0.6108 * np.exp(17.27 * temperature / (temperature + 237.3))


@pytest.mark.parametrize(("latitude", "height"), [(47.6, 56.0), (47.6, 2000.0), (-20.0, 500.0)])
def test_a_year_of_real_days(latitude, height):
    """Each day within 0.03 mm, the year within 0.3 %: low and high, north and south.

    The dew point is taken to be the night's temperature, and the sun's part a half to three
    quarters of what comes in above the air, by a wave: both routes are given the same.
    """
    humidity = pressure(COLD) / (0.5 * (pressure(COLD) + pressure(WARM)))
    above = _above(latitude)
    sun = above * (0.5 + 0.25 * np.sin(DAY / 9.0) ** 2)
    ours, method = reference_evaporation(
        {
            "tmin_c": COLD,
            "tmax_c": WARM,
            "humidity": humidity,
            "wind_m_per_s": WIND,
            "radiation_mj_per_m2": sun,
        },
        DAY,
        Site(latitude, height),
    )
    theirs = refet.Daily(COLD, WARM, sun, WIND, 2.0, height, latitude, DAY, ea=pressure(COLD)).eto()
    assert "Penman-Monteith" in method
    np.testing.assert_allclose(ours, np.maximum(theirs, 0.0), atol=0.03)
    assert ours.sum() == pytest.approx(theirs.sum(), rel=0.003)
    assert ours.sum() > 300.0


def _above(latitude):
    """Radiation above the air [MJ/m2/d]; FAO-56 equations 21, 23 to 25."""
    angle, turn = np.radians(latitude), 2 * np.pi * DAY / 365
    tilt = 0.409 * np.sin(turn - 1.39)
    half = np.arccos(-np.tan(angle) * np.tan(tilt))
    return (
        24
        * 60
        / np.pi
        * 0.0820
        * (1 + 0.033 * np.cos(turn))
        * (half * np.sin(angle) * np.sin(tilt) + np.cos(angle) * np.cos(tilt) * np.sin(half))
    )
