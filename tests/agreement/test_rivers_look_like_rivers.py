"""Rivers that rise from their catchment's rain, against what gauges of real rivers show.

Weather: four years of Seattle-Tacoma (NOAA station USW00024233, 2012-2015, as vega-datasets ships
it) and eight years of each climate of the generator. The bands are published:

- runoff over rain lies between the curves for forest and for grass, with their mean error of 42 mm
  over more than 250 catchments on either side (Zhang, Dawes & Walker 2001, WRR 37);
- baseflow index 59 %, with three times the spread of 7 over 15,567 basins (Nature Geoscience 2024);
- flashiness 0.006 to 1.01 over 515 streams of the Midwest, less for larger basins (Baker et al.
  2004, JAWRA 40; the ends from memory); for land that is neither spring nor clay 0.05 to 0.5;
- the flow on 95 of 100 days 2 to 40 % of the mean: 0.02 to 0.17 at the two gauges of the North Fork
  Shenandoah in tests/data, 0.12 on the Thames (from memory); where the air could take more than
  twice the rain, rivers may fall dry (common practice).
"""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from rained_rivers import AREAS_KM2, WEATHERS, evaporation_of, write_rivers

import hydroloop as hl
from hydroloop.record import flow_mask
from hydroloop.weather import (
    baseflow_index,
    flashiness,
    low_flow_ratio,
    read_flow,
)

DATA = Path(__file__).resolve().parents[1] / "data"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The scenario under each weather, with the first year run before the season."""
    place = tmp_path_factory.mktemp("rivers")
    write_rivers(place)
    return place


def flow_at_head(record) -> np.ndarray:
    """Flow that enters the river at its head [m3/d]."""
    into = flow_mask(record, target=("wren/reach_1",), kind=("river",))
    return record["rate"].isel(flow=into).sum("flow").values


@pytest.fixture(scope="module", params=WEATHERS)
def rivers(request, folder: Path):
    """Rain and evaporation of a weather [mm/d], and the flow of each river, by area."""
    flows = {}
    for area in AREAS_KM2:
        scenario = hl.read_scenario(folder / f"{request.param}.toml").changed(
            {"river.wren.catchment": f"{area} km2"}
        )
        record = hl.simulate(scenario)
        flows[area] = flow_at_head(record)
    weather = (float(record["rain_mm"].mean()), float(record["et0_mm"].mean()))
    return request.param, weather, flows


def test_runoff_lies_between_forest_and_grass(rivers):
    """Runoff over rain fits the rain and the evaporation that the air could take."""
    _, (rain_mm, potential_mm), flows = rivers
    a_year = 365.25 * rain_mm
    forest, grass = (
        a_year - evaporation_of(a_year, 365.25 * potential_mm, plant_water)
        for plant_water in (2.0, 0.5)
    )
    for area, flow in flows.items():
        runoff = 365.25 * flow.mean() / (area * 1000.0)
        assert max(0.0, forest - 42.0) < runoff < grass + 42.0, (area, runoff, forest, grass)


def test_baseflow_flashiness_and_low_flow_are_those_of_rivers(rivers):
    """Every river has a baseflow index, a flashiness and a low flow that gauged rivers have."""
    _, (rain_mm, potential_mm), flows = rivers
    lowest = 0.02 if potential_mm < 2.0 * rain_mm else 0.0
    for area, flow in flows.items():
        assert 0.38 < baseflow_index(flow) < 0.80, area
        assert 0.05 < flashiness(flow) < 0.5, area
        assert lowest < low_flow_ratio(flow) < 0.40, area


def test_large_basins_are_less_flashy(rivers):
    """The larger the basin, the less its flow changes from day to day."""
    _, _, flows = rivers
    found = [flashiness(flows[area]) for area in AREAS_KM2]
    assert all(small > large for small, large in pairwise(found))


@pytest.mark.parametrize("column", ["USGS 01634000", "USGS 01632000"])
def test_real_gauges_lie_in_the_same_bands(column: str):
    """The bands are not made for the model: the two gauges of a real river lie in them too."""
    flow = read_flow(DATA / "north_fork_shenandoah.csv", column=column)["flow"].values
    assert 0.38 <= round(baseflow_index(flow), 2) < 0.80
    assert 0.05 < flashiness(flow) < 0.5
    assert 0.02 <= round(low_flow_ratio(flow), 2) < 0.40


def test_winters_run_off_more_than_summers(folder: Path):
    """Of a wet winter's rain a larger share runs off the soil than of a summer's storms."""
    record = hl.simulate(hl.read_scenario(folder / "seattle.toml"))
    runoff = (
        record["rate"]
        .isel(flow=flow_mask(record, kind="stormwater", from_place="wren"))
        .sum("flow")
    )
    shares = (runoff / 150e3).groupby("time.season").sum() / record["rain_mm"].groupby(
        "time.season"
    ).sum()
    assert float(shares.sel(season="DJF")) > 2.0 * float(shares.sel(season="JJA"))


def test_a_river_of_150_km2_serves_20_000_people(folder: Path):
    """A river of 150 km2 under 1,106 mm of rain carries some 2.5 m3/s, of which a town of 20,000
    takes a twentieth: it does not run short."""
    scenario = hl.read_scenario(folder / "seattle.toml")
    table = hl.measures(hl.simulate(scenario), scenario)
    assert float(table["reliability"].sel(town="larkmill")) > 0.99
