"""The Ohio River in a drought, compared with Cleary, Horton & Boes 1963, Reuse of Ohio River water.

As read in the abstract (JAWWA): municipalities and industry (process water) withdraw 1.47 billion
gallons a day, and less than one sixth of the flow has been withdrawn for such use before; the
withdrawals must rise by 500 % before the next one would find once-used water only. 1 bgd =
3.785412 million m3/d. The flow of the river is not given: six times the withdrawals, so that they
are one sixth of it. Twenty towns share the withdrawals and return them all.
"""

from __future__ import annotations

from functools import cache

import pytest
import xarray as xr
from conserves import assert_closes
from published_checks import Check, half

import hydroloop as hl
from hydroloop.record import Network, build_record, edges_of

WITHDRAWN = 1.47e9 * 3.785411784e-3
TOWNS = 20


@cache
def lowest_intake() -> xr.Dataset:
    """Measures at an intake below all towns."""
    flow, each = 6 * WITHDRAWN, WITHDRAWN / TOWNS
    flows = [("upstream", "ohio/reach_0", "upstream", flow)]
    for k in range(TOWNS):
        here, below, name = f"ohio/reach_{k}", f"ohio/reach_{k + 1}", f"town_{k}"
        flows += [
            (here, below, "river", flow - each),
            (here, f"{name}/mains", "intake", each),
            (f"{name}/mains", f"{name}/taps", "home_use", each),
            (f"{name}/taps", below, "outfall", each),
        ]
    flows += [
        (f"ohio/reach_{TOWNS}", "low/mains", "intake", each),
        ("low/mains", "low/taps", "home_use", each),
        ("low/taps", "sky", "evaporation", each),
        (f"ohio/reach_{TOWNS}", "downstream", "downstream", flow - each),
    ]
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    stores = list(dict.fromkeys(name for name in [*source, *target] if "/" in name))
    volume = [2 * flow if "reach" in name else 0.0 for name in stores]
    record = build_record(
        Network(stores, source, target, kind), edges_of("2031-01-01", 2), [volume] * 3, [rate] * 2
    )
    assert_closes(record)
    return hl.measures(record).sel(town="low")


def rise() -> float:
    """Rise of the withdrawals, in percent, at which they come to the whole flow."""
    return 100 * (1 / float(lowest_intake().season_return_ratio) - 1)


CHECKS = [
    Check(
        "Cleary, Horton & Boes 1963 (abstract)",
        "rise of withdrawals to once-used water",
        500.0,
        half("500"),
        rise,
        "%",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()


def test_less_than_one_sixth_was_withdrawn_before():
    """The share withdrawn before is less than the sixth that all withdrawals are of the flow."""
    used = float(lowest_intake().season_used_share)
    assert 0.9 / 6 < used < 1 / 6
