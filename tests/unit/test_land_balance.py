"""The balance of the land in depth: it closes, and tells of storage that no weather explains."""

from __future__ import annotations

import numpy as np
import pytest
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.measures import LAND_TERMS, land_balance, run_of
from hydroloop.outputs.run.land import land_sentences
from hydroloop.outputs.run.result import Result

CATCHMENT = {
    "river__wren__inflow": None,
    "river__wren__catchment": "120 km2",
    "river__wren__catchment_at_end": "120 km2",
}
YEAR = {"season__start": "2031-01-01", "season__end": "2031-12-31"}


def told(scenario):
    record = hl.simulate(scenario)
    return " ".join(land_sentences(Result(scenario, record, hl.measures(record, scenario))))


def test_it_closes_in_every_place():
    """What falls and is watered evaporates, runs off, seeps or stays; so with the ground."""
    land, table = land_balance(run_of(hl.simulate(one_town(**CATCHMENT))))
    assert set(land) == {"wren", "larkmill"}
    for terms in table[..., 0]:
        (rain, watering, evaporation, runoff, recharge, soil, leaks, baseflow, taken, ground) = (
            terms
        )
        assert rain + watering == pytest.approx(evaporation + runoff + recharge + soil, abs=1e-9)
        assert recharge + leaks == pytest.approx(baseflow + taken + ground, abs=1e-9)


def test_rain_is_that_of_the_sky():
    """The depth of rain is the sum of the weather's."""
    record = hl.simulate(one_town(**CATCHMENT))
    _, depth = land_balance(run_of(record))
    assert depth[:, LAND_TERMS.index("rain")] == pytest.approx(float(record["rain_mm"].sum()))


def test_a_run_up_leaves_nothing_to_explain():
    """A year's season after a run-up says where its levels come from, and no more."""
    words = told(one_town(**CATCHMENT, **YEAR))
    assert words == "Before the first day: 5 years of generated weather."


def test_storage_that_no_weather_explains_is_told():
    """An invented level that falls all year is named, with what made it."""
    high = one_town(river__wren__baseflow="20 m3/s", **CATCHMENT, **YEAR)
    words = told(high)
    assert "The land of Wren loses" in words
    assert "levels given" in words
    assert "Larkmill" not in words
    words = told(high.changed({"season.run_up": "0 day"}))
    assert "The land of Wren loses" in words
    assert "guesses" in words


def test_members_have_a_balance_each():
    """With members there is one column for each, and it closes too."""
    scenario = one_town(town__larkmill__mains__real_losses="8 % to 20 %")
    _, table = land_balance(run_of(hl.simulate(scenario, members=3)))
    assert table.shape[2] == 3
    total = table[:, :2].sum(axis=1) - table[:, 2:6].sum(axis=1)
    assert np.abs(total).max() < 1e-9


def test_a_record_without_weather_has_none():
    """A record from tables says nothing of rain, and has no balance of land."""
    record = hl.simulate(one_town()).drop_vars("rain_mm")
    assert land_balance(run_of(record))[0] == []
    assert "land_balance" not in hl.measures(record)


def test_a_shared_aquifer_stands_for_all_the_land_over_it():
    """Its row holds its towns' land too: its watering is no deeper than theirs, and it closes."""
    land, table = land_balance(run_of(hl.simulate(hl.read_scenario("five_towns"))))
    plain = land.index("plain")
    (rain, watering, evaporation, runoff, recharge, soil, leaks, baseflow, taken, ground) = table[
        plain, :, 0
    ]
    assert 0.0 < watering < np.delete(table[:, LAND_TERMS.index("watering"), 0], plain).max()
    assert rain + watering == pytest.approx(evaporation + runoff + recharge + soil, abs=1e-9)
    assert recharge + leaks == pytest.approx(baseflow + taken + ground, abs=1e-9)
    # Its towns have no ground of their own: no zero stands for leaks that are told there.
    over = [land.index(town) for town in ("tamberly", "osselby")]
    of_ground = LAND_TERMS.index("leaks and reuse")
    assert np.isnan(table[over, of_ground:]).all()
    assert np.isfinite(table[over, :of_ground]).all()
    assert np.isfinite(np.delete(table, over, axis=0)).all()
