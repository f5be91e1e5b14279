"""What comes before a season: which days serve it, what it may not change, how to turn it off."""

from __future__ import annotations

import numpy as np
import pytest
from file_years import five_towns_again, steady_catchment
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.waterworks.members import SharedForcing, run_members
from hydroloop.weather.earlier import days_before, served_by_record

DAM = """
[reservoir.mere]
river = "wren"
at = "5 km"
capacity = "400 ML"
area = "0.3 km2"
"""


def day(text):
    return np.datetime64(text)


@pytest.mark.parametrize(
    ("first", "last"),
    [
        ("2031-05-01", "2031-09-30"),
        ("2030-11-01", "2031-06-30"),
        ("2032-02-29", "2032-02-29"),
        ("2031-01-01", "2031-12-31"),
        ("2029-03-01", "2035-06-30"),
    ],
)
@pytest.mark.parametrize("start", ["2030-03-07", "2031-07-01", "2044-02-29"])
def test_every_day_is_served(first, last, start):
    """Whatever the record, each day before the season has a day of it, its own if it can."""
    days = days_before(day(start), 7)
    served = served_by_record(days, day(first), day(last))
    assert served.min() >= day(first)
    assert served.max() <= day(last)
    inside = (days >= day(first)) & (days <= day(last))
    assert (served[inside] == days[inside]).all()


def test_whole_years_come_in_their_order():
    """Before a record of three years come its last year, the one before, and so on."""
    days = days_before(day("2031-01-01"), 3)
    served = served_by_record(days, day("2031-01-01"), day("2033-12-31"))
    assert served[[0, -1]].astype(str).tolist() == ["2031-01-01", "2033-12-31"]


def test_half_a_year_is_not_repeated_as_a_year():
    """A winter's record serves the summer before it with its own ends, not with its winter."""
    served = served_by_record(
        days_before(day("2030-11-01"), 1), day("2030-11-01"), day("2031-04-30")
    )
    months = served.astype("datetime64[M]").astype(int) % 12 + 1
    assert set(months[181:]) == {4, 11}  # from May to October
    assert len(served) == 365


def test_a_given_level_wins():
    """Levels of the first day that the scenario gives are those of the record."""
    record = hl.simulate(
        one_town(
            DAM,
            reservoir__mere__start="37 %",
            town__larkmill__tanks__start="55 %",
            town__larkmill__land__soil_start="10 %",
            town__larkmill__land__snow_start="25 mm",
            town__larkmill__yards__soil_start="90 %",
        )
    )
    first = record["volume"].isel(edge=0)
    assert float(first.sel(store="mere/reservoir")) == pytest.approx(0.37 * 400_000.0)
    area = 20_000 / 1500.0 * 1e6
    soil = (1.0 - 0.38) * area - 40.0 * 20_000
    assert float(first.sel(store="larkmill/soil")) == pytest.approx(0.1 * 0.120 * soil)
    assert float(first.sel(store="larkmill/snow")) == pytest.approx(0.025 * area)
    assert float(first.sel(store="larkmill/yards")) == pytest.approx(0.9 * 0.060 * 40.0 * 20_000)


def test_without_a_run_up_stores_begin_at_first_guesses():
    """Soil half full, a reservoir at 80 %: what the keys say."""
    first = hl.simulate(one_town(DAM, season__run_up="0 day"))["volume"].isel(edge=0)
    assert float(first.sel(store="mere/reservoir")) == pytest.approx(0.8 * 400_000.0)
    assert float(first.sel(store="larkmill/yards")) == pytest.approx(0.5 * 0.060 * 40.0 * 20_000)


def test_a_dry_season_begins_from_a_usual_past():
    """The first day of a drought is that of the same season without it."""
    usual = one_town(DAM)
    dry = usual.changed({"dry_season.rain_scale": "30 %", "dry_season.warmer_by": 3})
    worst = usual.changed({"dry_season.method": "driest_year"})
    first = [hl.simulate(one)["volume"].isel(edge=0).values for one in (usual, dry, worst)]
    assert (first[0] == first[1]).all()
    assert (first[0] == first[2]).all()


def test_a_drier_climate_has_a_drier_past():
    """Less rain by weather.rain_scale holds for the years before, too."""
    drier = one_town(weather__rain_scale=0.6)
    held = [
        float(hl.simulate(one)["volume"].sel(store="larkmill/groundwater")[0])
        for one in (drier, one_town())
    ]
    assert held[0] < held[1]


def test_a_gap_long_before_the_season_is_no_error(tmp_path):
    """Where earlier rows have a gap, the season's own days are all that counts of the file."""
    scenario = five_towns_again(tmp_path, 3).changed({"season.start": "2033-01-01"})
    path = tmp_path / "five_towns_weather.csv"
    rows = path.read_text().splitlines()
    path.write_text("\n".join([*rows[:100], *rows[130:]]) + "\n")
    record = hl.simulate(scenario)
    assert "from the files" not in record.attrs["weather_run_up"]


def test_wells_that_empty_an_aquifer_begin_at_its_storage():
    """Where no level holds, groundwater begins as full as the key says, and falls."""
    thirsty = one_town(
        town__larkmill__wells={"capacity": "40 ML/day"},
        town__larkmill__intake=None,
        town__larkmill__people=60_000,
        weather__climate="dry_plateau",
        town__larkmill__land__area="4 km2",
        town__larkmill__sewers__infiltration="0 gal/person/day",
    )
    held = hl.simulate(thirsty)["volume"].sel(store="larkmill/groundwater").values
    assert held[0] == pytest.approx(1.5 * 4e6)
    assert held[-1] < 0.8 * held[0]


def test_members_share_what_is_the_same():
    """Members that differ in nothing before the season step through it once; the rest by itself."""
    usual, shared = one_town(DAM), SharedForcing()
    dry = [usual.changed({"dry_season.rain_scale": f"{scale} %"}) for scale in (100, 60, 30)]
    more = usual.changed({"town.larkmill.people": 40_000})
    members = list(run_members([usual, *dry, more], forcing=shared))
    past = members[0].forcings[0].past
    assert all(forcing.past is past for group in members for forcing in group.forcings)
    # The soil, which is alike; the land, and all of the works, of the town and of the larger one.
    # The soil, which is alike; of the town and of the larger one the land, drawn up and stepped
    # through, and all of the works.
    assert len(past.known) == 7
    for group in members:
        for number, volume in zip(group.numbers, np.moveaxis(group.volume, -1, 0), strict=True):
            alone = hl.simulate([usual, *dry, more][number])["volume"].values
            assert np.array_equal(volume, alone)


def test_steps_shorter_than_a_day_have_a_past(tmp_path):
    """By the hour a season begins with the soil and ground that it has by the day."""
    days = steady_catchment(tmp_path, "2031-06-01", "2031-06-03")
    hours = days.changed({"season.step": "1 hour", "season.run_up": "1 year"})
    first = [hl.simulate(one)["volume"].isel(edge=0) for one in (days, hours)]
    for store in ("wren/soil", "wren/groundwater", "larkmill/groundwater"):
        daily, hourly = (float(one.sel(store=store)) for one in first)
        assert hourly == pytest.approx(daily, rel=0.05)


def test_members_share_the_land_whatever_people_use():
    """What homes use and mains leak does not change the land by itself: it steps through once."""
    usual, shared = one_town(DAM), SharedForcing()
    leaky = usual.changed(
        {
            "town.larkmill.mains.real_losses": "30 %",
            "town.larkmill.homes.use_per_person": "90 gal/person/day",
        }
    )
    (members,) = run_members([usual, leaky], forcing=shared)
    # The soil of the last year, and the land, drawn up and stepped through, once; and all of the
    # works of each.
    assert len(members.forcings[0].past.known) == 5
