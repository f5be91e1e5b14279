"""Printed numbers that whole runs of ours do not meet, and why."""

from __future__ import annotations

from functools import cache

import numpy as np
from rained_rivers import rained_river
from small_scenarios import one_town
from steady_towns import through_a_basin
from storms import share_off_towns
from writing.unmet_row import Unmet

import hydroloop as hl
from hydroloop.record import flow_mask, flow_total
from hydroloop.scenario import read_toml
from hydroloop.studies.separation import separations
from hydroloop.weather import baseflow_index, low_flow_ratio

RAIN, WINTER = "rain_all_year", "wet_winter"


@cache
def _river(**keys: object) -> tuple[float, float, float]:
    """Of a river, rain all year: baseflow index, flow of 95 days over the mean, and runoff over
    rain; `keys` are those of the river that are changed."""
    scenario = read_toml(rained_river(RAIN))
    record = hl.simulate(scenario.changed({f"river.wren.{key}": of for key, of in keys.items()}))
    head = flow_mask(record, target="wren/reach_1", kind="river")
    flow = flow_total(record, head).values
    runoff = flow.sum() / 150e3 / float(record["rain_mm"].sum())
    return baseflow_index(flow), low_flow_ratio(flow), runoff


@cache
def _spill_days(climate: str) -> float:
    """Days a year on which combined sewers of default sizes overflow."""
    sewers = 'sewers.kind = "combined"\n'
    record = hl.simulate(read_toml(rained_river(climate) + sewers))
    over = flow_total(record, flow_mask(record, kind="overflow")).values
    return float((over > 0.0).sum() / (len(over) / 365.25))


@cache
def _infiltration() -> float:
    """Infiltration of a town of default sizes [m3/ha/d]."""
    record = hl.simulate(read_toml(rained_river(RAIN)))
    seeping = flow_total(record, flow_mask(record, kind="infiltration")).mean()
    return float(seeping) / (20_000 / 1500.0 * 100.0)


@cache
def _separated(**metals: float) -> tuple[dict[str, float], float]:
    """What the tap of a default town holds [mg/L], and solids caught over wastewater [kg/m3]."""
    scenario = one_town(**{f"quality__{name}": of for name, of in metals.items()})
    record = hl.simulate(scenario)
    found = separations(scenario, record, ["larkmill"])["larkmill"]
    caught = sum(found.caught[step]["particles"] for step in ("primary settling", "final settling"))
    comes = flow_total(record, flow_mask(record, kind="sewage", to_role="primary")).mean()
    return found.at_tap, caught / float(comes)


@cache
def _oldest(people: int) -> float:
    """Water age of the oldest tenth in a town of default sizes [d]."""
    scenario = one_town(
        town__larkmill__people=people, river__wren__inflow="60 m3/s", season__end="2031-06-30"
    )
    return float(hl.measures(hl.simulate(scenario), scenario).season_water_age_oldest[0])


@cache
def _saved(asked: int) -> float:
    """Share of all use of a day that a mandatory stage saves [%]."""
    stage = f"""
[stage.alert]
river = "wren"
at = "5 km"
flow_below = "100 m3/s"
kind = "mandatory"
homes = "{asked} %"
workplaces = "{asked} %"
yards = "{asked} %"
"""
    record = hl.simulate(one_town(stage, season__end="2031-05-03"))
    day = record.isel(time=-1).sel(town="larkmill")
    cut = float(day["cut"].sum())
    return 100.0 * cut / (cut + float(day["demand"].sum()))


def _morrill() -> float:
    times: np.ndarray = through_a_basin(10.0, 1.0)
    return float(times[2] / times[0])


_AGES = "U.S. EPA & AWWA 2002, water age (from memory)"
_KALVANI = "Kalvani et al. 2021, means of 516 samples (abstract)"
_METALS = {"iron_mg_per_l": 0.93, "manganese_mg_per_l": 0.24}
_SPILLS = "The outfall of one town that spills on a day counts once; theirs are "
IN_RUNS = [
    Unmet(
        "USGS, base flow of Long Island 1960-75 (abstract)",
        "baseflow index on glacial outwash, 0.90 to 0.95: sand, nothing by interflow",
        0.925,
        0.025,
        lambda: _river(curve_number=39, interflow_share="0 %")[0],
        "-",
        "Hardly anything runs off here; the filter takes part of the rise of groundwater in winter "
        "for a storm.",
    ),
    Unmet(
        "UK national river flow archive, Thames at Kingston (from memory)",
        "flow on 95 of 100 days over the mean flow, about 0.12",
        0.12,
        0.03,
        lambda: _river()[1],
        "-",
        "Theirs is gauged below the intakes of London; ours is at the head, before any town.",
    ),
    Unmet(
        "Korzun 1978 in Shuttleworth, ch. 1",
        "runoff over rain, 0.35 to 0.45 of most continents, rain all year",
        0.40,
        0.05,
        lambda: _river()[2],
        "-",
        "One climate, not a continent: where winters are wet it is 0.51.",
    ),
    *(
        Unmet(
            "HDS-2 (2002) Table 5.7",
            f"share of 3 in that runs off a lawn on {words}",
            printed,
            near,
            lambda number=number: share_off_towns(3.0, ((0, number),))[0],
            "-",
            "The curve number makes more of the soil than the coefficient does.",
        )
        for words, number, printed, near in (
            ("flat sand, 0.05 to 0.10", 39, 0.075, 0.025),
            ("steep heavy soil, 0.25 to 0.35", 80, 0.30, 0.05),
        )
    ),
    Unmet(
        "CE License Review, 15th ed.",
        "infiltration into new sewers, 5 to 20",
        12.5,
        7.5,
        _infiltration,
        "m3/ha/d",
        "Ours is 20 gal/person/d in a town of 15 people to a hectare. Give the infiltration of "
        "denser places.",
    ),
    *(
        Unmet(
            source,
            f"days a year on which combined sewers spill, {words}",
            printed,
            near,
            lambda climate=climate: _spill_days(climate),
            "d/a",
            _SPILLS + why,
        )
        for source, words, printed, near, climate, why in (
            (
                "Environment Agency 2024 (England 2021 to 2023)",
                "22.6 to 34.8 an overflow",
                28.7,
                6.1,
                RAIN,
                "the mean of some 13,000 overflows.",
            ),
            (
                "Water Sci. Technol. 63(1) 2011, London (abstract)",
                "about 60",
                60,
                6,
                RAIN,
                "the 34 worst outfalls of a city.",
            ),
            (
                "City of Portland 2012, before its tunnels",
                "50 events",
                50,
                0.5,
                WINTER,
                "events of 55 outfalls.",
            ),
        )
    ),
    *(
        Unmet(
            _KALVANI,
            f"{metal} after treatment, {before} mg/L before",
            printed,
            0.005 if metal == "iron" else 0.0005,
            lambda metal=metal: _separated(**_METALS)[0][metal],
            "mg/L",
            "Plants differ: the share that ours catch is that of another study, see quality.",
        )
        for metal, before, printed in (("iron", 0.93, 0.18), ("manganese", 0.24, 0.105))
    ),
    Unmet(
        "WEF 1998, in Turovskiy & Mathai",
        "solids from wastewater",
        0.24,
        0.005,
        lambda: _separated()[1],
        "kg/m3",
        "Ours counts what settles of what people bring, in water that infiltration thins.",
    ),
    *(
        Unmet(
            _AGES,
            f"oldest water of a system of {people:,}, {low} to {high}",
            0.5 * (low + high),
            0.5 * (high - low),
            lambda people=people: _oldest(people),
            "d",
            "Mains here are one mixed volume of half a day, whatever the town; dead ends and long "
            "lines are not in it.",
        )
        for people, low, high in ((800_000, 3, 7), (24_000, 12, 24))
    ),
    Unmet(
        "Metcalf & Eddy 2003, Wastewater Engineering (from memory)",
        "Morrill index of a mixed basin of ten days, about 22, in a record of days",
        22,
        0.5,
        _morrill,
        "-",
        "Water is followed in steps of six hours, and its first tenth comes half a step too soon. "
        "In a record of hours it is met.",
    ),
    Unmet(
        "California 2015, state mandate (from memory)",
        "saved where 25 % was asked for",
        24.5,
        0.05,
        lambda: _saved(25),
        "%",
        "The first months; over sixteen months 23.0 % were saved, which ours follows.",
    ),
]
