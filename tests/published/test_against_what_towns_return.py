"""Wastewater of a town: what comes back, what it carries and what settles, against printed figures.

UNSW CVEN3502 workshop (read): 100,000 people with 200 L a day, 300 mg/L of suspended solids, of
which primary settling catches 70 %. 40 CFR 133.102: at most 30 mg/L in the effluent of 30 days and
at least 85 % removed. Metcalf & Eddy, Wastewater Engineering (from memory): 60 to 90 % of the water
supplied reaches the sewers. A value below a mark is checked by half of it, as
far as zero, and one above it up to all.
"""

from __future__ import annotations

from functools import cache

import pytest
from conserves import assert_closes
from published_checks import Check
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.measures.materials import recipes
from hydroloop.record import flow_mask, flow_total
from hydroloop.scenario import read_toml
from hydroloop.studies.separation import separations
from hydroloop.tracing import trace_material

WORKSHOP = """
title = "A workshop"
[season]
start = 2031-06-01
end = 2031-06-30
[weather]
seed = 1
[river.wren]
length = "20 km"
inflow = "20 m3/s"
[quality]
particles_mg_per_l = 0
solids_per_use_mg_per_l = 300
primary_removal = "70 %"
[town.city]
people = 100_000
intake = { river = "wren", at = "2 km" }
outfall = { river = "wren", at = "6 km" }
plant.backwash_to = "river"
homes.use_per_person = "200 L/person/day"
homes.consumed = "0 %"
workplaces.use_per_person = "0 L/person/day"
sewers.infiltration = "0 L/person/day"
sewers.storm_share = "0 %"
wastewater.sludge = "0 %"
"""


@cache
def workshop():
    scenario = read_toml(WORKSHOP)
    record = hl.simulate(scenario)
    assert_closes(record)
    return scenario, record


def settled() -> float:
    """Solids that primary settling of the workshop's town catches [kg/d]."""
    scenario, record = workshop()
    return separations(scenario, record, ["city"])["city"].caught["primary settling"]["particles"]


@cache
def default_town():
    """Scenario and record of a default town, and its solids as they are traced."""
    scenario = one_town()
    record = hl.simulate(scenario)
    assert_closes(record)
    return scenario, record, trace_material(record, recipes(record, scenario.quality)["particles"])


def returned() -> float:
    """Water that comes from homes and workplaces into sewers in a year, over what is put into the
    mains [%]."""
    record = hl.simulate(one_town(season__start="2031-01-01", season__end="2031-12-31"))
    assert_closes(record)
    sewage, put = (
        float(flow_total(record, flow_mask(record, **which)).sum())
        for which in (
            {"kind": "sewage", "to_role": "sewers"},
            {"kind": "supply", "to_role": "mains"},
        )
    )
    return 100.0 * sewage / put


def solids(role: str) -> float:
    """Mean concentration of what leaves a step of the wastewater plant [mg/L]."""
    held = default_town()[2].concentration
    return float(held.sel(store=f"larkmill/{role}").isel(edge=slice(-30, None)).mean())


def arriving() -> float:
    """Solids that come to the workshop's plant on its last day [kg/d]."""
    scenario, record = workshop()
    particles = recipes(record, scenario.quality)["particles"]
    held = trace_material(record, particles).concentration.sel(store="city/sewers").values[-1]
    comes = flow_total(record, flow_mask(record, kind="sewage", to_role="primary")).values[-1]
    return float(held * comes) / 1000.0


UNSW, RULE = "UNSW CVEN3502 workshop", "40 CFR 133.102"
CHECKS: list[Check] = [
    Check(UNSW, "solids of 100,000 people that come to the plant", 6000, 0.5, arriving, "kg/d"),
    Check(UNSW, "of them, caught by primary settling", 4200, 0.5, settled, "kg/d"),
    Check(
        RULE,
        "suspended solids of a default town's effluent, at most 30",
        15,
        15,
        lambda: solids("contact"),
        "mg/L",
    ),
    Check(
        RULE,
        "suspended solids that its wastewater plant removes, at least 85",
        92.5,
        7.5,
        lambda: 100.0 * (1.0 - solids("contact") / solids("sewers")),
        "%",
    ),
    Check(
        "Metcalf & Eddy 2003, Wastewater Engineering (from memory)",
        "water supplied that reaches the sewers, 60 to 90, a default town in a year",
        75,
        15,
        returned,
        "%",
        "memory",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check: Check):
    """What a town's wastewater carries and loses is what was printed."""
    check.holds()
