"""A station's parameters for a daily weather generator, as the climate "dry_plateau" holds them.

USDA daily-generator parameter file of a station at 47.30 N, 119.53 W, 1260 ft, 44 years, as given
in a copy of it. Printed in inches and degrees Fahrenheit: rain times 25.4 mm, temperature
(F - 32) / 1.8. The climate keeps gamma shape and scale, so mean and standard deviation of a wet day
test that they were worked out right.
"""

from __future__ import annotations

import math

import pytest
from published_checks import Check, half

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

CHECKS: list[Check] = [
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


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """The climate means what its source prints."""
    check.holds()
