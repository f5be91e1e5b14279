"""Reclaimed water in city supplies, and water age, compared with published figures.

Wichita Falls 2014: 5 of 12 million gallons a day (Star-Telegram, 11 July 2014, as given in notes);
33 to 50 % of demand by day. Windhoek: 21,000 m3/d are one quarter of the city's water (Lafforgue &
Lenouvel 2015). Big Spring and Wichita Falls: 20 and 50 % of the raw
blend. All through the line of reclaimed water that goes straight to the plant.

Water age of more than 800 U.S. utilities: 1.3 days on the mean, 3.0 at most; large systems 1 to 7
days (U.S. EPA & AWWA 2002, from memory). Ours are a bundled town with the default sizes, and
one of 800,000.
"""

from __future__ import annotations

from functools import cache

import pandas as pd
import pytest
from conserves import assert_closes
from published_checks import Check
from small_scenarios import one_town

import hydroloop as hl

MGD = 3785.41  # m3/d


def blend(reclaimed: float, fresh: float) -> float:
    """Part of a town's raw water that is reclaimed, straight from its tank, in percent."""
    whole = reclaimed + fresh
    flows = [
        ("upstream", "wren/reach", "upstream", 3 * whole),
        ("wren/reach", "city/rapid_mix", "intake", fresh),
        ("wren/reach", "downstream", "downstream", 3 * whole - fresh),
        ("city/reclaimed", "city/rapid_mix", "reclaimed", reclaimed),
        ("city/rapid_mix", "city/mains", "supply", whole),
        ("city/mains", "city/taps", "home_use", whole),
        ("city/taps", "city/contact", "sewage", whole),
        ("city/contact", "city/reclaimed", "reclaimed", reclaimed),
        ("city/contact", "downstream", "outfall", fresh),
    ]
    edges = pd.date_range("2031-01-01", periods=21)
    stores = {end for flow in flows for end in flow[:2] if "/" in end}
    volumes = pd.DataFrame(whole, index=edges, columns=sorted(stores))
    rows = [(day, *flow) for day in edges[:-1] for flow in flows]
    record = hl.water_record(
        volumes, pd.DataFrame(rows, columns=["time", "source", "target", "kind", "rate"])
    )
    assert_closes(record)
    return 100.0 * float(hl.measures(record).season_reclaimed_share.sel(town="city"))


@cache
def bundled() -> object:
    scenario = hl.read_scenario("first_town").changed({"season.end": "2031-06-30"})
    return hl.measures(hl.simulate(scenario), scenario).sel(town="larkmill")


@cache
def large() -> object:
    """Measures of a town of 800,000 on a river that is large enough."""
    scenario = one_town(
        town__larkmill__people=800_000, river__wren__inflow="60 m3/s", season__end="2031-06-30"
    )
    return hl.measures(hl.simulate(scenario), scenario).sel(town="larkmill")


_EPA = "U.S. EPA & AWWA 2002, water age (from memory)"
CHECKS = [
    Check(
        "Star-Telegram, 11 July 2014, Wichita Falls",
        "reclaimed part of the demand, middle of 33 to 50",
        41.5,
        8.5,
        lambda: blend(5 * MGD, 7 * MGD),
        "%",
        "second-hand",
    ),
    Check(
        "Star-Telegram, 14 March 2014, Big Spring",
        "reclaimed part of the raw blend of 1 in 5",
        20,
        0.5,
        lambda: blend(1.0, 4.0),
        "%",
        "second-hand",
    ),
    Check(
        "Lafforgue & Lenouvel 2015, Windhoek",
        "21,000 m3/d in a demand of 84,000",
        25,
        0.5,
        lambda: blend(21_000.0, 63_000.0),
        "%",
    ),
    Check(
        _EPA,
        "water age, mean of more than 800 utilities, against a town of default sizes",
        1.3,
        0.3,
        lambda: float(bundled().season_water_age),
        "d",
        "memory",
    ),
    Check(
        _EPA,
        "water age, greatest of the survey, against the oldest tenth",
        3.0,
        0.5,
        lambda: float(bundled().season_water_age_oldest),
        "d",
        "memory",
    ),
    *(
        Check(
            _EPA,
            f"water age of more than 750,000 people, 1 to 7, against {words}",
            4.0,
            3.0,
            lambda name=name: float(large()[name]),
            "d",
            "memory",
        )
        for words, name in (
            ("the mean of 800,000", "season_water_age"),
            ("the oldest tenth", "season_water_age_oldest"),
        )
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()
