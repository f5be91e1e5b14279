"""The bundled climates, by name."""

from __future__ import annotations

import numpy as np
import pytest

from hydroloop.errors import AskError
from hydroloop.weather import CLIMATES, climate_named

DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def test_yearly_wet_days_and_rain_of_the_dry_plateau():
    """66.49 wet days and 7.34 in of rain a year: computed elsewhere from the same parameters.

    Wet days = days x Pwd / (1 + Pwd - Pww), rain = wet days x mean (USDA parameter files, as given
    in a copy); not a published value.
    """
    climate = CLIMATES["dry_plateau"]
    wet = DAYS * climate.wet_share
    assert abs(wet.sum() - 66.49) <= 0.01
    assert abs((wet * climate.rain_mean_mm).sum() / 25.4 - 7.34) <= 0.02


@pytest.mark.parametrize("name", CLIMATES)
def test_every_climate_makes_sense(name):
    """Chances lie in 0 to 1, shapes and spreads above 0, nights are cooler; the source is told."""
    climate = CLIMATES[name]
    chances = np.array([climate.wet_after_wet, climate.wet_after_dry])
    assert ((chances > 0) & (chances < 1)).all()
    assert (np.array([climate.rain_shape, climate.rain_scale_mm, climate.tmin_sd_c]) > 0).all()
    assert (np.array(climate.tmax_c) > np.array(climate.tmin_c)).all()
    assert len(climate.source) > 40


def test_turning_twice_is_not_turning():
    """Half a year and half a year is a year."""
    climate = CLIMATES["wet_winter"]
    twice = climate.other_hemisphere().other_hemisphere()
    assert twice.tmax_c == climate.tmax_c
    assert climate.other_hemisphere().tmax_c[0] == climate.tmax_c[6]


def test_an_unknown_climate_is_told_with_those_that_there_are():
    """What is not there is told with what is."""
    with pytest.raises(AskError, match="There are wet_winter, rain_all_year, dry_plateau"):
        climate_named("desert")
