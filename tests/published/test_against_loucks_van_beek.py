"""A reservoir under a constant draft, compared with the sequent peak of Loucks & van Beek 2005.

Water Resource Systems Planning and Management, chapter 11, table of the sequent peak procedure
(from memory): inflows 1, 3, 3, 5, 8, 6, 7, 2, 1, run through twice, a draft of 3.5, the storage
drawn down after each period, and 7.5 as the storage needed. A period is a day, a unit 1 m3/s for
that day; the reservoir of a scenario begins full, lets the draft out and spills what is more.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import xarray as xr
from file_scenarios import head, rows, run, thirsty_town
from published_checks import Check, half

from hydroloop.measures import reservoir_yield

INFLOW = (1, 3, 3, 5, 8, 6, 7, 2, 1)
DRAWN = "2.5 3.0 3.5 2.0 0.0 0.0 0.0 1.5 4.0 6.5 7.0 7.5 6.0 1.5 0.0 0.0 1.5 4.0"
DRAFT, NEEDED, CAPACITY, UNIT_M3 = 3.5, 7.5, 20.0, 86_400.0
DAYS = np.arange("2031-06-01", "2031-06-19", dtype="datetime64[D]")
MERE = "mere/reservoir"
RESERVOIR = f"""
[weather]
seed = 1
[river.wren]
length = "1 km"
inflow = {{ file = "inflow.csv" }}
speed = "2.5 m/s"
width = "1 m"
[reservoir.mere]
river = "wren"
at = "10 m"
capacity = "{CAPACITY * UNIT_M3 / 1000} ML"
area = "0.0001 km2"
start = "100 %"
dead_storage = "0 %"
release = "{DRAFT} m3/s"
"""


@cache
def record_of_mere() -> xr.Dataset:
    """Record of the run."""
    text = head(DAYS[0], DAYS[-1]) + RESERVOIR + thirsty_town("wren", 0.5, 1)
    return run(text, inflow=rows("date,flow [m3/s]", zip(DAYS, 2 * INFLOW, strict=True)))


def drawn_down(period: int) -> float:
    """Storage missing at the end of a period."""
    held = record_of_mere()["volume"].sel(store=MERE).values
    return float(held[0] - held[period + 1]) / UNIT_M3


def draft_given() -> float:
    """What the storage that is needed gives in every period of the record."""
    return float(reservoir_yield(record_of_mere(), MERE, NEEDED * UNIT_M3)) / UNIT_M3


def loucks(quantity, text, ours):
    return Check(
        "Loucks & van Beek 2005, Table of the sequent peak, ch. 11 (from memory)",
        quantity,
        float(text),
        half(text),
        ours,
        known="memory",
    )


CHECKS: list[Check] = [
    *(
        loucks(f"drawn down after period {k + 1}", text, lambda k=k: drawn_down(k))
        for k, text in enumerate(DRAWN.split())
    ),
    loucks("draft that a storage of 7.5 gives", "3.5", draft_given),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What the reservoir of a run lacks agrees with what the book prints."""
    check.holds()
