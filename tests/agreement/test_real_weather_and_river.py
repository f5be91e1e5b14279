"""Real weather and a real river through the whole main job, and statistics that two routes give.

Weather: Seattle-Tacoma, station USW00024233, 2012-2015, from NOAA, as the package vega-datasets
0.9.0 ships it. River: North Fork Shenandoah near Strasburg, USGS 01634000, daily mean flow in
ft3/s, in tests/data. They lie on two sides of a continent: the pair is a test of the reading and
of the account, no picture of a place. The town is invented.

The statistics were worked out from the same files by another route; they show that the files are
read right and are no published results.
"""

from __future__ import annotations

import shutil
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest
from conserves import assert_closes

import hydroloop as hl
from hydroloop.weather import read_flow, read_weather

DATA = Path(__file__).resolve().parents[1] / "data"
CFS = 0.3048**3 * 86_400.0  # m3/d in a cubic foot a second

SCENARIO = """
title = "An invented town on a real river, under the weather of a third place"
[season]
start = 2012-01-01
end = 2015-12-31
[weather]
file = "weather.csv"
latitude = "47.4 N"
elevation = "130 m"
[river.strand]
length = "60 km"
inflow = { file = "north_fork_shenandoah.csv", column = "USGS 01634000" }
minimum_flow = "20 cfs"
[town.fernholt]
people = 60_000
intake = { river = "strand", at = "10 km" }
outfall = { river = "strand", at = "14 km" }
[town.osmere]
people = 35_000
intake = { river = "strand", at = "35 km" }
outfall = { river = "strand", at = "40 km" }
"""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Scenario, weather with units in its heading, and river flow, side by side."""
    place = tmp_path_factory.mktemp("real")
    package = find_spec("vega_datasets")
    assert package is not None
    assert package.submodule_search_locations
    source = Path(package.submodule_search_locations[0]) / "_data" / "seattle-weather.csv"
    lines = source.read_text(encoding="utf-8").splitlines()
    assert lines[0] == "date,precipitation,temp_max,temp_min,wind,weather"
    lines[0] = "date,rain [mm],tmax [C],tmin [C],wind [m/s],weather"
    (place / "weather.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    shutil.copy(DATA / "north_fork_shenandoah.csv", place)
    (place / "strand.toml").write_text(SCENARIO, encoding="utf-8")
    return place


@pytest.fixture(scope="module")
def record(folder: Path):
    """The four years run once."""
    return hl.simulate(hl.read_scenario(folder / "strand.toml"))


def test_weather_is_read_right(folder: Path):
    """Rain by year, wet days, greatest day and mean of daily lows agree with another reading."""
    weather = read_weather(folder / "weather.csv")
    rain = weather["rain_mm"].to_series()
    years = rain.groupby(rain.index.year)
    assert len(rain) == 1461
    assert years.sum().round(1).tolist() == [1226.0, 828.0, 1232.8, 1139.2]
    assert (rain > 0).groupby(rain.index.year).sum().tolist() == [177, 152, 150, 144]
    assert years.max().round(1).tolist() == [54.1, 43.4, 46.7, 55.9]
    assert float(weather["tmin_c"].mean()) == pytest.approx(8.2348, abs=5e-5)


def test_river_is_read_right(folder: Path):
    """Mean, least, greatest and yearly means of the Strasburg gauge agree with another reading."""
    flow = read_flow(folder / "north_fork_shenandoah.csv", column="USGS 01634000")["flow"] / CFS
    assert len(flow) == 3654
    assert float(flow.mean()) == pytest.approx(582.52, abs=0.005)
    assert float(flow.min()) == pytest.approx(49.6, abs=0.05)
    assert float(flow.max()) == pytest.approx(14_800, abs=0.5)
    years = flow.to_series().groupby(flow["time"].dt.year.values).mean().loc[2008:2017]
    assert years.round(2).tolist() == [
        411.75,
        477.66,
        648.39,
        851.43,
        468.37,
        765.55,
        667.93,
        574.63,
        600.19,
        361.36,
    ]


def test_upstream_gauge_is_read_right(folder: Path):
    """Mean, least and greatest flow of the Cootes Store gauge agree with another reading."""
    flow = read_flow(folder / "north_fork_shenandoah.csv", column="USGS 01632000")["flow"] / CFS
    assert float(flow.mean()) == pytest.approx(188.64, abs=0.005)
    assert float(flow.min()) == pytest.approx(0.31, abs=0.005)
    assert float(flow.max()) == pytest.approx(9_140, abs=0.5)


def test_account_of_four_real_years_closes(record):
    """Every store closes on every one of 1,461 days, and rain and flow enter as they were read."""
    assert_closes(record)
    assert record.sizes["time"] == 1461
    rain = 1226.0 + 828.0 + 1232.8 + 1139.2
    assert float(record["rain_mm"].sum()) == pytest.approx(rain, abs=0.2)
    head = record["rate"].isel(flow=record["kind"].values == "upstream").sum("flow") / CFS
    by_year = head.groupby("time.year").mean()
    assert by_year.values.round(2).tolist() == [468.37, 765.55, 667.93, 574.63]


def test_forward_and_backward_agree_on_a_real_day(record):
    """Share used before, counted forward, is the sum of the last-use shares, looked up backward."""
    day = "2014-09-20"
    forward = hl.count_uses(record, most=6, warm_up="none")
    step = int(np.flatnonzero(record["time"].values == np.datetime64(day))[0])
    share = forward["share"].sel(store="osmere/mains").isel(edge=step + 1)
    ago = hl.last_use(record, at="osmere/mains", on=day)
    assert float(share.isel(use=slice(1, None)).sum()) == pytest.approx(
        float(ago["share"].sum()), abs=1e-12
    )
    assert float(share.isel(use=slice(1, None)).sum()) > 0.001


def test_used_water_arrives_at_the_next_intake(record):
    """What the upper town's homes send off passes the lower town's intake as used water.

    Over four years the used water that flows into the lower intake's reach is the sewage of the
    upper homes, less what left with sludge, evaporated on the way or is still on it: some percent.
    """
    labels = hl.count_uses(record, most=6)
    intake = str(
        record["source"].values[
            [
                kind == "intake" and target.startswith("osmere/")
                for kind, target in zip(record["kind"].values, record["target"].values, strict=True)
            ]
        ][0]
    )
    arriving = record.isel(
        flow=(record["target"].values == intake) & (record["kind"].values == "river")
    )
    above = arriving["source"].values
    used = 1.0 - labels["share"].sel(use=0, store=above).values[1:]
    passed = float((arriving["rate"].values * used).sum())
    homes = [
        source.split("/")[-1] in ("toilets", "baths", "laundry", "taps")
        and source.startswith("fernholt/")
        for source in record["source"].values
    ]
    sent = float(
        record["rate"].isel(flow=np.array(homes) & (record["kind"].values == "sewage")).sum()
    )
    assert 0.94 * sent < passed < sent


def test_low_rivers_carry_more_used_water(record):
    """On the tenth of days with the least flow the lower town's water was used much more often."""
    labels = hl.count_uses(record, most=6)
    used = 1.0 - labels["share"].sel(use=0, store="osmere/clearwell").values[1:]
    river = record["rate"].isel(flow=record["kind"].values == "upstream").sum("flow").values
    low, high = np.quantile(river, [0.1, 0.9])
    assert used[river <= low].mean() > 3.0 * used[river >= high].mean()


def test_measures_of_a_real_season(record, folder: Path):
    """Used share, mean uses and return ratio keep their order f <= m <= S on every real day."""
    table = hl.measures(record, hl.read_scenario(folder / "strand.toml"))
    f = table["used_share_at_intake"].sel(town="osmere").values
    m = table["mean_uses_at_intake"].sel(town="osmere").values
    s = table["return_ratio"].sel(town="osmere").values
    assert np.all(f > 0.0)
    assert np.all(f <= m + 1e-12)
    assert np.all(m <= s + 1e-9)
    assert f.max() > 10.0 * f.min()  # the river's own flows lie further apart than that
