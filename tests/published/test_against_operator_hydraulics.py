"""Detention, overflow, weir and filter rates of practice pages for plant operators.

No named authors: Time for Math 26, Treatment Plant Operator (TPO) exam guides, Spellman
(Mathematics and Statistics for the Environment), an operators' tutor, VRWA Streamline 2013 and
course pages, each named by issue, example or its own numbers. US units as printed, exact factors in
`operator_units`; half of the last digit, or the source's own rounding where named, and 0.15 % for
7.48, 8.34 and 0.785. `INPUTS_READ` are exercises whose inputs alone were seen in print: held, but
no published answers.
"""

from __future__ import annotations

import math

import pytest
from operator_units import (
    FT,
    GAL,
    GPD_FT,
    GPD_FT2,
    GPM,
    GPM_FT2,
    HOUR,
    MGD,
    operator_tolerance,
)
from published_checks import Check

from hydroloop.plants.unit_process import UnitProcess, flow_at, measured


def ops(source, quantity, printed, units, ours, *, own=None):
    return Check(source, quantity, float(printed), operator_tolerance(printed, own), ours, units)


def basins(area_ft2, depth_ft=10.0, *, count=1, process="sedimentation", weir_ft=None):
    """Equal basins of a surface and depth in feet."""
    return UnitProcess(
        process,
        count,
        area_ft2 * depth_ft * FT**3,
        area_ft2 * FT**2,
        depth_ft * FT,
        weir_m=weir_ft and weir_ft * FT,
    )


def hours(area_ft2, depth_ft, mgd, count=1):
    return measured(basins(area_ft2, depth_ft), "detention", mgd * MGD, count) / HOUR


def overflow(area_ft2, flow, count=1):
    return measured(basins(area_ft2), "overflow rate", flow, count) / GPD_FT2


def filter_rate(area_ft2, flow, count=1):
    return measured(basins(area_ft2, process="filters"), "filter rate", flow, count) / GPM_FT2


def round_ft2(diameter_ft):
    return math.pi * diameter_ft**2 / 4.0


MATH = "Time for Math 26"
PAGE = "detention-time practice page, 120 x 60 x 15 ft"
LECTURE = "lecture question page, 20,000 m3/d"
THREE = "sedimentation question page, 8 mgd in 3 tanks"
TUTOR = "operator tutor, sedimentation"
FILTERS = "operator-exam page, two filters of 8 x 12 ft"

CHECKS: list[Check] = [
    ops(
        f"{MATH}, Q1",
        "detention of 75 x 22 x 10 ft at 1.25 mgd",
        "2.37",
        "h",
        lambda: hours(75 * 22, 10, 1.25),
    ),
    ops(
        f"{MATH}, Q3",
        "detention of 70 x 25 x 10 ft at 2.78 mgd",
        "1.13",
        "h",
        lambda: hours(70 * 25, 10, 2.78),
    ),
    ops(PAGE, "detention at 2.4 mgd", "8.08", "h", lambda: hours(120 * 60, 15, 2.4)),
    ops(
        LECTURE,
        "detention of 2,560 m3, 3.2 m deep",
        "3.072",
        "h",
        lambda: hours(800 / FT**2, 3.2 / FT, 20_000 / MGD),
    ),
    ops(
        LECTURE,
        "flow of 800 m2 at 25 m/d",
        "20000",
        "m3/d",
        lambda: flow_at(basins(800 / FT**2), "overflow rate", 25.0, 1),
    ),
    ops(
        THREE,
        "detention of tanks 128 x 32 x 10 ft",
        "2.75",
        "h",
        lambda: hours(128 * 32, 10, 8, 3),
        own=0.01,
    ),
    ops(
        "Spellman, Mathematics and Statistics, Example 24.14",
        "overflow rate, 50 ft, 2,150,000 gpd",
        "1096",
        "gpd/ft2",
        lambda: overflow(round_ft2(50), 2_150_000 * GAL),
        own=0.6,
    ),
    ops(
        f"{TUTOR}, 100 x 30 ft",
        "overflow rate at 6 mgd",
        "2000",
        "gpd/ft2",
        lambda: overflow(100 * 30, 6 * MGD),
    ),
    ops(
        f"{TUTOR}, 200 x 50 ft",
        "overflow rate at 3,125 gpm",
        "450",
        "gpd/ft2",
        lambda: overflow(200 * 50, 3125 * GPM),
    ),
    ops(
        "TPO, September 2017",
        "hydraulic load, 7.5 mgd + 3,900 gpm on 176 ft",
        "539.4",
        "gpd/ft2",
        lambda: overflow(round_ft2(176), 7.5 * MGD + 3900 * GPM),
    ),
    ops(
        "water-treatment-math course page, 15 x 20 ft",
        "filter rate at 36,000 gph",
        "2",
        "gpm/ft2",
        lambda: filter_rate(15 * 20, 36_000 * GAL / HOUR),
    ),
    ops(
        FILTERS,
        "filter rate at 800 gpm",
        "4.2",
        "gpm/ft2",
        lambda: filter_rate(8 * 12, 800 * GPM, 2),
    ),
]

INPUTS_READ: list[Check] = [
    ops(
        "VRWA summer 2013 Q8",
        "detention of 1 MG at 8 mgd",
        "3.0",
        "h",
        lambda: hours(1e6 * GAL / FT**3 / 10, 10, 8),
        own=0,
    ),
    ops(
        "VRWA summer 2013 Q7",
        "overflow of 3 basins 100 x 30 ft, 8.25 mgd",
        "916.7",
        "gpd/ft2",
        lambda: overflow(100 * 30, 8.25 * MGD, 3),
    ),
    ops(
        "VRWA summer 2013 Q5",
        "weir load, 87 ft, 1.0 mgd",
        "11494",
        "gpd/ft",
        lambda: measured(basins(1.0, weir_ft=87), "weir load", MGD, 1) / GPD_FT,
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what operator texts print."""
    check.holds()


@pytest.mark.parametrize("check", INPUTS_READ, ids=str)
def test_exercises_whose_answer_was_not_seen(check):
    """Exercises with printed inputs come out as their arithmetic says."""
    check.holds()
