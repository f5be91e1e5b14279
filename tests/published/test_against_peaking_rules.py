"""Peaks of water and sewage by published rules.

35 Ill. Adm. Code 653.105; Civil Engineering License Review, ch. 9; Wyo. Water Quality Rules ch. 12
s. 13 (storage). Gallons through 1 US gal = 3.785411784 L.
"""

from __future__ import annotations

import numpy as np
import pytest
from operator_units import GAL
from published_checks import Check

from hydroloop.plants.peaking import season_flows, sewage_flows
from hydroloop.plants.standards import finished_storage_days

FLAT = season_flows(np.full(3, 1000.0), 1.0)  # a supply known by the day alone
CE, WYO = "Civil Engineering License Review, 15th ed., ch. 9", "Wyo. ch. 12 s. 13(a)(i)"

CHECKS: list[Check] = [
    Check(
        "35 Ill. Adm. Code 653.105",
        "maximum hour over maximum day",
        2.0,
        0,
        lambda: FLAT.peak_hour / FLAT.maximum_day,
    ),
    Check(
        CE, "sewage, peak day of 50,000 people", 1.8, 0, lambda: sewage_flows(1.0, 50_000).peaks[0]
    ),
    Check(
        f"{WYO}(A)",
        "storage, 49,999 gpd",
        1,
        0,
        lambda: finished_storage_days(49_999 * GAL)[0],
        "average days",
    ),
    Check(
        f"{WYO}(B)",
        "storage, 500,000 gpd, without fire",
        1,
        0,
        lambda: finished_storage_days(500_000 * GAL)[0],
        "average days",
    ),
    Check(
        f"{WYO}(C)",
        "storage, 500,001 gpd, without fire",
        0.25,
        0,
        lambda: finished_storage_days(500_001 * GAL)[1],
        "maximum days",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()
