"""Printed numbers that ours do not meet, and why: what the validation page leads with."""

from __future__ import annotations

from functools import cache

import numpy as np
from rained_rivers import rained_river
from storms import runoff_of_a_day
from writing.unmet_in_runs import IN_RUNS
from writing.unmet_row import Unmet

import hydroloop as hl
from hydroloop.measures import turnover_time
from hydroloop.plants import equalising_volume
from hydroloop.record import flow_mask, flow_total
from hydroloop.scenario import read_toml
from hydroloop.waterworks.linear_store import drained
from hydroloop.weather import (
    Site,
    curve_number_at,
    extraterrestrial_radiation_mj_per_m2,
    hargreaves_samani_mm,
    open_water_evaporation,
    reference_evaporation,
    runoff_depth,
    turc_pike_evaporation,
)


def _turnover(volume: float, flow: float) -> float:
    record = hl.steady_record({"store": flow}, {"store": flow / volume}, {}, steps=1)
    return float(turnover_time(record).item())


_BANGKOK = {
    "tmin_c": 25.6,
    "tmax_c": 34.8,
    "humidity": 0.645,
    "sunshine_h": 8.5,
    "wind_m_per_s": 2.0,
}
_MARIB = {
    "tmin_c": 23.4,
    "tmax_c": 38.6,
    "humidity": 0.384,
    "sunshine_h": 10.4,
    "wind_m_per_s": 2.1,
}
# Wastewater by the hour [m3/s].
_HOURS = """
.275 .220 .165 .130 .105 .100 .120 .205 .355 .410 .425 .430 .425 .405 .385 .350 .325 .325 .330 .365
.400 .400 .380 .345
"""


def _recharged() -> float:
    """Share of the rain that recharges groundwater under a catchment with rain all year."""
    record = hl.simulate(read_toml(rained_river("rain_all_year")))
    recharge, *fallen = (
        float(flow_total(record, flow_mask(record, target=f"wren/{store}", kind=kind)).sum())
        for store, kind in (("groundwater", "recharge"), ("soil", "rain"), ("snow", "rain"))
    )
    return recharge / sum(fallen)


@cache
def _wet_winters() -> tuple[float, float]:
    """Share of the rain that evaporates where winters are wet: by the curve, and in eight years."""
    record = hl.simulate(read_toml(rained_river("wet_winter")))
    rain, potential = float(record["rain_mm"].sum()), float(record["et0_mm"].sum())
    head = flow_mask(record, target="wren/reach_1", kind="river")
    ran_off = float(flow_total(record, head).sum()) / 150e3
    return turc_pike_evaporation(rain, potential) / rain, 1.0 - ran_off / rain


def _night_use() -> float:
    """Least use of homes in an hour [L/person/h]."""
    record = hl.simulate(read_toml(rained_river("wet_winter", end="2031-01-07", step="1 hour")))
    used = flow_total(record, flow_mask(record, kind="home_use"))
    return float(used.min()) * 1000.0 / 24.0 / 20_000


def _days_to_a_tenth() -> float:
    """Days in which the baseflow of a catchment of default recession falls tenfold."""
    recession = read_toml(rained_river("wet_winter")).river["wren"].recession
    return float(np.log(0.1) / np.log(1.0 - drained(1.0, recession, 1.0)))


def _equalised() -> float:
    """Volume that evens out the hours of a day's wastewater [m3]."""
    flow = np.array(_HOURS.split(), dtype=float) * 86_400.0
    return equalising_volume(flow, np.full(24, flow.mean()), 1.0 / 24.0)


_WORLD = "Shiklomanov in UN WWDR 2003, Table 4.1"
UNMET = [
    Unmet(
        "TR-55 (1986) Table 2-1",
        "runoff of 7.0 in, curve number 50",
        1.68,
        0.005,
        lambda: float(runoff_depth(7.0 * 25.4, 50.0)) / 25.4,
        "in",
        "The handbook's own formula gives ours; the other 285 cells agree.",
    ),
    Unmet(
        "US EPA, physical features of the Great Lakes",
        "turnover of Lake Superior",
        191,
        0.5,
        lambda: _turnover(12_100.0, 75_600 * 0.3048**3 * 86400 * 365.25 / 1e9),
        "a",
        "The printed time needs a smaller outflow than the gauged one.",
    ),
    Unmet(
        _WORLD,
        "turnover of the world's rivers",
        16,
        0.5,
        lambda: 365.25 * _turnover(2_120.0, 43_000.0),
        "d",
        "It does not follow from the volume and the flow of the same table.",
    ),
    Unmet(
        _WORLD,
        "turnover of the ocean",
        2500,
        50,
        lambda: _turnover(1_338_000.0, 505.0),
        "a",
        "It does not follow from the volume and the flow of the same table.",
    ),
    Unmet(
        "Samani 2000, as given in McMahon et al. 2013, Example 13",
        "evaporation at Alice Springs from temperatures alone",
        4.1129,
        0.0005,
        lambda: float(
            hargreaves_samani_mm(2.0, 21.0, extraterrestrial_radiation_mj_per_m2(-23.7951, 202))
        ),
        "mm/d",
        "Printed with a coefficient that varies; ours is the fixed one of 1985. Days with few "
        "readings are a third off in dry country.",
    ),
    Unmet(
        "FAO-56 Example 17 (as given in quotations)",
        "reference evaporation at Bangkok in April",
        5.72,
        0.005,
        lambda: float(reference_evaporation(_BANGKOK, 105, Site(13 + 44 / 60, 2.0)).depth_mm),
        "mm/d",
        "The example lets the month warm the ground. A run goes by days, and has no such heat.",
    ),
    *(
        Unmet(
            f"De Laat & Savenije, Table {table}",
            f"{what} at Marib in June, from its weather",
            printed,
            0.05,
            lambda asked=asked: float(asked(_MARIB, 166, Site(15.5, 1000.0)).depth_mm),
            "mm/d",
            "They take the saturation pressure at the mean temperature, FAO-56 that of both ends "
            "(a deficit of 2.8 against 3.0 kPa); and more longwave radiation leaves.",
        )
        for table, what, printed, asked in (
            ("3.8", "grass", 6.8, reference_evaporation),
            ("3.7", "open water", 7.8, open_water_evaporation),
        )
    ),
    Unmet(
        "Turc 1954 and Pike 1964, the curve at the climate's own rain and air",
        "share of the rain that evaporates where winters are wet",
        round(_wet_winters()[0], 3),
        0.04,
        lambda: _wet_winters()[1],
        "-",
        "The curve is a mean over all climates. Here most rain falls when the air asks for least "
        "and the soil is full; see From rain to river.",
    ),
    Unmet(
        "Singh & Stall 1971 (abstract), 22 basins of Illinois",
        "days in which baseflow falls tenfold, 15 to 100",
        57.5,
        42.5,
        _days_to_a_tenth,
        "d",
        "Our default of 60 days to 37 % is that of large basins (Brutsaert 2008: 45, 15 more or "
        "less). Give the recession of your own river.",
    ),
    Unmet(
        "Nature Geoscience 2024, majority of river flow sustained by groundwater (abstract)",
        "share of the rain that becomes recharge, 0.21 with its 0.03, rain all year",
        0.21,
        0.03,
        _recharged,
        "-",
        "They take all baseflow for recharge, ours leaves interflow out; with it baseflow comes to "
        "0.18 of the rain.",
    ),
    Unmet(
        "UK Managing Leakage, 1994 (from memory)",
        "use of homes by night",
        0.6,
        0.12,
        _night_use,
        "L/person/h",
        "Homes here use half again as much as British ones, and an eighth of it drips day and "
        "night inside them (DeOreo et al. 2016).",
    ),
    Unmet(
        "Metcalf & Eddy 2003, flow equalisation (from memory)",
        "volume that evens out a day's wastewater",
        4110,
        5,
        _equalised,
        "m3",
        "Printed as read off a drawn mass curve; the book's own hourly sums give ours.",
    ),
    *(
        Unmet(
            "NEH 630 chapter 10, Table 10-1 (from memory)",
            f"curve number of {word} ground, average {number}",
            printed,
            0.5,
            lambda wetness=wetness, number=number: float(curve_number_at(wetness, float(number))),
            "-",
            "The table and the formula that is used for ground between dry and wet do not agree; "
            "13 of its 28 cells from 95 to 30 do.",
        )
        for word, wetness, cells in (
            ("dry", 0.0, {95: 87, 90: 78, 75: 57, 70: 51, 65: 45, 60: 40, 55: 35, 50: 31}),
            ("wet", 1.0, {90: 96, 85: 94, 80: 91, 75: 88, 70: 85, 65: 82, 40: 60}),
        )
        for number, printed in cells.items()
    ),
    *(
        Unmet(
            "NEH 630 chapter 10 (2004) Example 10-2",
            f"runoff of 4.3 in on {word} ground in a run, curve number 74",
            printed,
            0.005,
            lambda soil=soil: float(runoff_of_a_day(4.3, (74,), soil=soil)[74]),
            "in",
            f"Printed with {number} from the table for {word} ground; a run takes its own formula.",
        )
        for word, soil, number, printed in (("dry", "0 %", 55, 0.65), ("wet", "100 %", 88, 3.01))
    ),
    *IN_RUNS,
]
NOT_TRIED = """
**Not compared with anything printed**, because no worked example was found: travel time along a
river from its flow, a flow of seven days in ten years, reliability and resilience of a supply, the
spread of many runs. They are held by closed forms and by second routes. **Held only against a
range**: what drought rules save (two studies of the same year do not overlap), runoff, recharge,
baseflow and flashiness of a catchment, infiltration into sewers, water age. Such a range says that
a town is plausible, not that it is right. **Not comparable**: floods routed by other rules than
ours, and forty years of lysimeters whose rain is not all accounted for; our account closes.
"""
