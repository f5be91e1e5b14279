"""A weather file with humidity, wind and sunshine, at the sea and at 2,000 m: FAO-56 by hand.

The equations are those of Allen et al. 1998, chapters 3 and 4, written out once more here.
"""

from __future__ import annotations

from math import acos, cos, exp, pi, sin, sqrt, tan

import numpy as np
import pytest

import hydroloop as hl

TOWN = """
title = "High and low"
[season]
start = 2031-06-01
end = 2031-06-10
run_up = "0 day"
[weather]
file = "weather.csv"
latitude = "45 deg"
elevation = "{elevation} m"
[river.wren]
length = "40 km"
inflow = "3 m3/s"
[town.larkmill]
people = 20000
intake = {{ river = "wren", at = "10 km" }}
outfall = {{ river = "wren", at = "15 km" }}
"""
DAYS = [(12.0, 26.0, 60.0, 2.0, 10.0), (9.0, 19.0, 80.0, 4.0, 3.0), (15.0, 31.0, 45.0, 1.5, 13.0)]


def saturation(celsius: float) -> float:
    return 0.6108 * exp(17.27 * celsius / (celsius + 237.3))


def by_hand(day: int, elevation: float, weather: tuple[float, ...]) -> float:
    """Reference evapotranspiration of a day of the year at 45 degrees north [mm/d]."""
    low, high, humidity, wind, sunshine = weather
    mean = (low + high) / 2
    deficit_of = (saturation(low) + saturation(high)) / 2
    vapour = humidity / 100 * deficit_of
    slope = 4098 * saturation(mean) / (mean + 237.3) ** 2
    pressure = 101.3 * ((293 - 0.0065 * elevation) / 293) ** 5.26
    gamma = 0.000665 * pressure
    latitude = pi / 4
    declination = 0.409 * sin(2 * pi * day / 365 - 1.39)
    near = 1 + 0.033 * cos(2 * pi * day / 365)
    sunset = acos(-tan(latitude) * tan(declination))
    above = (
        24
        * 60
        / pi
        * 0.0820
        * near
        * (
            sunset * sin(latitude) * sin(declination)
            + cos(latitude) * cos(declination) * sin(sunset)
        )
    )
    solar = (0.25 + 0.5 * sunshine / (24 / pi * sunset)) * above
    clear = (0.75 + 2e-5 * elevation) * above
    lost = (
        4.903e-9
        * ((high + 273.16) ** 4 + (low + 273.16) ** 4)
        / 2
        * (0.34 - 0.14 * sqrt(vapour))
        * (1.35 * min(solar / clear, 1) - 0.35)
    )
    net = 0.77 * solar - lost
    return (0.408 * slope * net + gamma * 900 / (mean + 273) * wind * (deficit_of - vapour)) / (
        slope + gamma * (1 + 0.34 * wind)
    )


@pytest.mark.parametrize("elevation", [0.0, 2000.0])
def test_evaporation_of_the_season_is_that_of_its_height(tmp_path, elevation):
    """Every day of the record has the evaporation of its weather at its height."""
    weather = [DAYS[i % len(DAYS)] for i in range(10)]
    rows = [
        f"2031-06-{i + 1:02},0,{low},{high},{humidity},{wind},{sunshine}"
        for i, (low, high, humidity, wind, sunshine) in enumerate(weather)
    ]
    (tmp_path / "weather.csv").write_text(
        "date,rain [mm],tmin [degC],tmax [degC],humidity [%],wind [m/s],sunshine [hour]\n"
        + "\n".join(rows)
        + "\n",
        encoding="utf-8",
    )
    (tmp_path / "town.toml").write_text(TOWN.format(elevation=elevation), encoding="utf-8")
    record = hl.simulate(hl.read_scenario(tmp_path / "town.toml"))
    expected = [by_hand(152 + i, elevation, one) for i, one in enumerate(weather)]
    np.testing.assert_allclose(record["et0_mm"].values, expected, rtol=2e-3)


def test_height_makes_a_difference():
    """By hand the two heights differ by more than the test above allows."""
    low, high = (by_hand(160, elevation, DAYS[0]) for elevation in (0.0, 2000.0))
    assert abs(high / low - 1) > 0.02
