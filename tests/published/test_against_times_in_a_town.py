"""How long water stays, compared with figures for tanks, basins and mains.

Metcalf & Eddy, Wastewater Engineering (from memory): of a pulse through a completely mixed basin
nine tenths have left after 22 times as long as one tenth (the Morrill index). AWWA/ASCE, Water
Treatment Plant Design, Table 10.3: an unbaffled basin lets the first tenth pass in a tenth of its
turnover. Ours: the transit time that a record of hours has from intake to outfall, through one
mixed basin of ten days. U.S. EPA & AWWA 2002, finished-water storage (from memory): tanks are
turned over within 3 to 5 days. 30 TAC 290.110 and 40 CFR 141.65: free chlorine of at least 0.2 mg/L
at the far end and at most 4.0; ours at the far end of a default town in July.
"""

from __future__ import annotations

from datetime import date
from functools import cache

import numpy as np
import pytest
from conserves import assert_closes
from published_checks import Check, half
from small_scenarios import one_town
from steady_towns import through_a_basin

import hydroloop as hl
from hydroloop.studies.operators_round import operators_round

DAYS = 10.0  # turnover of the basin


@cache
def times() -> np.ndarray:
    """Within which a tenth, half and nine tenths have left the basin [d]."""
    return through_a_basin(DAYS, 1.0 / 24.0)


@cache
def default_tanks() -> float:
    """Turnover time of a default town's tanks [d]."""
    scenario = one_town(season__end="2031-06-30")
    record = hl.simulate(scenario)
    assert_closes(record)
    return float(hl.measures(record, scenario).turnover_time.sel(store="larkmill/tanks"))


def far_end() -> float:
    """Free chlorine at the far end of a default town's mains in July [mg/L]."""
    return float(operators_round(one_town(), "larkmill", date(2031, 7, 10)).far_end.mean())


CHECKS: list[Check] = [
    Check(
        "Metcalf & Eddy 2003, Wastewater Engineering (from memory)",
        "Morrill index of a completely mixed basin, about 22, in a town",
        22,
        half("22"),
        lambda: float(times()[2] / times()[0]),
        "-",
        "memory",
    ),
    Check(
        "AWWA/ASCE ch. 10, Table 10.3",
        "time of the first tenth over the turnover, unbaffled, in a town",
        0.1,
        half("0.1"),
        lambda: float(times()[0]) / DAYS,
    ),
    Check(
        "U.S. EPA & AWWA 2002, finished-water storage (from memory)",
        "turnover of tanks, within 5 days, against a default town",
        2.5,
        2.5,
        default_tanks,
        "d",
        "memory",
    ),
    Check(
        "30 TAC 290.110(b) and 40 CFR 141.65, as COMAR 26.04.01.23",
        "free chlorine at the far end of the mains, 0.2 to 4.0, a default town in July",
        2.1,
        1.9,
        far_end,
        "mg/L",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check: Check):
    """Water stays as long, and keeps as much chlorine, as was printed."""
    check.holds()
