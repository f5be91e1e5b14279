"""The Cone Spring energy network, compared with totals and cycling index of Tilly 1968.

Flows in kcal m-2 yr-1: from memory, and exactly balanced at every node. Totals and index as given
in the vignette of a program for flow analysis. One kcal m-2 yr-1 is written as one m3/d.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from conserves import assert_closes
from published_checks import Check, half

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import long_run

SOURCE = "Tilly 1968, Cone Spring, as given in a vignette on flow analysis"
FLOWS = [
    ("upstream", "plants", 11184),
    ("upstream", "detritus", 635),
    ("plants", "detritus", 8881),
    ("plants", "sky", 2003),
    ("plants", "downstream", 300),
    ("bacteria", "feeders", 75),
    ("bacteria", "detritus", 1600),
    ("bacteria", "sky", 3275),
    ("bacteria", "downstream", 255),
    ("feeders", "carnivores", 370),
    ("feeders", "detritus", 200),
    ("feeders", "sky", 1814),
    ("carnivores", "detritus", 167),
    ("carnivores", "sky", 203),
    ("detritus", "bacteria", 5205),
    ("detritus", "feeders", 2309),
    ("detritus", "sky", 3109),
    ("detritus", "downstream", 860),
]


@cache
def spring():
    """Long run of the network."""
    source, target, rate = (list(column) for column in zip(*FLOWS, strict=True))
    nodes = ["plants", "bacteria", "feeders", "carnivores", "detritus"]
    network = Network(nodes, source, target, ["river"] * len(FLOWS))
    record = build_record(network, edges_of("2031-01-01", 1), np.zeros((2, 5)), [rate])
    assert_closes(record)
    return long_run(record, gate="river")


CHECKS = [
    Check(
        SOURCE,
        "total inputs",
        11819,
        half("11819"),
        lambda: float(spring()["throughflow"].sum() / spring()["path_length"]),
        "kcal m-2 yr-1",
        "second-hand",
    ),
    Check(
        SOURCE,
        "total system throughflow",
        30626,
        half("30626"),
        lambda: float(spring()["throughflow"].sum()),
        "kcal m-2 yr-1",
        "second-hand",
    ),
    Check(
        SOURCE,
        "cycling index (Finn 1980)",
        0.09,
        half("0.09"),
        lambda: float(spring()["cycling_index"]),
        "-",
        "second-hand",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()
