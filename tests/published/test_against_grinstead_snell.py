"""Absorbing chains, compared with Grinstead & Snell, Introduction to Probability, section 11.2.

Numbers as given in a collection of check values; the book itself was not seen. A chain is made a
record: one m3/d enters each transient state, T = 1' (I - P)^-1 flows through it, T_i P_ij goes on.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from conserves import assert_closes
from published_checks import Check, half

from hydroloop.record import Network, build_record, edges_of
from hydroloop.tracing import long_run

SOURCE = "Grinstead & Snell, Introduction to Probability, {} (as given in a list of check values)"


def chain(share, ends):
    """Long run of a chain: shares from state to state, and ends as (state, boundary, share)."""
    share = np.array(share)
    states = [f"state/{k}" for k in range(len(share))]
    through = np.ones(len(share)) @ np.linalg.inv(np.eye(len(share)) - share)
    flows = [("rain", state, "rain", 1.0) for state in states]
    flows += [
        (states[i], states[j], "river", through[i] * share[i, j])
        for i, j in zip(*np.nonzero(share), strict=True)
    ]
    flows += [(states[i], end, "river", through[i] * part) for i, end, part in ends]
    source, target, kind, rate = (list(column) for column in zip(*flows, strict=True))
    network = Network(states, source, target, kind)
    record = build_record(network, edges_of("2031-01-01", 1), np.zeros((2, len(states))), [rate])
    assert_closes(record)
    return long_run(record, gate="river")


@cache
def walk():
    """Long run of the drunkard's walk."""
    return chain(
        [[0, 0.5, 0], [0.5, 0, 0.5], [0, 0.5, 0]], [(0, "sky", 0.5), (2, "downstream", 0.5)]
    )


@cache
def down():
    """States 4, 3, 2, 1; from k to every lower state with the share 1/k; 0 absorbs."""
    return chain(
        [[0, 1 / 4, 1 / 4, 1 / 4], [0, 0, 1 / 3, 1 / 3], [0, 0, 0, 1 / 2], [0, 0, 0, 0]],
        [(0, "sky", 1 / 4), (1, "sky", 1 / 3), (2, "sky", 1 / 2), (3, "sky", 1.0)],
    )


def _checks(where, quantity, printed, ours):
    """One check per number of a printed table."""
    return [
        Check(
            source=SOURCE.format(where),
            quantity=f"{quantity}, entry {place}",
            printed=float(text),
            tolerance=half(text) if "." in text else 1e-12,
            ours=lambda place=place: np.asarray(ours())[place],
            known="second-hand",
        )
        for place, text in np.ndenumerate(np.array(printed))
    ]


CHECKS = [
    *_checks(
        "Example 11.2.2, drunkard's walk",
        "fundamental matrix N",
        [["1.5", "1", ".5"], ["1", "2", "1"], [".5", "1", "1.5"]],
        lambda: walk()["visits"],
    ),
    *_checks(
        "Example 11.2.2, drunkard's walk",
        "steps to absorption t",
        ["3", "4", "3"],
        lambda: walk()["visits"].sum("visited"),
    ),
    *_checks(
        "Example 11.2.2, drunkard's walk",
        "absorption probabilities B",
        [[".75", ".25"], [".5", ".5"], [".25", ".75"]],
        lambda: walk()["ends"].sel(exit=["sky", "downstream"]),
    ),
    *_checks(
        "an exercise of 11.2, step-down chain",
        "row of N from state 4",
        ["1", ".25", ".33333", ".5"],
        lambda: down()["visits"][0],
    ),
    *_checks(
        "an exercise of 11.2, step-down chain",
        "steps to absorption t",
        ["2.08333", "1.83333", "1.5", "1"],
        lambda: down()["visits"].sum("visited"),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()
