"""Rules of disinfection contact: baffling factors, logs required, credits, what is enough.

AWWA/ASCE, Water Treatment Plant Design, ch. 10, Tables 10.2 and 10.3; 40 CFR 141.534.
"""

from __future__ import annotations

import pytest
from operator_units import GPM_FT2, MINUTE
from published_checks import Check
from simple_plants import clearwell, contact, water_of

from hydroloop.plants.contact import (
    BAFFLING,
    CREDITS,
    LOGS_REQUIRED,
    log_inactivation,
    logs_left,
)
from hydroloop.plants.design import PlantDesign
from hydroloop.plants.peaking import Flows
from hydroloop.plants.plant_report import unit_report
from hydroloop.plants.unit_process import measured

T_10_3, T_10_2 = "AWWA/ASCE ch. 10, Table 10.3 p. 10.8", "AWWA/ASCE ch. 10, Table 10.2"


def filter_minutes():
    """Mean time in the filters a town has by default, at 4 gpm/ft2 [min]."""
    filters = next(unit for unit in water_of().processes if unit.process == "filters")
    flow = 4 * GPM_FT2 * filters.area_m2 / filters.through
    return measured(filters, "detention", flow, 1) / MINUTE


def sufficient_at(flow):
    """Whether a clearwell is called enough at a flow that gives this ratio of CT."""
    plant = PlantDesign("water", (clearwell(),), 1e9, "maximum_day", "maximum_day", contact())
    enough = unit_report(plant, Flows(1.0, 1.0, 1.0), out=0)
    limit = min(row.limit_flow for row in enough.rows if row.limit_flow is not None)
    report = unit_report(plant, Flows(limit / flow, limit / flow, limit / flow), out=0)
    return all(row.is_met for row in report.rows)


CHECKS: list[Check] = [
    *(
        Check(
            T_10_2,
            f"left after {how} treatment, {germ}",
            printed,
            0,
            lambda h=how, g=germ: logs_left(h)[g],
            "logs",
        )
        for how, values in (("conventional", (0.5, 2)), ("direct", (1, 3)))
        for germ, printed in zip(("giardia", "virus"), values, strict=True)
    ),
    Check(
        "AWWA/ASCE p. 10.8", "time in filters at 4 gpm/ft2, about", 15, 0.5, filter_minutes, "min"
    ),
    Check(
        "40 CFR 141.534",
        "logs at the CT for 99.9 %",
        3,
        0,
        lambda: log_inactivation(92, 92, germ="giardia"),
        "logs",
    ),
]
CONSTANTS: list[Check] = [
    *(
        Check(T_10_2, f"{what}, {germ}", printed, 0, lambda h=table, g=germ: h[g], "logs")
        for what, table, values in (
            ("required", LOGS_REQUIRED, (3, 4)),
            ("credit of conventional treatment", CREDITS["conventional"], (2.5, 2)),
            ("credit of direct filtration", CREDITS["direct"], (2, 1)),
        )
        for germ, printed in zip(("giardia", "virus"), values, strict=True)
    ),
    *(
        Check(T_10_3, f"T10 over mean time, {name}", printed, 0, lambda n=name: BAFFLING[n])
        for name, printed in (
            ("unbaffled", 0.1),
            ("poor", 0.3),
            ("average", 0.5),
            ("superior", 0.7),
            ("perfect", 1.0),
        )
    ),
]


def test_constants_as_printed():
    """What the program keeps is what was printed."""
    for one in CONSTANTS:
        one.holds()


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()


def test_a_ratio_of_one_is_enough():
    """Contact is enough from a ratio of 1.0 on (AWWA/ASCE ch. 10), and not just below it."""
    assert sufficient_at(1.0)
    assert not sufficient_at(0.999)
