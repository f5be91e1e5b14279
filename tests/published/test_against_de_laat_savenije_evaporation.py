"""Open water and grass at Marib in June.

De Laat & Savenije, Hydrology, lecture notes LN0262/09/1, UNESCO-IHE, Tables 3.7 and 3.8. Inputs:
1000 m, 10.4 of 13.0 h of sunshine, mean humidity 38.4 %, 23.4 to 38.6 C, wind 2.1 m/s at 2 m,
437.5 W/m2 above the air. Radiation is printed in W/m2: 1 W/m2 = 0.0864 MJ/m2/d.

They take the saturation pressure at the mean temperature, and so do the rows here. Their longwave
radiation has coefficients of its own, so evaporation starts from the printed net radiation. Their
air density and resistances do not occur in our equations.
"""

from __future__ import annotations

import pytest
from published_checks import Check, half

from hydroloop.weather import evaporation, radiation, vapour

MJ_PER_WATT_DAY = 0.0864
TMEAN, WIND = 31.0, 2.1


def pressure():
    # The same lapse of 6.5 K/km from 293 K.
    return vapour.air_pressure_kpa(1000.0)


def vapour_pressure():
    return vapour.vapour_pressure_from_mean_kpa(TMEAN, TMEAN, 0.384)


def deficit():
    return vapour.saturation_pressure_kpa(TMEAN) - vapour_pressure()


def marib(table, quantity, printed, units, ours, *, tolerance=None):
    """A check of Table 3.7 or 3.8."""
    return Check(
        source=f"De Laat & Savenije LN0262/09/1, Table {table}",
        quantity=quantity,
        printed=float(printed),
        tolerance=half(printed) if tolerance is None else tolerance,
        ours=ours,
        units=units,
    )


CHECKS: list[Check] = [
    marib("3.7", "air pressure at 1000 m", "90.0", "kPa", pressure),
    # 0.0599, printed with its last digit cut off.
    marib(
        "3.7",
        "psychrometric constant",
        "0.059",
        "kPa/C",
        lambda: vapour.psychrometric_constant_kpa_per_c(pressure()),
        tolerance=0.001,
    ),
    marib(
        "3.7",
        "saturation pressure at 31.0 C",
        "4.49",
        "kPa",
        lambda: vapour.saturation_pressure_kpa(TMEAN),
    ),
    marib("3.7", "slope", "0.256", "kPa/C", lambda: vapour.saturation_slope_kpa_per_c(TMEAN)),
    # 0.384 times the rounded 4.49; 1.725 without rounding.
    marib(
        "3.7", "vapour pressure, humidity 38.4 %", "1.72", "kPa", vapour_pressure, tolerance=0.006
    ),
    marib(
        "3.7",
        "solar radiation",
        "284.4",
        "W/m2",
        lambda: (
            radiation.radiation_from_sunshine_mj_per_m2(437.5 * MJ_PER_WATT_DAY, 10.4, 13.0)
            / MJ_PER_WATT_DAY
        ),
    ),
    marib(
        "3.8",
        "grass, Penman-Monteith",
        "6.8",
        "mm/d",
        lambda: evaporation.penman_monteith_mm(
            156.1 * MJ_PER_WATT_DAY, TMEAN, WIND, deficit(), pressure()
        ),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what De Laat & Savenije print."""
    check.holds()


def test_open_water_is_near_their_value():
    """Open water, Table 3.7: printed 7.8 mm/d, 7.98 without their rounding of intermediates.

    Their drying term is that of air as thin as at 1000 m, ours that of Penman's own place near the
    sea, some 5 % larger; so the two agree within 0.3 mm/d, and the row is not in CHECKS.
    """
    ours = evaporation.penman_open_water_mm(
        204.4 * MJ_PER_WATT_DAY, TMEAN, WIND, deficit(), pressure()
    )
    assert abs(ours - 7.8) <= 0.3
