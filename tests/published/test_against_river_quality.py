"""Iron, manganese and chlorine of a river town, as its round reads them, and what leaks.

NHMRC, Australian Drinking Water Guidelines, iron (typical tap); Tobiason et al. 2016, Current
Pollution Reports 2, introduction (plants aim below 0.02 mg/L of manganese); Eng. Proc. 2023, 55,
59, abstract (removal with permanganate); bulk decay of chlorine with temperature, k ~ exp(-6050/T)
(from memory: ratios only) and its half-life (Rossman et al. 1994, from memory); US EPA, Water
Audits and Water Loss Control (16 % lost, up to 75 % of it recoverable). A value below a mark is
checked by half of it, as far as zero.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache

import numpy as np
import pytest
from published_checks import Check, half
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.measures.materials import chlorine_decay
from hydroloop.record import flow_mask, flow_total
from hydroloop.studies.operators_round import operators_round

LN_2 = float(np.log(2.0))


@lru_cache(maxsize=4)
def outlet(test: str) -> float:
    """Mean of a day's readings at the outlet of a default town [mg/L]."""
    return float(operators_round(one_town(), "larkmill", date(2031, 7, 10)).readings[test].mean())


@lru_cache(maxsize=1)
def record():
    return hl.simulate(one_town())


def decay_at(celsius: float) -> float:
    """Decay of chlorine in water of so much warmth [1/d]."""
    town, quality = one_town().town["larkmill"], one_town().quality
    air = record()["tmean_c"]
    warm = record().assign(tmean_c=air.copy(data=np.full(air.shape, celsius)))
    return float(chlorine_decay(warm, quality, town)[0])


def leaking() -> float:
    """Leaks over what is put into the mains, in the account of a default town [%]."""
    leak, put = (
        float(flow_total(record(), flow_mask(record(), **which)).sum())
        for which in ({"kind": "leak"}, {"kind": "supply", "to_role": "mains"})
    )
    return 100.0 * leak / put


MEMORY = "bulk decay of chlorine, exp(-6050/T)"
CHECKS: list[Check] = [
    Check(
        "NHMRC Australian Drinking Water Guidelines 2011, iron",
        "iron at a typical tap",
        0.1,
        half("0.1"),
        lambda: outlet("iron"),
        "mg/L",
    ),
    Check(
        "Tobiason et al. 2016, introduction",
        "manganese aimed at, below 0.02",
        0.01,
        0.01,
        lambda: outlet("manganese"),
        "mg/L",
    ),
    Check(
        "Eng. Proc. 2023, 55, 59, abstract",
        "manganese removed with permanganate",
        71,
        2,
        lambda: 100.0 * (1.0 - outlet("manganese") / one_town().quality.manganese_mg_per_l),
        "%",
    ),
    Check(
        MEMORY, "25 C over 5 C", 4.30, 0.01, lambda: decay_at(25.0) / decay_at(5.0), "-", "memory"
    ),
    Check(
        MEMORY, "20 C over 10 C", 2.07, 0.01, lambda: decay_at(20.0) / decay_at(10.0), "-", "memory"
    ),
    Check(
        "Rossman et al. 1994",
        "half-life at 20 C",
        1.26,
        half("1.26"),
        lambda: LN_2 / decay_at(20.0),
        "d",
        "memory",
    ),
    Check(
        "US EPA 2013, Water Audits and Water Loss Control",
        "recoverable leaks: 75 % of 16 %",
        12,
        0.5,
        leaking,
        "%",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What the round reads agrees with what was printed."""
    check.holds()
