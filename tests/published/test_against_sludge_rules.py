"""Sludge of water and wastewater: stoichiometry, solids and the water that goes with them.

UNSW CVEN3502 workshop (water in sludge); an alum-sludge question page and Turovskiy & Mathai's
quote of WEF 1998 (second-hand); Kalvani et al. 2021 (means in the abstract: inputs read, so not
counted). The question page rounds 2 x 78 / 666 to 0.234 on its way: tolerance 18 x half of its last
digit.
"""

from __future__ import annotations

import pytest
from operator_units import GAL
from published_checks import Check, half

from hydroloop.plants.dosing import feed_for
from hydroloop.plants.sludge import (
    ALUM_HYDROXIDE_SHARE,
    alum_sludge,
    alum_solids_mg_per_l,
    removed_share,
    sludge_solids,
    solids_removed,
    water_in_sludge,
)

UNSW = "UNSW CVEN3502 workshop, 100,000 people"
ALUM = "alum-sludge question page, alum of 666 g, as given there"

CHECKS: list[Check] = [
    Check(UNSW, "inflow at 200 L/d each", 20_000_000, 0, lambda: 100_000 * 200, "L/d"),
    Check(UNSW, "solids in the inflow, 300 mg/L", 6000, 1e-9,
          lambda: solids_removed(20_000, 300, 1.0), "kg/d"),
    Check(UNSW, "solids removed, 70 %", 4200, 1e-9, lambda: solids_removed(20_000, 300, 0.7),
          "kg/d"),
    Check(UNSW, "water in sludge of 95 % moisture", 79_800, 1e-6,
          lambda: 1000 * water_in_sludge(solids_removed(20_000, 300, 0.7), 0.95), "kg/d"),
    Check(UNSW, "that water over the inflow", 0.40, half("0.40"),
          lambda: 100 * water_in_sludge(solids_removed(20_000, 300, 0.7), 0.95) / 20_000, "%"),
    Check(ALUM, "aluminium hydroxide from a gram of alum", 0.234, half("0.234"),
          lambda: ALUM_HYDROXIDE_SHARE, "g/g", "second-hand"),
    Check(ALUM, "hydroxide of 18 mg/L", 4.212, 18 * half("0.234"),
          lambda: alum_solids_mg_per_l(18, 0), "mg/L", "second-hand"),
    Check(ALUM, "dry sludge, solids 40 to 12 mg/L", 32.212, 18 * half("0.234"),
          lambda: alum_solids_mg_per_l(18, 40 - 12), "mg/L", "second-hand"),
    Check("WEF 1998, as given in Turovskiy & Mathai", "dry solids of a million gallons, 0.24 kg/m3",
          908, 9.08, lambda: feed_for(1e6 * GAL, 240), "kg", "second-hand"),
]  # fmt: skip


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()


def test_works_alum_in_two_forms():
    """Cornwell's rule for a day (from memory) is the alum part of Lang's with its bound water."""
    flow = 0.6 * 86_400
    assert alum_sludge(flow, 18, 28, 3) == pytest.approx(
        sludge_solids(flow, alum=18, suspended=28, added=3), rel=1e-12
    )


@pytest.mark.parametrize(("before", "after", "percent"), [(0.93, 0.18, 80.6), (0.24, 0.105, 56.3)])
def test_removal_of_iron_and_manganese(before, after, percent):
    """Removal from the means of 516 samples (Kalvani 2021, inputs read), within 1 %."""
    assert 100 * removed_share(before, after) == pytest.approx(percent, abs=1)
