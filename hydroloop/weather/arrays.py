"""The types of what weather functions take and give: numbers, or arrays of numbers."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

from hydroloop.arguments import Bounds, Values

__all__ = ["Array", "Days", "Values"]

Array: TypeAlias = npt.NDArray[np.float64]
Days: TypeAlias = npt.NDArray[np.datetime64]

# What a table of weather may hold, warmed or cooled by as much as a scenario may ask for.
AIR_C = Bounds(-120.0, 90.0, "Give air temperature in C, -120 to 90: 68 F is 20 C.")
DAY = Bounds(1, 366, "Give the day of the year, 1 to 366.")
LATITUDE = Bounds(-90.0, 90.0, "Give degrees, -90 to 90, south negative.")
ELEVATION_M = Bounds(-500.0, 9000.0, "Give metres above the sea, -500 to 9,000.")
WIND = Bounds(0.0, 120.0, "Give m/s, 0 to 120.")
HEIGHT_M = Bounds(0.5, 200.0, "Give the height of the instrument, 0.5 to 200 m.")
HUMIDITY = Bounds(0.0, 1.0, "Give relative humidity of 0 to 1: 63 % is 0.63.")
PRESSURE_KPA = Bounds(25.0, 120.0, "Give kPa, 25 to 120: 1013 hPa is 101.3.")
VAPOUR_KPA = Bounds(0.0, 30.0, "Give kPa, 0 to 30: 12 hPa is 1.2.")
SUN_MJ = Bounds(0.0, 60.0, "Give MJ/m2 in a day, 0 to 60: 250 W/m2 is 21.6.")
NET_MJ = Bounds(-60.0, 60.0, "Give MJ/m2 in a day, -60 to 60: 250 W/m2 is 21.6.")
ANGLE = Bounds(-3.15, 3.15, "Give an hour angle of -pi to pi: noon is 0.")
FREEZING_K = Bounds(273.0, 274.0, "Give 273.16 or 273.15 K.")
SKEW = Bounds(-20.0, 20.0, "Give a skew of -20 to 20.")
HOURS = Bounds(0.0, 24.0, "Give hours, 0 to 24.")
CURVE_NUMBER = Bounds(1.0, 100.0, "Give a curve number of 1 to 100.")
RAIN_MM = Bounds(0.0, 1e9, "Give millimetres, zero or more.")
FLOWS = Bounds(0.0, 1e15, "Give flows of zero or more, none missing.", fewest=1)
VALUES = Bounds(-1e15, 1e15, "Give numbers, none missing.", fewest=1)
LEVELS = VALUES._replace(is_alone=True)
YEARS = Bounds(1.0 + 1e-9, 1e9, "A return period is above 1 year: give for example 10.")
