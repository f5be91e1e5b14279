"""The climates that come with the package, each with its source and how it was obtained."""

from __future__ import annotations

import difflib

from hydroloop.errors import AskError, Problem
from hydroloop.weather.climate import Climate, Months

MM_PER_INCH = 25.4

WET_WINTER = Climate(
    name="wet_winter",
    source=(
        "Computed with fit_climate from the public-domain daily record of station USW00024233 "
        "(NOAA), 2012-2015, as shipped with vega-datasets 0.9.0."
    ),
    wet_after_wet=(
        0.734,
        0.743,
        0.740,
        0.550,
        0.618,
        0.486,
        0.167,
        0.476,
        0.486,
        0.741,
        0.750,
        0.783,
    ),
    wet_after_dry=(
        0.322,
        0.462,
        0.373,
        0.433,
        0.144,
        0.229,
        0.080,
        0.117,
        0.212,
        0.273,
        0.354,
        0.390,
    ),
    rain_shape=(0.986, 0.829, 0.845, 1.066, 0.803, 0.804, 0.617, 0.666, 0.580, 0.851, 0.754, 0.973),
    rain_scale_mm=(7.16, 6.98, 9.83, 5.97, 7.60, 4.47, 7.10, 11.17, 11.61, 9.69, 12.01, 7.90),
    tmin_c=(2.70, 4.05, 4.86, 6.36, 9.61, 12.24, 14.20, 14.77, 12.36, 9.35, 4.70, 3.32),
    tmax_c=(8.23, 9.86, 12.39, 15.02, 19.30, 22.40, 26.00, 26.11, 21.92, 16.39, 11.02, 8.19),
    tmin_sd_c=(3.16, 2.68, 2.91, 1.90, 1.91, 2.11, 1.79, 1.44, 1.99, 2.20, 2.98, 3.08),
    tmax_sd_c=(3.26, 3.33, 2.96, 2.79, 3.74, 3.59, 4.09, 3.41, 3.27, 2.77, 2.42, 3.12),
    tmin_wet_c=(2.29, 2.44, 1.50, 0.24, -0.39, -0.43, -1.43, 1.25, 1.14, 2.03, 4.15, 3.54),
    tmax_wet_c=(0.76, -0.29, -2.12, -3.88, -5.29, -4.56, -5.00, -2.19, -3.38, -0.39, 1.51, 2.26),
)

# A station's parameters in inches and degrees Fahrenheit, as printed.
_MEAN_IN = (0.10, 0.10, 0.11, 0.10, 0.11, 0.14, 0.14, 0.09, 0.10, 0.10, 0.12, 0.12)
_SD_IN = (0.12, 0.12, 0.11, 0.13, 0.13, 0.18, 0.22, 0.13, 0.13, 0.11, 0.14, 0.13)
_TMAX_F = (32.89, 41.62, 52.60, 62.81, 72.56, 80.58, 88.52, 87.06, 77.76, 62.85, 44.78, 34.63)
_TMIN_F = (20.31, 26.55, 32.33, 39.12, 47.69, 55.39, 61.58, 60.31, 51.52, 40.17, 30.33, 22.81)


def _celsius(fahrenheit: Months) -> Months:
    return tuple((t - 32.0) / 1.8 for t in fahrenheit)


DRY_PLATEAU = Climate(
    name="dry_plateau",
    source=(
        "USDA daily-generator parameters of a station at 47.30 N, 119.53 W, 1260 ft, 44 years (as "
        "given in a copy of its parameter file); gamma shape (mean / s.d.)^2 and scale s.d.^2 / "
        "mean. Spread and wet-day shift of temperature are not given there: those of wet_winter "
        "stand in."
    ),
    wet_after_wet=(0.47, 0.50, 0.39, 0.32, 0.33, 0.30, 0.27, 0.28, 0.40, 0.41, 0.42, 0.48),
    wet_after_dry=(0.20, 0.16, 0.15, 0.13, 0.13, 0.11, 0.05, 0.06, 0.08, 0.12, 0.23, 0.23),
    rain_shape=tuple((m / s) ** 2 for m, s in zip(_MEAN_IN, _SD_IN, strict=True)),
    rain_scale_mm=tuple(MM_PER_INCH * s * s / m for m, s in zip(_MEAN_IN, _SD_IN, strict=True)),
    tmin_c=_celsius(_TMIN_F),
    tmax_c=_celsius(_TMAX_F),
    tmin_sd_c=WET_WINTER.tmin_sd_c,
    tmax_sd_c=WET_WINTER.tmax_sd_c,
    tmin_wet_c=WET_WINTER.tmin_wet_c,
    tmax_wet_c=WET_WINTER.tmax_wet_c,
)

RAIN_ALL_YEAR = Climate(
    name="rain_all_year",
    source=(
        "Computed with fit_climate from the public-domain daily record of New York (NOAA), "
        "2012-2015, as shipped with vega-datasets 2.7.0 (npm)."
    ),
    wet_after_wet=(
        0.405,
        0.381,
        0.421,
        0.400,
        0.545,
        0.435,
        0.366,
        0.308,
        0.419,
        0.353,
        0.344,
        0.655,
    ),
    wet_after_dry=(
        0.309,
        0.366,
        0.291,
        0.212,
        0.250,
        0.351,
        0.301,
        0.194,
        0.213,
        0.256,
        0.205,
        0.318,
    ),
    rain_shape=(0.881, 0.656, 0.743, 0.581, 0.667, 0.657, 0.707, 0.648, 0.754, 0.584, 0.659, 0.770),
    rain_scale_mm=(
        8.65,
        10.09,
        10.50,
        18.23,
        13.15,
        18.86,
        9.84,
        21.25,
        10.51,
        13.00,
        13.00,
        11.89,
    ),
    tmin_c=(-3.35, -3.46, 0.80, 6.29, 12.71, 17.46, 21.54, 20.30, 16.60, 11.21, 4.16, 2.78),
    tmax_c=(4.38, 4.15, 9.12, 15.76, 21.36, 25.89, 29.50, 28.50, 25.32, 18.98, 12.10, 9.33),
    tmin_sd_c=(5.31, 4.73, 4.28, 2.85, 2.55, 2.43, 2.13, 2.02, 3.07, 3.32, 3.88, 4.01),
    tmax_sd_c=(5.64, 4.70, 4.98, 4.21, 3.44, 3.46, 2.94, 2.19, 2.87, 3.45, 4.39, 4.55),
    tmin_wet_c=(2.36, 2.18, 1.28, 0.61, 1.60, 0.38, 0.18, 0.99, 1.82, 2.16, 2.79, 3.11),
    tmax_wet_c=(1.16, 0.78, -0.01, -1.19, -1.84, -1.24, -1.35, -0.63, -0.09, 0.25, 1.42, 2.72),
)

CLIMATES = {climate.name: climate for climate in (WET_WINTER, RAIN_ALL_YEAR, DRY_PLATEAU)}


def climate_named(name: str) -> Climate:
    """Climate of a name.

    Looks up one of the climates that come with the package.
    Each stands for one station and its years: not for a whole region.

    Parameters
    ----------
    name : str
        Name of the climate

    Returns
    -------
    Climate
        Its monthly parameters

    Raises
    ------
    AskError
        There is no such climate; names those there are.

    Examples
    --------
    >>> climate_named("dry_plateau").name
    'dry_plateau'
    """
    if name in CLIMATES:
        return CLIMATES[name]
    near = difflib.get_close_matches(str(name), CLIMATES, n=1)
    cure = f'Did you mean "{near[0]}"?' if near else f"There are {', '.join(CLIMATES)}."
    raise AskError(Problem("climate", f'there is no climate "{name}".', cure))
