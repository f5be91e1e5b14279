"""What a season comes to does not hang on the day it begins, nor on how often its year is run."""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes
from file_years import five_towns_again

import hydroloop as hl


def mean_of(record, kind, steps=slice(None)):
    """Mean of all flows of a kind [m3/d]."""
    rates = record["rate"].values[steps][:, (record["kind"] == kind).values]
    return float(rates.sum(axis=1).mean())


@pytest.mark.parametrize("years", [2, 3, 6])
def test_the_same_year_after_itself(tmp_path, years):
    """A year after itself leaves used shares within 1 %, ground within 2 %, and transit times and
    the share that goes through the ground within 3 % of one year's."""
    (tmp_path / "one").mkdir()
    (tmp_path / "more").mkdir()
    made = [five_towns_again(tmp_path / "one", 1), five_towns_again(tmp_path / "more", years)]
    one, more = (hl.simulate(scenario) for scenario in made)
    assert_closes(more)
    tables = [
        hl.measures(record, scenario) for record, scenario in zip((one, more), made, strict=True)
    ]
    for name, near in (
        ("season_used_share", 0.01),
        ("intake_to_outfall_time", 0.03),
        ("intake_to_outfall_ground", 0.03),
    ):
        long, short = (table[name].values for table in reversed(tables))
        assert long == pytest.approx(short, rel=near, abs=1e-9), name
    for year in range(years):
        steps = slice(365 * year, 365 * (year + 1))
        for kind in ("baseflow", "infiltration"):
            assert mean_of(more, kind, steps) == pytest.approx(mean_of(one, kind), rel=0.02)


def test_a_settled_year_gains_nothing(tmp_path):
    """What all stores of a year gain is little beside what passes them."""
    record = hl.simulate(five_towns_again(tmp_path, 1))
    volume = record["volume"].sum("store")
    passed = 365.0 * mean_of(record, "rain")
    assert abs(float(volume[-1] - volume[0])) < 0.002 * passed


@pytest.mark.parametrize("climate", ["wet_winter", "rain_all_year", "dry_plateau"])
@pytest.mark.parametrize("start", ["2031-01-01", "2031-04-01", "2031-07-01", "2031-10-01"])
def test_half_a_year_alone_or_at_the_end_of_five(start, climate):
    """Half a year alone has the ground of the last half of five years of the same weather."""
    first = np.datetime64(start)
    end = str((first.astype("datetime64[M]") + 6).astype("datetime64[D]") - 1)
    alone = hl.read_scenario("first_town").changed(
        {"season.start": start, "season.end": end, "weather.climate": climate}
    )
    five = alone.changed({"season.start": f"{int(end[:4]) - 5}{end[4:]}"})
    half, whole = hl.simulate(alone), hl.simulate(five)
    last = slice(-half.sizes["time"], None)
    assert np.array_equal(half["rain_mm"], whole["rain_mm"][last])
    for kind in ("recharge", "stormwater", "interflow", "baseflow", "infiltration"):
        assert mean_of(half, kind) == pytest.approx(mean_of(whole, kind, last), rel=0.03), kind
    shares = [
        hl.measures(record, alone)["used_share"].isel(time=last).mean("time").values
        for record in (half, whole)
    ]
    assert shares[0] == pytest.approx(shares[1], rel=0.03)


@pytest.mark.parametrize("climate", ["wet_winter", "rain_all_year", "dry_plateau"])
def test_sewers_get_what_is_asked_in_the_mean_of_many_years(climate):
    """Over the thirty years that stand for a climate infiltration is what its key says."""
    asked = {"wet_winter": 35.0, "rain_all_year": 25.0, "dry_plateau": 12.0}[climate]
    scenario = hl.read_scenario("first_town").changed(
        {
            "season.start": "1971-01-01",
            "season.end": "2000-12-31",
            "weather.climate": climate,
            "town.*.sewers.infiltration": f"{asked} gal/person/day",
            "season.run_up": "3 years",
        }
    )
    record = hl.simulate(scenario)
    people = sum(town.people for town in scenario.town.values())
    per_person = mean_of(record, "infiltration") / people / 0.003785411784
    assert per_person == pytest.approx(asked, rel=0.03)
