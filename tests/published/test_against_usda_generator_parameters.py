"""A station's parameters for a daily weather generator, as the climate "dry_plateau" holds them.

USDA daily-generator parameter file of a station at 47.30 N, 119.53 W, 1260 ft, 44 years, as given
in a copy of it. Printed in inches and degrees Fahrenheit: rain times 25.4 mm, temperature
(F - 32) / 1.8. The climate keeps gamma shape and scale, so mean and standard deviation of a wet day
test that they were worked out right.
Two centuries of generated weather are compared with temperatures and spells.
"""

from __future__ import annotations

import math
from functools import cache

import pytest
from published_checks import Check, half

from hydroloop.weather import generate_weather, season_days
from hydroloop.weather.climates import DRY_PLATEAU

PRINTED = {
    "P(wet after wet)": ".47 .50 .39 .32 .33 .30 .27 .28 .40 .41 .42 .48",
    "P(wet after dry)": ".20 .16 .15 .13 .13 .11 .05 .06 .08 .12 .23 .23",
    "mean of a wet day, in": ".10 .10 .11 .10 .11 .14 .14 .09 .10 .10 .12 .12",
    "s.d. of a wet day, in": ".12 .12 .11 .13 .13 .18 .22 .13 .13 .11 .14 .13",
    "Tmax, F": "32.89 41.62 52.60 62.81 72.56 80.58 88.52 87.06 77.76 62.85 44.78 34.63",
    "Tmin, F": "20.31 26.55 32.33 39.12 47.69 55.39 61.58 60.31 51.52 40.17 30.33 22.81",
}
OURS = {
    "P(wet after wet)": lambda m: DRY_PLATEAU.wet_after_wet[m],
    "P(wet after dry)": lambda m: DRY_PLATEAU.wet_after_dry[m],
    "mean of a wet day, in": lambda m: DRY_PLATEAU.rain_mean_mm[m] / 25.4,
    "s.d. of a wet day, in": lambda m: (
        math.sqrt(DRY_PLATEAU.rain_shape[m]) * DRY_PLATEAU.rain_scale_mm[m] / 25.4
    ),
    "Tmax, F": lambda m: DRY_PLATEAU.tmax_c[m] * 1.8 + 32.0,
    "Tmin, F": lambda m: DRY_PLATEAU.tmin_c[m] * 1.8 + 32.0,
}

CONSTANTS: list[Check] = [
    Check(
        source="USDA generator parameters, 47.30 N 119.53 W (as given in a copy)",
        quantity=f"{quantity}, month {month + 1}",
        printed=float(printed),
        tolerance=half(printed),
        ours=lambda quantity=quantity, month=month: OURS[quantity](month),
        units=quantity.partition(", ")[2] or "-",
        known="second-hand",
    )
    for quantity, row in PRINTED.items()
    for month, printed in enumerate(row.split())
]

YEARS = 200


@cache
def generated():
    """Two centuries of weather, and the month of each day."""
    days = season_days("1901-01-01", f"{1900 + YEARS}-12-31")
    month = days.astype("datetime64[M]").astype(int) % 12
    return generate_weather(DRY_PLATEAU, days, seed=1), month


def warmest(month):
    """Mean of the day's highest temperature in a month [F]."""
    weather, months = generated()
    return float(weather["tmax_c"][months == month].mean()) * 1.8 + 32.0


def wet_after(month, before):
    """Share of wet days among those that follow a wet or a dry one."""
    weather, months = generated()
    wet = weather["rain_mm"] > 0.0
    follows = (months[1:] == month) & (wet[:-1] == before)
    return float(wet[1:][follows].mean())


# Four standard errors of 200 years: days of 9 F whose residuals go on with 0.6; of the share, with
# at least 400 days to count.
CHECKS: list[Check] = [
    *(
        Check(
            "USDA generator parameters, 47.30 N 119.53 W (as given in a copy)",
            f"mean Tmax of 200 generated years, month {month + 1}",
            float(printed),
            1.0,
            lambda month=month: warmest(month),
            "F",
            "second-hand",
        )
        for month, printed in enumerate(PRINTED["Tmax, F"].split())
    ),
    *(
        Check(
            "USDA generator parameters, 47.30 N 119.53 W (as given in a copy)",
            f"wet days after a {word} one in 200 generated years, month {month + 1}",
            float(printed),
            0.005 + 4.0 * math.sqrt(0.25 / count),
            lambda month=month, word=word: wet_after(month, word == "wet"),
            "-",
            "second-hand",
        )
        for word, count in (("wet", 400), ("dry", 3000))
        for month, printed in enumerate(PRINTED[f"P(wet after {word})"].split())
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """The generated weather has the printed means and spells."""
    check.holds()


def test_constants_as_printed():
    """What the program keeps is what was printed."""
    for one in CONSTANTS:
        one.holds()
