"""Doses, feeds and loads of practice pages for plant operators.

Time for Math 3, Satterfield (NESC fact sheet), Treatment Plant Operator (TPO), flash cards, exam
quiz and VRWA Streamline 2013, each named by number or by its own figures. Tolerances as in
test_against_operator_hydraulics. `INPUTS_READ` are exercises whose inputs alone were seen in print.
"""

from __future__ import annotations

import pytest
from operator_units import FT, GAL, GPM, INCH, LB, MGD, MILE, operator_tolerance
from published_checks import Check

from hydroloop.plants.dosing import (
    chlorine_demand,
    dose_for,
    dose_from,
    feed_for,
    mass_for,
    product_for,
    saturated_fluoride_dose,
    solution_mass,
)
from hydroloop.plants.hydraulics import pipe_volume


def ops(source, quantity, printed, units, ours, *, own=None):
    return Check(source, quantity, float(printed), operator_tolerance(printed, own), ours, units)


def pounds_a_day(flow, dose):
    return feed_for(flow, dose) / LB


MATH, QUIZ = "Time for Math 3", "exam quiz, loads"
TANK, MAIN = (40 * FT, 30 * FT), (18 * INCH, 2 * MILE)

CHECKS: list[Check] = [
    ops(f"{MATH}, Q2", "tank of 40 ft x 30 ft", "281846.4", "gal",
        lambda: pipe_volume(*TANK) / GAL),
    ops(f"{MATH}, Q2", "chlorine for 9 mg/L in it", "21.2", "lb",
        lambda: mass_for(pipe_volume(*TANK), 9) / LB),
    ops(f"{MATH}, Q3", "main of 18 in x 2 miles", "18651.6", "ft3",
        lambda: pipe_volume(*MAIN) / FT**3),
    ops(f"{MATH}, Q3", "the same in gallons", "139513.97", "gal",
        lambda: pipe_volume(*MAIN) / GAL),
    ops(f"{MATH}, Q3", "chlorine for 6 mg/L in it", "6.98", "lb",
        lambda: mass_for(pipe_volume(*MAIN), 6) / LB),
    ops(f"{MATH}, Q4", "250 gpm", "0.36", "mgd", lambda: 250 * GPM / MGD),
    ops(f"{MATH}, Q4", "feed for 21 mg/L in 250 gpm", "63", "lb/d",
        lambda: pounds_a_day(250 * GPM, 21)),
    ops("Satterfield, NESC fact sheet, 1.5 mgd", "feed for 4 mg/L chlorine", "50", "lb/d",
        lambda: pounds_a_day(1.5 * MGD, 4)),
    ops("operator flash cards Q13", "dose of 240 lb/d in 24 mgd", "1.2", "mg/L",
        lambda: dose_from(240 * LB, 24 * MGD)),
    ops("TPO June 2019", "10 mL/min of SG 1.2 for 24 h", "38", "lb",
        lambda: solution_mass(10e-6 * 1440, 1.2) / LB),
    ops(f"{QUIZ} of 13 mgd", "load of 230 mg/L", "24937", "lb/d",
        lambda: pounds_a_day(13 * MGD, 230)),
    ops(f"{QUIZ} of 12.5 mgd", "dose of 1,100 lb/d", "10.55", "mg/L",
        lambda: dose_from(1100 * LB, 12.5 * MGD)),
    ops(f"{QUIZ} of 0.5 MG", "solids at 4,000 mg/L", "16680", "lb",
        lambda: mass_for(0.5e6 * GAL, 4000) / LB),
    ops("VRWA 2013 no. 4 Q4", "chlorine demand, 2.4 then 1.9 mg/L", "0.5", "mg/L",
        lambda: chlorine_demand(2.4, 1.9), own=1e-12),
    ops("VRWA 2013 no. 4 Q5", "hypochlorite of 65.9 %, 2 MG filled 15 %, 20 mg/L", "76", "lb",
        lambda: product_for(mass_for(0.15 * 2e6 * GAL, 20), 0.659) / LB, own=0.5),
]  # fmt: skip

INPUTS_READ: list[Check] = [
    ops("operator flash cards Q14", "feed for 3.5 mg/L in 8,000 gpm", "336.3", "lb/d",
        lambda: pounds_a_day(8000 * GPM, 3.5)),
    ops("VRWA summer 2013 Q4 (18,000 mg/L from memory)", "fluoride, 6.7 gal in 120,000 gal",
        "1.005", "mg/L", lambda: saturated_fluoride_dose(6.7 * GAL, 120_000 * GAL)),
    ops("VCCS ENV 110 worksheet 7", "feed for 6.5 mg/L in 5.25 mgd", "284.6", "lb/d",
        lambda: pounds_a_day(5.25 * MGD, 6.5)),
    ops("VCCS ENV 110 worksheet 7", "main of 10 in x 1,250 ft", "5097", "gal",
        lambda: pipe_volume(10 * INCH, 1250 * FT) / GAL),
    ops("VCCS ENV 110 worksheet 7", "chlorine for 32 mg/L in it", "1.36", "lb",
        lambda: mass_for(pipe_volume(10 * INCH, 1250 * FT), 32) / LB),
    ops("VCCS ENV 110 worksheet 7", "demand, dose 3.2, residual 0.9", "2.3", "mg/L",
        lambda: chlorine_demand(3.2, 0.9)),
    ops("VCCS ENV 110 worksheet 7", "feed, 2.42 mgd, demand 3.8, residual 0.7", "90.8", "lb/d",
        lambda: pounds_a_day(2.42 * MGD, dose_for(3.8, 0.7))),
    ops("model-ordinance page (prints 8.0, wrong), 28 lb", "dose of 28 lb in 6 MG", "0.56", "mg/L",
        lambda: dose_from(28 * LB, 6 * MGD)),
    ops("tutoring page (prints 3,800, wrong), 5 mgd", "alum for 20 mg/L", "834", "lb/d",
        lambda: pounds_a_day(5 * MGD, 20)),
]  # fmt: skip


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what operator texts print."""
    check.holds()


@pytest.mark.parametrize("check", INPUTS_READ, ids=str)
def test_exercises_whose_answer_was_not_seen(check):
    """Exercises with printed inputs, and two with a wrong printed answer, come out right."""
    check.holds()
