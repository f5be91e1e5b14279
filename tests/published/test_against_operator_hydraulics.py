"""Detention, overflow, weir and filter rates of practice pages for plant operators.

No named authors: Time for Math 3 and 26, Treatment Plant Operator (TPO) exam guides, Spellman
(Mathematics and Statistics for the Environment), an operators' tutor, VRWA Streamline 2013 and
course pages, each named by issue, example or its own numbers. US units as printed, exact factors in
`operator_units`; half of the last digit, or the source's own rounding where named, and 0.15 % for
7.48, 8.34 and 0.785. `INPUTS_READ` are exercises whose inputs alone were seen in print: held, but
no published answers.
"""

from __future__ import annotations

import pytest
from operator_units import (
    FT,
    GAL,
    GPD_FT,
    GPD_FT2,
    GPM,
    GPM_FT2,
    HOUR,
    INCH,
    MGD,
    MILE,
    MINUTE,
    operator_tolerance,
)
from published_checks import Check

from hydroloop.plants.filtration import (
    backwash_share,
    backwash_volume,
    drop_test_rate,
    filter_rate,
)
from hydroloop.plants.hydraulics import (
    area_for,
    detention_time,
    overflow_rate,
    pipe_volume,
    round_area,
    surface_area,
    volume_for,
    weir_for,
    weir_load,
)


def ops(source, quantity, printed, units, ours, *, own=None, known="read"):
    return Check(source, quantity, float(printed), operator_tolerance(printed, own), ours, units,
                 known)


def box(length_ft, width_ft, depth_ft):
    """Volume of a rectangular basin in feet [m3]."""
    return surface_area(length_ft * FT, width_ft * FT) * depth_ft * FT


def box_hours(length_ft, width_ft, depth_ft, mgd):
    return detention_time(box(length_ft, width_ft, depth_ft), mgd * MGD) / HOUR


def rate(flow, length_ft, width_ft):
    return overflow_rate(flow, surface_area(length_ft * FT, width_ft * FT)) / GPD_FT2


MATH, QUIZ = "Time for Math", "exam quiz, tank of 75 ft"
PAGE = "detention-time practice page, 120 x 60 x 15 ft"
LECTURE = "lecture question page, 20,000 m3/d"
THREE = "sedimentation question page, 8 mgd in 3 tanks"
TUTOR = "operator tutor, sedimentation"

CHECKS: list[Check] = [
    ops(f"{MATH} 26, Q1", "volume of 75 x 22 x 10 ft", "123420", "gal",
        lambda: box(75, 22, 10) / GAL),
    ops(f"{MATH} 26, Q1", "detention of 75 x 22 x 10 ft at 1.25 mgd", "2.37", "h",
        lambda: box_hours(75, 22, 10, 1.25)),
    ops(f"{MATH} 26, Q3", "volume of 70 x 25 x 10 ft", "130900", "gal",
        lambda: box(70, 25, 10) / GAL),
    ops(f"{MATH} 26, Q3", "detention of 70 x 25 x 10 ft at 2.78 mgd", "1.13", "h",
        lambda: box_hours(70, 25, 10, 2.78)),
    ops(PAGE, "volume", "807840", "gal", lambda: box(120, 60, 15) / GAL),
    ops(PAGE, "detention at 2.4 mgd in days", "0.3366", "d",
        lambda: box_hours(120, 60, 15, 2.4) * HOUR),
    ops(PAGE, "detention at 2.4 mgd", "8.08", "h", lambda: box_hours(120, 60, 15, 2.4)),
    ops(LECTURE, "area at 25 m/d", "800", "m2", lambda: area_for(25, 20_000)),
    ops(LECTURE, "volume 3.2 m deep", "2560", "m3",
        lambda: volume_for(3.2 / 25, 20_000)),
    ops(LECTURE, "detention", "3.072", "h", lambda: detention_time(2560, 20_000) / HOUR),
    ops(THREE, "area for 650 gpd/ft2", "12307", "ft2",
        lambda: area_for(650 * GPD_FT2, 8 * MGD) / FT**2, own=1),
    ops(THREE, "area of each", "4102", "ft2",
        lambda: area_for(650 * GPD_FT2, 8 * MGD / 3) / FT**2, own=1),
    ops(THREE, "weir of each at 20,000 gpd/ft", "133.4", "ft",
        lambda: weir_for(20_000 * GPD_FT, 8 * MGD / 3) / FT, own=0.1),
    ops(THREE, "detention of tanks 128 x 32 x 10 ft", "2.75", "h",
        lambda: box_hours(128, 32, 10, 8 / 3), own=0.01),
    ops("Spellman, Mathematics and Statistics, Example 24.14",
        "overflow rate, 50 ft, 2,150,000 gpd", "1096", "gpd/ft2",
        lambda: overflow_rate(2_150_000 * GAL, round_area(50 * FT)) / GPD_FT2, own=0.6),
    ops(f"{TUTOR}, 100 x 30 ft", "overflow rate at 6 mgd", "2000", "gpd/ft2",
        lambda: rate(6 * MGD, 100, 30)),
    ops(f"{TUTOR}, 200 x 50 ft", "3,125 gpm as gpd", "4500000", "gpd",
        lambda: 3125 * GPM / GAL),
    ops(f"{TUTOR}, 200 x 50 ft", "overflow rate at 3,125 gpm", "450", "gpd/ft2",
        lambda: rate(3125 * GPM, 200, 50)),
    ops("TPO September 2017", "hydraulic load, 7.5 mgd + 3,900 gpm on 176 ft", "539.4", "gpd/ft2",
        lambda: overflow_rate(7.5 * MGD + 3900 * GPM, round_area(176 * FT)) / GPD_FT2),
    ops("TPO November 2016", "drop test, 8 in in 2 min", "2.5", "gpm/ft2",
        lambda: drop_test_rate(8 * INCH, 2 * MINUTE) / GPM_FT2),
    ops("TPO June 2021", "drop test, 17 in in 5 min", "2.1", "gpm/ft2",
        lambda: drop_test_rate(17 * INCH, 5 * MINUTE) / GPM_FT2),
    ops("water-treatment-math course page, 15 x 20 ft", "filter rate at 36,000 gph", "2", "gpm/ft2",
        lambda: filter_rate(36_000 * GAL / HOUR, surface_area(15 * FT, 20 * FT)) / GPM_FT2),
    ops("operator-exam page, two filters of 8 x 12 ft", "area", "192", "ft2",
        lambda: 2 * surface_area(8 * FT, 12 * FT) / FT**2),
    ops("operator-exam page, two filters of 8 x 12 ft", "filter rate at 800 gpm", "4.2", "gpm/ft2",
        lambda: filter_rate(800 * GPM, 2 * surface_area(8 * FT, 12 * FT)) / GPM_FT2),
    ops("operator answers I, wet well 15 x 12 ft", "water in a drop of 4 ft", "5385.6", "gal",
        lambda: box(15, 12, 4) / GAL),
    ops("operator answers I, wet well 15 x 12 ft", "flow of that drop in 30 min", "180", "gpm",
        lambda: drop_test_rate(4 * FT, 30 * MINUTE) * surface_area(15 * FT, 12 * FT) / GPM,
        own=0.5),
    ops(QUIZ, "volume 10 ft deep", "330289", "gal", lambda: pipe_volume(75 * FT, 10 * FT) / GAL),
    ops("UFC 3-280-04 Appendix B", "wash at 15 gpm/ft2 of 12.57 ft2 for 10 min", "1885", "gal",
        lambda: backwash_volume(15 * GPM_FT2, 12.57 * FT**2, 10 * MINUTE) / GAL, own=1),
    ops("UFC 3-280-04 Appendix B", "two washes", "3772", "gal",
        lambda: 2 * backwash_volume(15 * GPM_FT2, 12.57 * FT**2, 10 * MINUTE) / GAL, own=1),
    ops("Spellman, Science of Water, Example 10.92", "48,500 of 11,400,000 gal for washing", "0.43",
        "%", lambda: 100 * backwash_share(48_500 * GAL, 11_400_000 * GAL)),
    ops("homework page after a textbook, main of 4 ft, as given there", "2.5 miles", "13200", "ft",
        lambda: 2.5 * MILE / FT, known="second-hand"),
    ops("homework page after a textbook, main of 4 ft, as given there", "30 mgd", "20833.33", "gpm",
        lambda: 30 * MGD / GPM, known="second-hand"),
]  # fmt: skip

INPUTS_READ: list[Check] = [
    # It prints 44,848.6 ft3, which is 12 ft of water.
    ops("TPO October 2014, clarifiers of 69 ft", "volume 18 ft deep", "67272.9", "ft3",
        lambda: pipe_volume(69 * FT, 18 * FT) / FT**3),
    ops("VRWA summer 2013 Q8", "detention of 1 MG at 8 mgd", "3.0", "h",
        lambda: detention_time(1e6 * GAL, 8 * MGD) / HOUR, own=0),
    ops("VRWA summer 2013 Q7", "overflow of 3 basins 100 x 30 ft, 8.25 mgd", "916.7", "gpd/ft2",
        lambda: rate(8.25 * MGD / 3, 100, 30)),
    ops("VRWA summer 2013 Q5", "weir load, 87 ft, 1.0 mgd", "11494", "gpd/ft",
        lambda: weir_load(MGD, 87 * FT) / GPD_FT),
    ops("VRWA 2013 no. 4 Q2", "flush of 6 in x 540 ft at 10 gpm", "80", "min",
        lambda: detention_time(pipe_volume(6 * INCH, 540 * FT), 10 * GPM) / MINUTE, own=1),
]  # fmt: skip


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what operator texts print."""
    check.holds()


@pytest.mark.parametrize("check", INPUTS_READ, ids=str)
def test_exercises_whose_answer_was_not_seen(check):
    """Exercises with printed inputs come out as their arithmetic says."""
    check.holds()
