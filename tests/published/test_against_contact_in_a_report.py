"""Contact that a town's clearwell needs, read from its plant report, as the federal tables have it.

40 CFR 141.74(b)(3)(v), Tables 1.1 to 1.6, *Giardia*, 3 logs, and EPA 815-R-20-003, Table B-2,
viruses, 4 logs, free chlorine; both as given in other works. A scenario says chlorine, pH and
temperature and that nothing is done before disinfection; the report that `hydroloop capacity`
prints says at which flow contact just suffices. Chlorine times T10 at that flow is compared, in mg
min/L.
"""

from __future__ import annotations

import pytest
from operator_units import MINUTE
from published_checks import Check
from small_scenarios import one_town

from hydroloop.plants import Flows, unit_report, water_plant

TABLE = """
[town.larkmill.plant.disinfection]
chlorine_mg_per_l = {chlorine}
ph = {ph}
temperature = "{temperature} C"
treatment = "none"
"""
BAFFLING = 0.3  # what a clearwell has if its scenario says nothing


def needed(germ: str, temperature: float, ph: float, chlorine: float) -> float:
    """CT at the flow at which the report of a town calls its contact just enough."""
    text = TABLE.format(chlorine=chlorine, ph=ph, temperature=temperature)
    plant = water_plant(one_town(text).town["larkmill"], 20_000.0)
    clearwell = next(unit for unit in plant.processes if unit.process == "clearwell")
    report = unit_report(plant, Flows(1.0, 1.0, 1.0), out=0)
    flow = next(row.limit_flow for row in report.rows if row.what == f"contact, {germ}")
    minutes = clearwell.count * clearwell.volume / flow / MINUTE
    return chlorine * BAFFLING * minutes


GIARDIA = (
    (0.5, 8, 1.0, 304),
    (5, 7, 1.0, 149),
    (10, 7, 1.0, 112),
    (10, 7.5, 1.0, 134),
    (15, 7.5, 1.2, 92),
    (20, 7, 1.0, 56),
)
VIRUSES = {0.5: 12, 5: 8, 10: 6, 15: 4, 20: 3, 25: 2}
CHECKS: list[Check] = [
    Check(
        source,
        f"{germ} at {temperature:g} C, pH {ph:g}, {chlorine:g} mg/L, in a report",
        printed,
        0.5,
        lambda row=(germ, temperature, ph, chlorine): needed(*row),
        "mg min/L",
        "second-hand",
    )
    for source, germ, rows in (
        ("40 CFR 141.74(b)(3)(v), as given in other works", "giardia", GIARDIA),
        (
            "EPA 815-R-20-003 Table B-2, as given elsewhere",
            "virus",
            [(temperature, 7, 1.0, ct) for temperature, ct in VIRUSES.items()],
        ),
    )
    for temperature, ph, chlorine, printed in rows
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """The contact that a town's report asks for is that of the tables."""
    check.holds()
