"""Alice Springs, 20 July 1980: every step from temperature to open-water evaporation.

McMahon, Peel, Lowe, Srikanthan & McVicar 2013, HESS 17:1331-1363, supplement S19, as given in
quotations of it. Inputs: latitude -23.7951, 546 m, day 202, 2 to 21 C, humidity 25 to 71 %, 10.7 h
of sunshine, wind 0.5903 m/s at 2 m, Angstrom 0.23 and 0.50, 273.2 K at 0 C. Units as printed.
"""

from __future__ import annotations

import pytest
from published_checks import Check, half

from hydroloop.weather import evaporation, radiation, sun, vapour

LATITUDE, ELEVATION_M, DAY = -23.7951, 546.0, 202
TMIN, TMAX, TMEAN, WIND = 2.0, 21.0, 11.5, 0.5903


def above():
    return sun.extraterrestrial_radiation_mj_per_m2(LATITUDE, DAY)


def clear():
    return radiation.clear_sky_radiation_mj_per_m2(above(), ELEVATION_M)


def arriving():
    daylight = sun.day_length_h(LATITUDE, DAY)
    return radiation.radiation_from_sunshine_mj_per_m2(above(), 10.7, daylight, 0.23, 0.50)


def vapour_pressure():
    return vapour.vapour_pressure_from_extremes_kpa(TMIN, TMAX, 0.25, 0.71)


def longwave():
    share = radiation.relative_shortwave(arriving(), clear())
    return radiation.net_longwave_mj_per_m2(TMIN, TMAX, vapour_pressure(), share, freezing_k=273.2)


def net(albedo):
    return radiation.net_shortwave_mj_per_m2(arriving(), albedo) - longwave()


def deficit():
    return vapour.mean_saturation_pressure_kpa(TMIN, TMAX) - vapour_pressure()


def mcmahon(quantity, printed, units, ours, *, tolerance=None):
    """A check of supplement S19."""
    return Check(
        source="McMahon et al. 2013, supplement S19 (as given in quotations)",
        quantity=quantity,
        printed=float(printed),
        tolerance=half(printed) if tolerance is None else tolerance,
        ours=ours,
        units=units,
        known="second-hand",
    )


CHECKS: list[Check] = [
    mcmahon(
        "saturation pressure at 21 C", "2.4870", "kPa", lambda: vapour.saturation_pressure_kpa(TMAX)
    ),
    mcmahon(
        "saturation pressure at 2 C", "0.7056", "kPa", lambda: vapour.saturation_pressure_kpa(TMIN)
    ),
    mcmahon(
        "mean saturation pressure",
        "1.5963",
        "kPa",
        lambda: vapour.mean_saturation_pressure_kpa(TMIN, TMAX),
    ),
    mcmahon("slope at 11.5 C", "0.0898", "kPa/C", lambda: vapour.saturation_slope_kpa_per_c(TMEAN)),
    mcmahon(
        "air pressure at 546 m", "95.01027", "kPa", lambda: vapour.air_pressure_kpa(ELEVATION_M)
    ),
    mcmahon(
        "psychrometric constant",
        "0.0632",
        "kPa/C",
        lambda: vapour.psychrometric_constant_kpa_per_c(vapour.air_pressure_kpa(ELEVATION_M)),
    ),
    mcmahon("inverse relative distance", "0.9688", "-", lambda: sun.inverse_distance(DAY)),
    mcmahon("declination", "0.3557", "rad", lambda: sun.declination_rad(DAY)),
    mcmahon("sunset angle", "1.4063", "rad", lambda: sun.sunset_angle_rad(LATITUDE, DAY)),
    mcmahon("day length", "10.7431", "h", lambda: sun.day_length_h(LATITUDE, DAY)),
    # The source rounds on its way: 0.0002 for radiation, 0.0005 for evaporation.
    mcmahon("radiation above the air", "23.6182", "MJ/m2/d", above, tolerance=0.0002),
    mcmahon("clear-sky radiation", "17.9716", "MJ/m2/d", clear, tolerance=0.0002),
    mcmahon("solar radiation", "17.1940", "MJ/m2/d", arriving, tolerance=0.0002),
    mcmahon("net longwave", "7.1784", "MJ/m2/d", longwave, tolerance=0.0002),
    mcmahon(
        "net shortwave, grass",
        "13.2393",
        "MJ/m2/d",
        lambda: radiation.net_shortwave_mj_per_m2(arriving(), 0.23),
        tolerance=0.0002,
    ),
    mcmahon("net radiation, grass", "6.0610", "MJ/m2/d", lambda: net(0.23), tolerance=0.0002),
    mcmahon("net radiation, water", "8.6401", "MJ/m2/d", lambda: net(0.08), tolerance=0.0002),
    mcmahon(
        "Penman 1948/56 open water",
        "2.9797",
        "mm/d",
        lambda: evaporation.penman_open_water_mm(
            net(0.08), TMEAN, WIND, deficit(), vapour.air_pressure_kpa(ELEVATION_M)
        ),
        tolerance=0.0005,
    ),
    mcmahon(
        "FAO-56 reference crop",
        "2.0775",
        "mm/d",
        lambda: evaporation.penman_monteith_mm(
            net(0.23), TMEAN, WIND, deficit(), vapour.air_pressure_kpa(ELEVATION_M)
        ),
        tolerance=0.0005,
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what McMahon et al. print."""
    check.holds()


def test_the_fixed_hargreaves_coefficient_is_not_mixed_with_the_varying_one():
    """The same day printed 4.11 mm/d with the coefficient of 2000; ours is the fixed 0.0023."""
    ours = evaporation.hargreaves_samani_mm(TMIN, TMAX, above())
    varying = 0.0135 * (0.00185 * 19**2 - 0.0433 * 19 + 0.4023) / 0.0023
    assert abs(ours * varying - 4.1129) <= 0.0005
