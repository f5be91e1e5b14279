"""Yearly balances of land and rivers, and what sewers take in, compared with printed figures.

Panola Mountain: Aulenbach, Riley & Cruz 2022, abstract: runoff over rain of single years. Korzun
1978, as given in Shuttleworth, Terrestrial Hydrometeorology, ch. 1: a few percent of the rain of a
dry south-west run off, taken here as 0.5 to 10 %. Metcalf & Eddy, Wastewater Engineering (from
memory): infiltration of 0.2 to 28 m3 per day and hectare. Nature Geoscience 2024, "Majority of
global river flow sustained by groundwater", abstract: 15,567 basins. Winter et al. 1998, USGS
Circular 1139 (from memory): baseflow is 14 to 90 % of the flow in 54 streams of the US. Baker et
al. 2004, JAWRA 40:503: flashiness of 515 streams (the range from memory). Marsh & Hannaford 2008,
UK Hydrometric Register (from memory): baseflow index of a chalk stream and of clay lowlands; ours
have curve numbers of TR-55, Table 2-2.
"""

from __future__ import annotations

from functools import cache

import pytest
from conserves import assert_closes
from published_checks import Check
from rained_rivers import rained_river

import hydroloop as hl
from hydroloop.record import flow_mask
from hydroloop.scenario import read_toml
from hydroloop.weather import baseflow_index, flashiness


@cache
def land_of(climate, **keys):
    """Runoff and baseflow of a catchment over its rain, baseflow index and flashiness of its river,
    and infiltration of its town [m3/ha/d]; `keys` are those of the river that are changed."""
    scenario = read_toml(rained_river(climate))
    scenario = scenario.changed({f"river.wren.{name}": value for name, value in keys.items()})
    record = hl.simulate(scenario)
    assert_closes(record)
    rain = float(record["rain_mm"].sum())

    def rate(**of):
        return record["rate"].isel(flow=flow_mask(record, **of)).sum("flow").values

    flow = rate(target=("wren/reach_1",), kind=("river",))
    runoff, index = flow.sum() / 150e3 / rain, baseflow_index(flow)
    hectares = 20_000 / 1500.0 * 100.0  # the default of land.area: 1,500 people per km2
    return {
        "runoff": runoff,
        "baseflow over rain": runoff * index,
        "baseflow": index,
        "flashiness": flashiness(flow),
        "infiltration": rate(kind="infiltration").mean() / hectares,
    }


def middle(source, quantity, ends, ours, units, known):
    """A printed range, as its middle and half its width."""
    low, high = ends
    return Check(
        source,
        f"{quantity}, printed {low:g} to {high:g}",
        0.5 * (low + high),
        0.5 * (high - low),
        ours,
        units,
        known,
    )


PANOLA = "Aulenbach, Riley & Cruz 2022, Panola Mountain (abstract)"
CLIMATES = ("wet_winter", "dry_plateau", "rain_all_year")
GROUNDWATER = "Nature Geoscience 2024, majority of river flow sustained by groundwater (abstract)"

REGISTER = "Marsh & Hannaford 2008, UK Hydrometric Register (from memory)"
CHALK = {"curve_number": 30, "interflow_share": "0 %", "recession": "200 day"}
CLAY = {
    "curve_number": 84,
    "interflow_share": "90 %",
    "interflow_recession": "2 day",
    "recession": "20 day",
}
CHECKS = [
    *(
        middle(
            source,
            f"{what} of a river, {climate.replace('_', ' ')}",
            ends,
            lambda what=what, climate=climate: land_of(climate)[what],
            "-",
            "memory",
        )
        for source, what, ends in (
            ("Winter et al. 1998, USGS Circular 1139 (from memory)", "baseflow", (0.14, 0.90)),
            ("Baker et al. 2004, JAWRA 40:503 (range from memory)", "flashiness", (0.006, 1.01)),
        )
        for climate in CLIMATES
    ),
    middle(
        PANOLA,
        "runoff over rain of single years, against a catchment with rain all year",
        (0.13, 0.50),
        lambda: land_of("rain_all_year")["runoff"],
        "-",
        "read",
    ),
    middle(
        GROUNDWATER,
        "baseflow over rain, which they take for recharge, 21 % with its 3, rain all year",
        (0.18, 0.24),
        lambda: land_of("rain_all_year")["baseflow over rain"],
        "-",
        "read",
    ),
    middle(
        f"{REGISTER}, Lambourn, about 0.97",
        "baseflow index of a chalk stream: woods on soil group A, no interflow, 200 days",
        (0.92, 1.02),
        lambda: land_of("rain_all_year", **CHALK)["baseflow"],
        "-",
        "memory",
    ),
    middle(
        f"{REGISTER}, clay lowland, 0.15 to 0.35",
        "baseflow index of pasture on clay: hardly any recharge, 20 days",
        (0.15, 0.35),
        lambda: land_of("rain_all_year", **CLAY)["baseflow"],
        "-",
        "memory",
    ),
    middle(
        GROUNDWATER,
        "baseflow index, 59 with its 7, rain all year",
        (0.52, 0.66),
        lambda: land_of("rain_all_year")["baseflow"],
        "-",
        "read",
    ),
    middle(
        "Korzun 1978 in Shuttleworth, ch. 1",
        "runoff over rain of dry land",
        (0.005, 0.10),
        lambda: land_of("dry_plateau")["runoff"],
        "-",
        "second-hand",
    ),
    middle(
        "Metcalf & Eddy 2003, Wastewater Engineering (from memory)",
        "infiltration of a town of default sizes",
        (0.2, 28.0),
        lambda: land_of("wet_winter")["infiltration"],
        "m3/ha/d",
        "memory",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()
