"""A pulse test through a vessel, compared with Levenspiel, Chemical Reaction Engineering.

Example 11.1 (table second-hand) has the tracer at the outlet every 5 min: 0 3 5 5 4 2 1 0 g/L, an
area of 100 g min/L. Examples 13.1 and 14.1 (from memory, recomputed) have its mean, variance and
number of tanks. The vessel is written as a record of seven stores side by side, filled in
proportion to the curve; store k lets go of all that it holds at 5 k min. A parcel of the whole
filling is sent through it, and the moments of its transit are compared.
"""

from __future__ import annotations

import numpy as np
import pytest
from conserves import assert_closes, assert_whole
from published_checks import Check, half

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import follow

CURVE = np.array([0, 3, 5, 5, 4, 2, 1], dtype=float)
MINUTES = 5.0


def vessel():
    """Shares of a pulse that leave in each step of 5 min."""
    count = len(CURVE)
    stores = ["vessel/inlet", *(f"vessel/part_{k}" for k in range(count))]
    flows = [("vessel/inlet", part, "treatment") for part in stores[1:]]
    flows += [(part, "downstream", "outfall") for part in stores[1:]]
    source, target, kind = (list(column) for column in zip(*flows, strict=True))
    days = MINUTES / 1440
    volume, rate = np.zeros((count + 2, count + 1)), np.zeros((count + 1, 2 * count))
    volume[0, 0] = CURVE.sum()
    rate[0, :count] = CURVE / days
    for k in range(count):
        # The pulse enters in step 0 and stands through k edges.
        volume[1 : k + 1, k + 1] = CURVE[k]
        rate[k, count + k] = CURVE[k] / days
    network = Network(stores, source, target, kind)
    record = build_record(network, edges_of("2031-01-01", count + 1, days), volume, rate)
    assert_closes(record)
    fate = follow(record, at="vessel/inlet", on="2031-01-01", gate="outfall", steps=True)
    assert_whole(fate["share"])
    gone = fate["share_by_step"].sum("use").sel(place="downstream").values
    return np.diff(gone, prepend=0.0)


def moments():
    """Mean [min] and variance [min2] of the transit time."""
    share = vessel()
    time = MINUTES * np.arange(len(share))
    mean = share @ time
    return mean, share @ (time - mean) ** 2


BOOK = "Levenspiel, Chemical Reaction Engineering, {}"
CHECKS = [
    *(
        Check(
            BOOK.format("Example 11.1 (second-hand)"),
            f"E at {5 * k} min",
            float(text),
            1e-12,
            lambda k=k: vessel()[k] / MINUTES,
            "1/min",
            "second-hand",
        )
        for k, text in enumerate(["0", ".03", ".05", ".05", ".04", ".02", ".01"])
    ),
    Check(
        BOOK.format("Example 13.1 (from memory)"),
        "mean of the pulse",
        15,
        half("15"),
        lambda: moments()[0],
        "min",
        "memory",
    ),
    Check(
        BOOK.format("Example 13.1 (from memory)"),
        "variance of the pulse",
        47.5,
        half("47.5"),
        lambda: moments()[1],
        "min2",
        "memory",
    ),
    Check(
        BOOK.format("Example 14.1 (from memory)"),
        "number of equal tanks",
        4.74,
        half("4.74"),
        lambda: moments()[0] ** 2 / moments()[1],
        "-",
        "memory",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()
