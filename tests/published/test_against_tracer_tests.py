"""Tracer tests of tanks against textbooks and the guidance manual on contact times.

Fogler, Elements of Chemical Reaction Engineering, 4th ed., Examples 13-1 and 13-2 (from memory):
moments by Simpson's rule, as the book has them (0.5 %). Michigan's lecture example is read; it
stands for a curve of straight lines. The guidance manual's step and slug tests are from memory; the
slug's tail is cut off at 60 min, and the manual adds up blocks, hence a minute.
"""

from __future__ import annotations

import warnings
from functools import cache

import numpy as np
import pytest
from published_checks import Check, half

from hydroloop.plants import pulse_test, step_test

FOGLER = "Fogler, Elements of Chemical Reaction Engineering, Examples 13-1 and 13-2 (from memory)"
MICHIGAN = "Univ. of Michigan, reaction engineering, lecture 13, example 2"
MANUAL = "US EPA 1991, Surface Water Treatment Rule guidance manual, tracers (from memory)"


@cache
def fogler():
    return pulse_test(
        [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 14],
        [0, 1, 5, 8, 10, 8, 6, 4, 3.0, 2.2, 1.5, 0.6, 0],
        rule="simpson",
    )


@cache
def triangle():
    return pulse_test([10, 15, 20, 25, 30], [0, 5, 10, 5, 0])


@cache
def fluoride():
    return step_test(
        np.arange(0, 64, 3),
        [
            0.2,
            0.2,
            0.2,
            0.2,
            0.29,
            0.67,
            0.94,
            1.04,
            1.44,
            1.55,
            1.52,
            1.73,
            1.93,
            1.85,
            1.92,
            2.02,
            1.97,
            1.84,
            2.06,
            2.05,
            2.10,
            2.14,
        ],
        dose=2.0,
        base=0.2,
    )


@cache
def slug():
    with warnings.catch_warnings(action="ignore"):  # the tail is cut off, which is said
        return pulse_test(
            np.arange(0, 61, 3),
            [
                0,
                0,
                0,
                0,
                1,
                3.4,
                3.6,
                1.8,
                1.9,
                1.2,
                1.1,
                1.3,
                0.8,
                0.4,
                0.8,
                0.4,
                0.6,
                0.4,
                0.2,
                0.3,
                0.4,
            ],
        )


CHECKS = [
    Check(
        FOGLER,
        "area under the pulse",
        50.0,
        half("50.0"),
        lambda: fogler().area,
        "g min/m3",
        "memory",
    ),
    Check(FOGLER, "mean time", 5.15, 0.026, lambda: fogler().mean, "min", "memory"),
    Check(FOGLER, "variance", 6.10, 0.031, lambda: fogler().variance, "min2", "memory"),
    Check(
        FOGLER,
        "share that leaves between 3 and 6 min",
        0.51,
        half("0.51"),
        lambda: fogler().share_between(3, 6),
        "-",
        "memory",
    ),
    *(
        Check(
            MICHIGAN,
            f"share that has left at {t} s",
            float(text),
            1e-12,
            lambda t=t: triangle().share_between(0, t),
        )
        for t, text in ((15, "0.125"), (20, "0.5"), (25, "0.875"), (30, "1.0"))
    ),
    Check(
        MICHIGAN,
        "share between 15 and 20 s",
        37.5,
        1e-9,
        lambda: 100 * triangle().share_between(15, 20),
        "%",
    ),
    Check(MICHIGAN, "mean time", 20, 1e-9, lambda: triangle().mean, "s"),
    *(
        Check(
            MANUAL,
            f"step test, C/C0 at {t} min",
            float(text),
            half(text),
            lambda t=t: fluoride().share_between(0, t),
            "-",
            "memory",
        )
        for t, text in (
            (12, "0.045"),
            (15, "0.24"),
            (18, "0.37"),
            (21, "0.42"),
            (24, "0.62"),
            (27, "0.68"),
        )
    ),
    Check(MANUAL, "step test, T10", 13, 0.3, lambda: fluoride().t10, "min", "memory"),
    Check(MANUAL, "slug test, T10", 15, 1, lambda: slug().t10, "min", "memory"),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()
