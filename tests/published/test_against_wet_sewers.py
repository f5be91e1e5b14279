"""What seeps and rains into separate sewers, compared with the federal marks for it.

40 CFR 35.2120, and US EPA, May 1985: infiltration is not excessive while wastewater of people and
what seeps in stay within 120 gallons a person and day at high groundwater, the mean of 270 city
areas on dry days; nor inflow while all stays within 275 in storms. Ours: sewers of a default town
over the wettest 14 days of the water table of each of eight years, and on the wettest day of each,
medians. A value below a mark is checked by half of it, as far as zero.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from conserves import assert_closes
from operator_units import GAL
from published_checks import Check
from rained_rivers import rained_river

import hydroloop as hl
from hydroloop.record import flow_mask, flow_total
from hydroloop.scenario import read_toml

PEOPLE, WETTEST = 20_000, 14  # people, d


@cache
def sewers(climate: str) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Year of each day, and what people bring, what seeps in and what rains in, as the first two
    and all of it [gal/person/d]."""
    record = hl.simulate(read_toml(rained_river(climate)))
    assert_closes(record)
    people, ground, rain = (
        flow_total(record, flow_mask(record, kind=kind, to_role="sewers")).values / GAL / PEOPLE
        for kind in ("sewage", "infiltration", "stormwater")
    )
    return record["time"].dt.year.values, people + ground, people + ground + rain


def wettest(flow: np.ndarray, year: np.ndarray, days: int) -> float:
    """Greatest mean of so many days on end in each year, the median of the years."""
    over = np.ones(days) / days
    return float(
        np.median([np.convolve(flow[year == one], over, "valid").max() for one in set(year)])
    )


def high_groundwater(climate: str) -> float:
    year, dry, _ = sewers(climate)
    return wettest(dry, year, WETTEST)


def storms(climate: str) -> float:
    year, _, all_of_it = sewers(climate)
    return wettest(all_of_it, year, 1)


def at_most(source, quantity, mark, ours):
    return Check(source, quantity, mark / 2.0, mark / 2.0, ours, "gal/person/d")


CHECKS: list[Check] = [
    one
    for climate in ("rain_all_year", "wet_winter")
    for one in (
        at_most(
            "40 CFR 35.2120(c); US EPA, May 1985",
            f"sewers at high groundwater, at most 120, {climate.replace('_', ' ')}",
            120.0,
            lambda climate=climate: high_groundwater(climate),
        ),
        at_most(
            "40 CFR 35.2120(b)",
            f"sewers in a storm, at most 275, {climate.replace('_', ' ')}",
            275.0,
            lambda climate=climate: storms(climate),
        ),
    )
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check: Check):
    """Sewers of a default town stay within what is called not excessive."""
    check.holds()
