"""What drought stages save, against what was measured.

Kenney, Klein & Clark 2004, JAWRA 40:77 (eight providers in Colorado, 2002); Halich & Stephenson
2009, Land Economics 85:614 (21 suppliers in Virginia, 2002); Lund, California WaterBlog 2014;
California State Water Board, release of 1 November 2016 (June 2015 to September 2016, with 25 %
asked for). Ranges are checked by their middle and half their width. A stage that is in force from
the first day asks all uses for the same cut, and the saving is read from the run.
"""

from __future__ import annotations

from functools import lru_cache

import pytest
from published_checks import Check
from small_scenarios import one_town

import hydroloop as hl

STAGE = """
[reservoir.mere]
river = "wren"
at = "5 km"
capacity = "6000 ML"
area = "0.4 km2"
start = "50 %"
[stage.alert]
reservoir = "mere"
storage_below = "60 %"
kind = "{kind}"
homes = "{asked} %"
workplaces = "{asked} %"
yards = "{asked} %"
"""


@lru_cache(maxsize=8)
def saved(kind: str, asked: int) -> float:
    """Share of all use of a first day that a stage saves [%]."""
    record = hl.simulate(
        one_town(
            STAGE.format(kind=kind, asked=asked),
            season__end="2031-05-03",
            town__larkmill__intake={"reservoir": "mere"},
        )
    )
    day = record.isel(time=0).sel(town="larkmill")
    cut, left = float(day["cut"].sum()), float(day["demand"].sum())
    return 100.0 * cut / (cut + left)


KENNEY, HALICH = "Kenney et al. 2004, JAWRA 40:77, abstract", "Halich & Stephenson 2009, abstract"
CHECKS: list[Check] = [
    Check(
        KENNEY,
        "voluntary, 15 % asked for: 4 to 12 % saved",
        8,
        4,
        lambda: saved("voluntary", 15),
        "%",
    ),
    Check(
        HALICH,
        "voluntary, 15 % asked for: 0 to 7 % saved",
        3.5,
        3.5,
        lambda: saved("voluntary", 15),
        "%",
    ),
    Check(
        "Lund 2014, California WaterBlog",
        "voluntary, 15 % asked for: 5 to 15 % saved",
        10,
        5,
        lambda: saved("voluntary", 15),
        "%",
    ),
    Check(
        KENNEY,
        "mandatory, 30 % asked for: 18 to 56 % saved",
        37,
        19,
        lambda: saved("mandatory", 30),
        "%",
    ),
    Check(
        HALICH,
        "mandatory, 20 % asked for: 4 to 22 % saved",
        13,
        9,
        lambda: saved("mandatory", 20),
        "%",
    ),
    Check(
        "State Water Board, 1 Nov 2016, as given in the press",
        "mandatory, 25 % asked for: 23.0 % saved",
        23.0,
        1.0,
        lambda: saved("mandatory", 25),
        "%",
        "second-hand",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What a run saves lies where savings were measured."""
    check.holds()
