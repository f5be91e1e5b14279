"""Long-run recharge of the ground, where it can be worked out in the head: what falls and does not
evaporate percolates in the mean, and half of that recharges groundwater."""

from __future__ import annotations

import numpy as np
import pytest
from small_scenarios import one_town

from hydroloop.waterworks.recharge import Years, recharge_by_land
from hydroloop.waterworks.whole_network import draw_works

OPEN_AREA = 0.62 * 20_000 / 1_500 * 1e6  # soil and yards of 20,000 people [m2]


def _sky(rain_mm=2.0, mean_c=10.0, reference_mm=0.0, days=365):
    return np.column_stack(
        [np.broadcast_to(each, days) for each in (rain_mm, mean_c, reference_mm, 0.0)]
    )


def _recharge_mm(sky, last=None, **changes):
    """Recharge of the ground under the town, over its open area [mm/d]."""
    works = draw_works(one_town(**changes).model, {"wren": np.full(1, 1e5)}, 2.0)
    (found,) = recharge_by_land(works, Years(sky), last)
    return 1000.0 * found / OPEN_AREA


def test_all_rain_passes_where_nothing_evaporates():
    """2 mm a day never run off and fill the soil within the first year: 1 mm recharges, or 1.6
    where a fifth and not half of it flows off as interflow."""
    assert _recharge_mm(_sky()) == pytest.approx(1.0)
    assert _recharge_mm(_sky(), town__larkmill__land__interflow_share=0.2) == pytest.approx(1.6)


def test_what_evaporates_does_not_pass():
    """Soil that is more than half full gives the air its 1 mm a day, a lawn with a coefficient of
    0.8 only 0.8: of the open land 0.8 km2 are lawn."""
    lawn = 40.0 * 20_000 / OPEN_AREA
    expected = 0.5 * ((1.0 - lawn) * 1.0 + lawn * 1.2)
    assert _recharge_mm(_sky(reference_mm=1.0)) == pytest.approx(expected, rel=1e-5)


def test_snow_waits_for_the_spring():
    """182 days of frost, then 1 degC: half falls as snow and 4 mm melt a day, 5 mm in all, which
    do not run off. Over the year it is 2 mm a day all the same, and none in the last of the frost.
    """
    mean_c = np.where(np.arange(365) < 182, -1.0, 1.0)
    assert _recharge_mm(_sky(mean_c=mean_c)) == pytest.approx(1.0, rel=1e-4)
    frost_last = np.roll(mean_c, 183)
    assert _recharge_mm(_sky(mean_c=frost_last)) == pytest.approx(1.0, rel=1e-4)
    assert _recharge_mm(_sky(mean_c=frost_last), 90) == pytest.approx(0.0, abs=1e-9)


def test_the_last_days_alone():
    """Of a year that ends with 100 dry days the last 50 bring nothing, and all of it 265 / 365."""
    rain_mm = np.where(np.arange(365) < 265, 2.0, 0.0)
    assert _recharge_mm(_sky(rain_mm)) == pytest.approx(265.0 / 365.0)
    assert _recharge_mm(_sky(rain_mm), 50) == pytest.approx(0.0, abs=1e-6)


def test_a_storm_a_day_meets_wet_soil():
    """Soil that never dries has number 23 x 74 / (10 + 0.13 x 74) = 86.75, S = 38.80 mm: of 40 mm
    run off (40 - 7.76)^2 / (40 + 31.04) = 14.63 mm, and the rest passes."""
    stays = 25_400.0 / (23.0 * 74.0 / (10.0 + 0.13 * 74.0)) - 254.0
    runs_off = (40.0 - 0.2 * stays) ** 2 / (40.0 + 0.8 * stays)
    assert _recharge_mm(_sky(40.0)) == pytest.approx(0.5 * (40.0 - runs_off))
