"""Catchments against closed forms: curves of evaporation, linear stores, drainage areas."""

from __future__ import annotations

import math

import numpy as np
import pytest
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.waterworks.drainage import area_at_end
from hydroloop.waterworks.land import groundwater_flows
from hydroloop.waterworks.lateral import lateral_area, lateral_ratio, own_area
from hydroloop.waterworks.linear_store import drained, streams_outflow
from hydroloop.weather import (
    baseflow_index,
    budyko_evaporation,
    curve_number_at,
    flashiness,
    turc_pike_evaporation,
)


def test_curves_of_evaporation_keep_to_their_limits():
    """A wet catchment evaporates what the air can take, a dry one all its rain; at aridity 1 the
    curve of Turc and Pike is 1 / sqrt(2), Budyko's sqrt(tanh(1) (1 - 1 / e))."""
    for curve in (budyko_evaporation, turc_pike_evaporation):
        assert curve(1e6, 500.0) == pytest.approx(500.0, rel=2e-3)
        assert curve(100.0, 1e6) == pytest.approx(100.0, rel=1e-4)
    assert turc_pike_evaporation(1.0, 1.0) == pytest.approx(1.0 / math.sqrt(2.0))
    assert budyko_evaporation(1.0, 1.0) == pytest.approx(
        math.sqrt(math.tanh(1.0) * (1.0 - math.exp(-1.0)))
    )


@pytest.mark.parametrize(
    ("aridity", "budyko", "turc_pike"),
    [(0.5, 0.4355, 0.4472), (1.0, 0.6938, 0.7071), (2.0, 0.8940, 0.8944)],
)
def test_curves_of_evaporation_at_three_aridities(aridity, budyko, turc_pike):
    """With a the aridity: (a tanh(1/a) (1 - e^-a))^0.5 and (1 + a^-2)^-0.5, worked out to four
    places."""
    assert budyko_evaporation(1.0, aridity) == pytest.approx(budyko, abs=5e-5)
    assert turc_pike_evaporation(1.0, aridity) == pytest.approx(turc_pike, abs=5e-5)


@pytest.mark.parametrize(
    ("number", "dry", "wet"),
    [
        (90.0, 79.1, 95.4),
        (80.0, 62.7, 90.2),
        (70.0, 49.5, 84.3),
        (60.0, 38.7, 77.5),
        (50.0, 29.6, 69.7),
        (40.0, 21.9, 60.5),
    ],
)
def test_curve_numbers_of_dry_and_wet_ground(number, dry, wet):
    """4.2 CN / (10 - 0.058 CN) and 23 CN / (10 + 0.13 CN), worked out to one place."""
    assert curve_number_at(0.0, number) == pytest.approx(dry, abs=0.051)
    assert curve_number_at(0.5, number) == number
    assert curve_number_at(1.0, number) == pytest.approx(wet, abs=0.051)


def test_curve_numbers_meet_and_never_jump():
    """The wetter the higher; 100 stays 100; a little water changes the number a little."""
    for number in (40.0, 74.0, 98.0):
        by_water = [curve_number_at(w, number) for w in np.linspace(0.0, 1.0, 1001)]
        assert 0.0 < np.diff(by_water).min() <= np.diff(by_water).max() < 0.1
    assert curve_number_at(0.0, 100.0) == pytest.approx(100.0) == curve_number_at(1.0, 100.0)


def test_streams_fill_as_a_linear_store_at_any_step():
    """From empty, after one, two and three time constants the outflow is 1 - e^-n of the inflow,
    whatever the step."""
    for step in (1.0 / 24.0, 1.0, 7.5):
        held, time = 0.0, 0.0
        while time < 60.0 * 3.0 - 1e-9:
            held += step * (1.0 - streams_outflow(held, 1.0, 60.0, step))
            time += step
        assert held / 60.0 == pytest.approx(1.0 - math.exp(-3.0), rel=1e-9)


def test_groundwater_at_rest_holds_its_recharge_times_its_time():
    """Recharge R held against drainage: V (1 - e^(-1/k)) = R, near R k for a long recession."""
    held = 0.0
    for _ in range(3000):
        held += 1.0 - drained(held, 60.0, 1.0)
    assert held == pytest.approx(1.0 / (1.0 - math.exp(-1.0 / 60.0)), rel=1e-9)
    assert held == pytest.approx(60.0, rel=0.01)


def test_sewers_get_their_mean_at_the_mean_water_table():
    """At rest under a recharge R, with V_mean = k (R - I), sewers get I and the river R - I."""
    recession, recharge, infiltration = 90.0, 10.0, 4.0
    sewers = infiltration, recession * (recharge - infiltration)
    held, step = 100.0, 1.0 / 24.0
    for _ in range(24 * 900):
        baseflow, share = groundwater_flows(held, recession, sewers, step)
        held += step * (recharge - baseflow - share * infiltration)
    assert share == pytest.approx(1.0, rel=1e-3)
    assert baseflow == pytest.approx(recharge - infiltration, rel=1e-3)


def test_flashiness_and_baseflow_of_plain_hydrographs():
    """A recession by r a day has flashiness (1 - r) / r; a river that never changes is baseflow."""
    assert flashiness(0.9 ** np.arange(400)) == pytest.approx(0.1 / 0.9)
    assert baseflow_index(np.full(100, 3.0)) == 1.0
    assert 0.4 < baseflow_index(np.tile([1.0, 1.0, 1.0, 1.0, 9.0, 2.0], 60)) < 0.6


def test_area_grows_with_length_as_hack_says():
    """Twice the length from the divide is 2^(1 / 0.6) times the area."""
    miles = 1.4 * 100.0**0.6
    area = 100.0 * 1.609344**2
    assert area_at_end(area, miles * 1.609344) == pytest.approx(area * 2.0 ** (1.0 / 0.6))


def lateral(record) -> np.ndarray:
    """What joins along the river [m3/d]."""
    return record["rate"].isel(flow=record["kind"].values == "lateral").sum("flow").values


def test_lateral_inflow_follows_area_or_gauge():
    """A gauged river whose drainage area grows by a half, less its towns' land, gains as much; one
    flow given is spread over its length; a river without either gains nothing."""
    plain = hl.read_scenario("first_town").changed({"season.end": "2031-04-10"})
    assert not (hl.simulate(plain)["kind"].values == "lateral").any()
    grown = hl.simulate(
        plain.changed({"river.wren.catchment": "200 km2", "river.wren.catchment_at_end": "300 km2"})
    )
    head = grown["rate"].isel(flow=grown["kind"].values == "upstream").sum("flow").values
    towns = (24_000 + 9_000) / 1500.0
    np.testing.assert_allclose(lateral(grown), (100.0 - towns) / 200.0 * head, rtol=1e-9)
    given = hl.simulate(plain.changed({"river.wren.lateral_inflow": "0.5 m3/s"}))
    np.testing.assert_allclose(lateral(given), 0.5 * 86_400.0, rtol=1e-9)


def test_land_of_its_own_is_what_others_leave():
    """Of 30 km2 over the near aquifer a town of 15,000 people at 1,500 to a square kilometre takes
    10, of the 8 over the far one nobody any. Of the 90 km2 that the catchment grows by, the town
    and both aquifers' own land drain by themselves: 90 - 10 - 20 - 8 = 52, over the 60 above."""
    ground = '[aquifer.{}]\narea = "{} km2"\nriver = "wren"\nat = "20 km"\n'
    scenario = one_town(
        ground.format("near", 30) + ground.format("far", 8),
        town__larkmill__people=15_000,
        town__larkmill__land__aquifer="near",
        river__wren__catchment="60 km2",
        river__wren__catchment_at_end="150 km2",
    )
    areas = [own_area(scenario, name) for name in ("near", "far")]
    assert areas == pytest.approx([20.0, 8.0])
    assert lateral_area(scenario, "wren") == pytest.approx(52.0)
    assert lateral_ratio(scenario, "wren") == pytest.approx(52.0 / 60.0)


def test_a_shared_aquifer_has_soil_of_its_own():
    """Open land over an aquifer recharges it: with 420 km2 far more than with next to none."""
    plain = hl.read_scenario("five_towns").changed({"season.end": "2031-06-30"})

    def recharge(area: str) -> float:
        record = hl.simulate(plain.changed({"aquifer.plain.area": area}))
        into = record["target"].values == "plain/groundwater"
        into &= record["kind"].values == "recharge"
        return float(record["rate"].isel(flow=into).sum())

    assert recharge("500 km2") > 5.0 * recharge("82 km2")
