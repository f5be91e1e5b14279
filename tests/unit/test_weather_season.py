"""A season's weather from a file or the generator, on any steps."""

from __future__ import annotations

import datetime as dt
import time

import numpy as np
import pytest

from hydroloop.errors import AskError, InputError, TableError
from hydroloop.weather import weather_for
from hydroloop.weather.reference import HARGREAVES_SAMANI, PENMAN, PENMAN_MONTEITH

PLACE = {"latitude_deg": 47.0, "elevation_m": 100.0}


@pytest.fixture
def hourly(tmp_path):
    """Two days by the hour: rain from 6 to 8 h, temperature rising with the hour."""
    path = tmp_path / "hours.csv"
    rows = ["date,rain [mm],temperature [C]"]
    for hour in range(48):
        when = dt.datetime(2031, 5, 1) + dt.timedelta(hours=hour)
        rows.append(f"{when:%Y-%m-%d %H:%M},{3 if hour in (6, 7) else 0},{hour % 24}")
    path.write_text("\n".join(rows))
    return path


def test_what_comes_with_a_season():
    """Six columns with units, and where they come from in words."""
    weather = weather_for("2031-12-30", "2032-03-01", 1.0, seed=7, **PLACE)
    assert set(weather.data_vars) == {
        "rain_mm",
        "tmin_c",
        "tmax_c",
        "tmean_c",
        "et0_mm",
        "open_water_mm",
    }
    assert weather.sizes["time"] == 2 + 31 + 29 + 1
    assert "2032-02-29" in weather["time"].values.astype("datetime64[D]").astype(str)
    assert all(v.attrs["units"] and v.attrs["long_name"] for v in weather.data_vars.values())
    assert weather.attrs["source"] == "generated, seed 7, climate wet_winter"
    assert weather.attrs["et0_method"] == HARGREAVES_SAMANI


@pytest.mark.parametrize(
    "day",
    ["2031-05-01", dt.date(2031, 5, 1), dt.datetime(2031, 5, 1, 9), np.datetime64("2031-05-01")],
)
def test_dates_of_any_kind(day):
    """Text, dates and numpy's dates all do."""
    assert weather_for(day, day, 1.0, **PLACE).sizes["time"] == 1


def test_another_seed_is_another_weather():
    """Seeds differ, and the climate named is the one drawn from."""
    one, two = (weather_for("2031-01-01", "2031-12-31", 1.0, seed=s, **PLACE) for s in (1, 2))
    assert (one["rain_mm"].values != two["rain_mm"].values).any()
    dry = weather_for("2031-01-01", "2031-12-31", 1.0, climate="dry_plateau", **PLACE)
    assert dry["rain_mm"].sum() < 0.5 * one["rain_mm"].sum()


def test_the_south_has_its_winter_in_july():
    """Below the equator the climates are turned by half a year, and the source says so."""
    south = weather_for("2001-01-01", "2010-12-31", 1.0, latitude_deg=-40, elevation_m=10)
    months = south["tmean_c"].groupby("time.month").mean()
    assert months.sel(month=1) > months.sel(month=7) + 5
    rain = south["rain_mm"].groupby("time.month").sum()
    assert rain.sel(month=7) > rain.sel(month=1)
    assert "turned by half a year" in south.attrs["source"]


def test_what_ifs_change_rain_and_warmth():
    """Rain by a factor, temperatures by degrees, evaporation with them; the source says so."""
    plain = weather_for("2031-06-01", "2031-08-31", 1.0, **PLACE)
    changed = weather_for("2031-06-01", "2031-08-31", 1.0, rain_scale=0.5, warmer_by_c=2.0, **PLACE)
    assert np.allclose(changed["rain_mm"], 0.5 * plain["rain_mm"])
    assert np.allclose(changed["tmax_c"], plain["tmax_c"] + 2.0)
    assert (changed["et0_mm"] > plain["et0_mm"]).all()
    assert changed.attrs["source"].endswith("rain times 0.5, warmer by 2 C")


def test_hourly_records_keep_their_hours(hourly):
    """Rain and temperature measured by the hour are used as they are, on hours."""
    weather = weather_for("2031-05-01", "2031-05-02", 1 / 24, file=hourly, **PLACE)
    assert weather["rain_mm"].values[6:8].tolist() == [3.0, 3.0]
    assert weather["rain_mm"].sum() == 6.0
    assert weather["tmean_c"].values[:24].tolist() == list(range(24))
    assert weather.attrs["source"] == "file hours.csv"


def test_hourly_records_on_other_steps(hourly):
    """Days add the hours up, and take the lowest, the highest and the mean."""
    days = weather_for("2031-05-01", "2031-05-02", 1.0, file=hourly, **PLACE)
    assert days["rain_mm"].values.tolist() == [6.0, 0.0]
    assert (days["tmin_c"][0], days["tmax_c"][0], days["tmean_c"][0]) == (0.0, 23.0, 11.5)
    quarters = weather_for("2031-05-01", "2031-05-02", 0.25, file=hourly, **PLACE)
    assert quarters["rain_mm"].values[:4].tolist() == [0.0, 6.0, 0.0, 0.0]
    assert np.isclose(quarters["et0_mm"].sum(), days["et0_mm"].sum())


def test_penman_where_the_file_allows_it(tmp_path):
    """With humidity, wind and radiation in the file both Penman equations are used."""
    path = tmp_path / "full.csv"
    path.write_text(
        "date,rain [mm],tmin [C],tmax [C],humidity [%],wind [m/s],radiation [W/m2]\n"
        "2031-06-01,0,12,25,60,2,260\n"
    )
    weather = weather_for("2031-06-01", "2031-06-01", 1.0, file=path, **PLACE)
    assert weather.attrs["et0_method"] == PENMAN_MONTEITH
    assert weather.attrs["open_water_method"] == PENMAN
    assert weather["open_water_mm"][0] > weather["et0_mm"][0] > 2.0


def test_wind_of_the_place_stands_in(tmp_path):
    """A file without wind uses the wind that is given; without any, temperature must do."""
    path = tmp_path / "still.csv"
    path.write_text(
        "date,rain [mm],tmin [C],tmax [C],humidity [%],sunshine [h]\n2031-06-01,0,12,25,60,9\n"
    )
    ask = ("2031-06-01", "2031-06-01", 1.0)
    windy = weather_for(*ask, file=path, wind_m_per_s=2.0, **PLACE)
    assert windy.attrs["et0_method"] == PENMAN_MONTEITH
    assert weather_for(*ask, file=path, **PLACE).attrs["et0_method"] == HARGREAVES_SAMANI


def test_a_file_that_does_not_reach(hourly):
    """The season asked for and the span of the file stand in the message."""
    with pytest.raises(TableError, match="2031-05-01 to 2031-05-02, but 2031-05-01 to 2031-06-01"):
        weather_for("2031-05-01", "2031-06-01", 1.0, file=hourly, **PLACE)


@pytest.mark.parametrize(
    ("changed", "words"),
    [
        ({"end": "2031-04-30"}, "ends .* before it starts"),
        ({"end": "soon"}, 'end "soon" is not a date'),
        ({"end": "2031-02-30"}, "is not a date"),
        ({"step_days": 0.3}, "does not divide a day"),
        ({"step_days": 2.0}, "does not divide a day"),
        ({"step_days": 0.0}, "does not divide a day"),
        ({"step_days": -1.0}, "does not divide a day"),
        ({"seed": -1}, "not a whole number from 0 up"),
        ({"seed": 1.5}, "not a whole number from 0 up"),
        ({"latitude_deg": 91.0}, "latitude: 91 is out of bounds"),
        ({"elevation_m": float("nan")}, "elevation: nan is out of bounds"),
        ({"rain_scale": -1.0}, "rain_scale: -1 is out of bounds"),
        ({"wind_m_per_s": -1.0}, "wind: -1 is out of bounds"),
    ],
)
def test_what_cannot_be_is_refused(changed, words):
    """Each wrong argument has one message."""
    asked = {"start": "2031-05-01", "end": "2031-05-31", "step_days": 1.0, **PLACE} | changed
    with pytest.raises(InputError, match=words):
        weather_for(**asked)


def test_an_unknown_climate_offers_the_nearest():
    """A typing error in the climate's name is asked about."""
    with pytest.raises(AskError, match='Did you mean "wet_winter"'):
        weather_for("2031-05-01", "2031-05-31", 1.0, climate="wet_wintr", **PLACE)


def test_speed_of_a_season_and_of_thirty_years():
    """A season of days takes under 20 ms and thirty years under half a second (best of three)."""

    def seconds(end):
        took = []
        for _ in range(3):
            start = time.perf_counter()
            weather_for("2001-01-01", end, 1.0, **PLACE)
            took.append(time.perf_counter() - start)
        return min(took)

    assert seconds("2001-12-31") < 0.020
    assert seconds("2030-12-31") < 0.5
