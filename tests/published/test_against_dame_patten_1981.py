"""The energy of an oyster reef, compared with totals and indices of Dame & Patten 1981.

Marine Ecology Progress Series 5:115, flows in kcal m-2 d-1 from memory; they close at every node
within 0.0006, and the gap is taken by respiration. Totals, path length and cycling index as a
vignette on flow analysis prints them (from memory). One kcal is written as one m3.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from conserves import assert_closes
from published_checks import Check, half

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import long_run

FLOWS = {
    ("upstream", "feeders"): 41.47,
    ("feeders", "detritus"): 15.7910,
    ("feeders", "predators"): 0.5135,
    ("detritus", "microbiota"): 8.1721,
    ("detritus", "meiofauna"): 7.2745,
    ("detritus", "deposit_feeders"): 0.6431,
    ("microbiota", "meiofauna"): 1.2060,
    ("microbiota", "deposit_feeders"): 1.2060,
    ("meiofauna", "detritus"): 4.2403,
    ("meiofauna", "deposit_feeders"): 0.6609,
    ("deposit_feeders", "detritus"): 1.9076,
    ("deposit_feeders", "predators"): 0.1721,
    ("predators", "detritus"): 0.3262,
}
RESPIRED = {
    "feeders": 25.1650,
    "detritus": 6.1759,
    "microbiota": 5.7600,
    "meiofauna": 3.5794,
    "deposit_feeders": 0.4303,
    "predators": 0.3594,
}
"""As printed; what leaves here is what enters less what goes on."""


def respired(node: str) -> float:
    """What is left of what enters a node."""
    enters = sum(flow for (_, target), flow in FLOWS.items() if target == node)
    return enters - sum(flow for (source, _), flow in FLOWS.items() if source == node)


@cache
def reef():
    """Long run of the network."""
    flows = FLOWS | {(node, "sky"): respired(node) for node in RESPIRED}
    source, target = (list(ends) for ends in zip(*flows, strict=True))
    network = Network(list(RESPIRED), source, target, ["river"] * len(flows))
    rate = np.array([list(flows.values())])
    record = build_record(network, edges_of("2031-01-01", 1), np.zeros((2, len(RESPIRED))), rate)
    assert_closes(record)
    return long_run(record, gate="river")


def dame(quantity, text, ours, units="-"):
    return Check(
        "Dame & Patten 1981, oyster reef, as given in a vignette on flow analysis (from memory)",
        quantity,
        float(text),
        half(text),
        ours,
        units,
        "memory",
    )


CHECKS: list[Check] = [
    dame(
        "total system throughflow",
        "83.5833",
        lambda: float(reef()["throughflow"].sum()),
        "kcal m-2 d-1",
    ),
    dame("path length", "2.015512", lambda: float(reef()["path_length"])),
    dame("cycling index (Finn 1980)", "0.1101686", lambda: float(reef()["cycling_index"])),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()


def test_what_is_left_is_what_was_printed_to_be_respired():
    """The flows are remembered rightly: each node closes within 0.0006."""
    assert {node: respired(node) for node in RESPIRED} == pytest.approx(RESPIRED, abs=6e-4)
