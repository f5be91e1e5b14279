"""What all files of a scenario hold together, and the years behind a mean, on small files."""

from __future__ import annotations

import numpy as np
import pytest
from small_scenarios import ONE_TOWN, one_town

from hydroloop.errors import InputError
from hydroloop.scenario import read_toml
from hydroloop.waterworks.file_record import file_record, record_span
from hydroloop.waterworks.forcing import season_forcing
from hydroloop.waterworks.minimum_flow import river_minimum_flows
from hydroloop.waterworks.sky import many_years
from hydroloop.weather import CLIMATES, generate_weather, season_days

BROOK = '[river.brook]\nlength = "5 km"\njoins = "wren"\ninflow = {{ file = "{}" }}\n'
WEATHER = 'seed = 3\nfile = "weather.csv"'


def day(text):
    return np.datetime64(text)


def _days(first, last):
    return np.arange(day(first), day(last) + 1)


def _weather(folder, days, rain):
    rows = [f"{when},{fell},10,20" for when, fell in zip(days, rain, strict=True)]
    text = "\n".join(["date,rain [mm],tmin [C],tmax [C]", *rows])
    (folder / "weather.csv").write_text(text + "\n")


def _flow(folder, name, times, flow):
    rows = [f"{when},{passes}" for when, passes in zip(times, flow, strict=True)]
    (folder / name).write_text("\n".join(["date,flow [m3/d]", *rows]) + "\n")


def _scenario(folder, *, brook="", weather=True, flow=True):
    text = ONE_TOWN + (BROOK.format(brook) if brook else "")
    text = text.replace("seed = 3", WEATHER) if weather else text
    text = text.replace('"3 m3/s"', '{ file = "flow.csv" }') if flow else text
    return read_toml(text, folder=folder)


@pytest.fixture
def folder(tmp_path):
    """Rain 1, 2, ... 10 mm on the first days of May, 30, 40, ... m3/d from the 3rd to the 8th, and
    by the half day from the 2nd to the 6th 1, 3, 5, ... m3/d."""
    _weather(tmp_path, _days("2031-05-01", "2031-05-10"), range(1, 11))
    _flow(tmp_path, "flow.csv", _days("2031-05-03", "2031-05-08"), range(30, 90, 10))
    halves = np.arange(day("2031-05-02T00:00"), day("2031-05-07T00:00"), np.timedelta64(12, "h"))
    _flow(tmp_path, "brook.csv", halves, range(1, 21, 2))
    return tmp_path


def test_a_record_has_the_days_that_all_files_share(folder):
    """From the 3rd to the 6th of May: rain of those days, and the inflow of both rivers, of the
    brook the means of 5 and 7, 9 and 11, ..."""
    scenario = _scenario(folder, brook="brook.csv")
    found = file_record(scenario)
    assert (str(found.first), str(found.last)) == ("2031-05-03", "2031-05-06")
    assert found.rain.tolist() == [3.0, 4.0, 5.0, 6.0]
    assert found.flow == pytest.approx([30.0 + 6.0, 40.0 + 10.0, 50.0 + 14.0, 60.0 + 18.0])
    assert found.values(True) is found.flow
    assert found.values(False) is found.rain
    assert record_span(scenario) == (day("2031-05-03"), day("2031-05-06"))


def test_a_record_of_rain_or_of_flow_alone(folder):
    """Whole, and nothing where there is no file."""
    found = file_record(_scenario(folder, flow=False))
    assert (found.rain.sum(), found.flow) == (55.0, None)
    found = file_record(_scenario(folder, weather=False))
    assert (found.rain, found.flow.sum()) == (None, 330.0)
    assert str(found.last) == "2031-05-08"
    assert file_record(_scenario(folder, weather=False, flow=False)) is None
    assert record_span(_scenario(folder, weather=False, flow=False)) is None


def test_files_must_share_a_day(folder):
    """One day is enough, none is not."""
    _flow(folder, "flow.csv", _days("2031-05-10", "2031-05-12"), range(3))
    found = file_record(_scenario(folder))
    assert (str(found.first), found.rain.tolist(), found.flow.tolist()) == ("2031-05-10", [10], [0])
    _flow(folder, "flow.csv", _days("2031-05-11", "2031-05-12"), range(2))
    with pytest.raises(InputError, match="no day in common"):
        file_record(_scenario(folder))


def test_long_run_mean_of_generated_weather():
    """Thirty years of the climate, 10,958 days, by the generator's seed of 1, whatever the
    season and its own seed."""
    scenario = one_town(weather__seed=8, season__step="6 hour")
    found = many_years(scenario, None, np.zeros((2, 4))).sky
    days = season_days("1971-01-01", "2000-12-31")
    expected = generate_weather(CLIMATES[scenario.weather.climate], days, seed=1)
    assert found.shape == (10_958, 4)
    assert found[:, 0] == pytest.approx(expected["rain_mm"])


@pytest.mark.parametrize(
    ("first", "last", "years"),
    [
        ("2001-03-01", "2004-02-29", (2001, 2004)),  # three years to the day
        ("2001-03-01", "2004-03-31", (2001, 2004)),
        ("2001-03-01", "2002-02-27", None),  # a day less than one
        ("1961-06-01", "1993-07-31", (1963, 1993)),  # thirty of thirty-two
    ],
)
def test_long_run_mean_of_files(tmp_path, first, last, years):
    """The last whole years from the first day on, thirty at most; of less than one year the days
    before the season."""
    days = _days(first, last)
    number = np.arange(float(len(days)))
    _weather(tmp_path, days, number / 1000.0)
    past = np.ones((3, 4))
    found = many_years(_scenario(tmp_path, flow=False), (days[0], days[-1]), past).sky
    if years is None:
        assert found is past
        return
    begin, end = (day(f"{year}{first[4:]}") for year in years)
    expected = number[(days >= begin) & (days < end)] / 1000.0
    assert found[:, 0] == pytest.approx(expected)


@pytest.mark.parametrize("dry", [None, {"rain_scale": "50 %", "flow_scale": "25 %"}])
def test_files_serve_the_year_before_as_they_are(tmp_path, dry):
    """A dry season takes a quarter of its own inflow and half of its rain, and nothing of the year
    before it."""
    days = _days("2030-05-01", "2031-05-31")
    number = np.arange(1.0, len(days) + 1.0)
    _weather(tmp_path, days, number / 100.0)
    _flow(tmp_path, "flow.csv", days, number)
    scenario = _scenario(tmp_path).changed(
        {"season.end": "2031-05-31", "season.run_up": "1 year", "dry_season": dry}
    )
    made, usual = season_forcing(scenario), number[365:]
    rain, flow = (1.0, 1.0) if dry is None else (0.5, 0.25)
    assert made.past.inflow["wren"] == pytest.approx(number[:365])
    assert made.past.sky[:, 0] == pytest.approx(number[:365] / 100.0)
    assert made.inflow["wren"] == pytest.approx(flow * usual)
    assert made.sky[:, 0] == pytest.approx(rain * usual / 100.0)
    assert made.usual_inflow == {"wren": pytest.approx(number[:365].mean())}


@pytest.mark.parametrize("step", ["1 day", "6 hour"])
def test_what_is_usual_in_a_dry_season(step):
    """Half the rain and a quarter of the inflow leave what is usual as it was, by the day or by the
    hour; without a run-up that is the season's own."""
    plain = one_town(season__run_up="0 day", season__step=step)
    dry = plain.changed({"dry_season.rain_scale": "50 %", "dry_season.flow_scale": "25 %"})
    usual, made = season_forcing(plain), season_forcing(dry)
    assert made.sky[:, 0] == pytest.approx(0.5 * usual.sky[:, 0])
    assert made.inflow["wren"] == pytest.approx(np.full(len(made.time), 0.25 * 3.0 * 86_400.0))
    assert made.usual_rain_mm == pytest.approx(usual.sky[:, 0].sum() / 123.0)
    assert made.usual_inflow == {"wren": 3.0 * 86_400.0}


@pytest.mark.parametrize(("latitude", "july"), [(40.0, 0.4), (0.0, 0.4), (-1.0, 0.2)])
def test_minimum_flow_by_season_turns_at_the_equator(latitude, july):
    """Of 3 m3/s two fifths in the growing season, April to September in the north, else one."""
    scenario = one_town(river__wren__minimum_flow_rule="tennant", weather__latitude=latitude)
    flow = river_minimum_flows(scenario, np.array([day("2031-07-01"), day("2031-12-01")]))
    assert flow["wren"] == pytest.approx(3 * 86_400.0 * np.array([july, 0.6 - july]))
