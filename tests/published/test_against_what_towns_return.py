"""Wastewater of a town: what comes back and what its effluent carries, against printed figures.

40 CFR 133.102: at most 30 mg/L in the effluent of 30 days, at least 85 % removed. Metcalf & Eddy,
Wastewater Engineering (from memory): 60 to 90 % of the water supplied reaches the sewers. A value
below a mark is checked by half of it, as far as zero, and one above it up to all.
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
from hydroloop.tracing import trace_material


@cache
def default_town():
    """Solids in the water of a default town."""
    scenario = one_town()
    record = hl.simulate(scenario)
    assert_closes(record)
    return trace_material(record, recipes(record, scenario.quality)["particles"])


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
    held = default_town().concentration
    return float(held.sel(store=f"larkmill/{role}").isel(edge=slice(-30, None)).mean())


RULE = "40 CFR 133.102"
CHECKS: list[Check] = [
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
    """What a town's effluent carries, and how much comes back, is what was printed."""
    check.holds()
