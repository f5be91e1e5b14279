"""Plants of practice pages for operators, written as a scenario and read from its plant report.

No named authors: Time for Math 3 and 26, an exam quiz, a detention-time practice page,
sedimentation question and lecture pages, an operator tutor, Treatment Plant Operator (TPO), a
course page on filter rates, an operator-exam page and Spellman. Their basins are those of a town;
the report that `hydroloop capacity` prints says detention, overflow, weir load and filter rate.
Tolerances as in test_against_operator_hydraulics.
"""

from __future__ import annotations

import pytest
from operator_units import FT, GAL, GPD_FT2, GPM, GPM_FT2, HOUR, MGD, operator_tolerance
from published_checks import Check
from small_scenarios import one_town

from hydroloop.plants.design import wastewater_plant, water_plant
from hydroloop.plants.peaking import Flows
from hydroloop.plants.plant_report import unit_report


def told(step: str, what: str, flow: float, **sizes: object) -> float:
    """A measure of one step of a town's plant at a flow through the step, from its report."""
    plant = "wastewater" if step in ("primary", "final_settling") else "plant"
    lines = [f"{name} = {size if name == 'count' else repr(size)}" for name, size in sizes.items()]
    table = f"[town.larkmill.{plant}.basins.{step}]\n" + "\n".join(lines) + "\n"
    town = one_town(table.replace("'", '"')).town["larkmill"]
    design = water_plant(town, flow) if plant == "plant" else wastewater_plant(town, flow)
    through = next(unit.through for unit in design.processes if unit.process == step)
    report = unit_report(design, Flows(*[flow / through] * 3), out=0)
    return next(row.value for row in report.rows if (row.process, row.what) == (step, what))


def gallons(step: str, flow: float = MGD, **sizes: object) -> float:
    """Volume of a step of a town's plant, from the detention that its report says."""
    return told(step, DETENTION, flow, **sizes) * flow / GAL


def drop_test(inches: float, minutes: float) -> float:
    """Filter rate in the report at the flow by which the water over a filter falls so much."""
    fall = inches / 12 * FT / (minutes / 1440)  # [m/d]
    return told("filters", "filter rate", fall * 300 * FT**2, **basin(15, 20)) / GPM_FT2


def basin(length: float, width: float, depth: float | None = None, count: int = 1) -> dict:
    """Sizes in feet, as a scenario says them."""
    sizes = {"count": count, "length": f"{length} ft", "width": f"{width} ft"}
    return sizes | ({"depth": f"{depth} ft"} if depth else {})


def ops(source, quantity, printed, units, ours, *, own=None):
    return Check(source, quantity, float(printed), operator_tolerance(printed, own), ours, units)


SETTLING, DETENTION, OVERFLOW = "sedimentation", "detention", "overflow rate"
MATH, TUTOR = "Time for Math 26", "operator tutor, sedimentation"
THREE = "sedimentation question page, 8 mgd in 3 tanks"

CHECKS: list[Check] = [
    ops(
        f"{MATH}, Q1",
        "detention of 75 x 22 x 10 ft at 1.25 mgd",
        "2.37",
        "h",
        lambda: told(SETTLING, DETENTION, 1.25 * MGD, **basin(75, 22, 10)) / HOUR,
    ),
    ops(
        f"{MATH}, Q3",
        "detention of 70 x 25 x 10 ft at 2.78 mgd",
        "1.13",
        "h",
        lambda: told(SETTLING, DETENTION, 2.78 * MGD, **basin(70, 25, 10)) / HOUR,
    ),
    ops(
        "detention-time practice page, 120 x 60 x 15 ft",
        "detention at 2.4 mgd",
        "8.08",
        "h",
        lambda: told(SETTLING, DETENTION, 2.4 * MGD, **basin(120, 60, 15)) / HOUR,
    ),
    ops(
        "detention-time practice page, 120 x 60 x 15 ft",
        "the same, as a flocculation basin",
        "0.3366",
        "d",
        lambda: told("flocculation", DETENTION, 2.4 * MGD, **basin(120, 60, 15)),
    ),
    ops(
        "lecture question page, 20,000 m3/d",
        "detention of 800 m2, 3.2 m deep",
        "3.072",
        "h",
        lambda: (
            told(SETTLING, DETENTION, 20_000.0, count=1, length="40 m", width="20 m", depth="3.2 m")
            / HOUR
        ),
    ),
    ops(
        "lecture question page, 20,000 m3/d",
        "overflow rate on 800 m2",
        "25",
        "m/d",
        lambda: told(SETTLING, OVERFLOW, 20_000.0, count=1, length="40 m", width="20 m"),
    ),
    ops(
        THREE,
        "detention of tanks 128 x 32 x 10 ft",
        "2.75",
        "h",
        lambda: told(SETTLING, DETENTION, 8 * MGD, **basin(128, 32, 10, 3)) / HOUR,
        own=0.01,
    ),
    ops(
        THREE,
        "overflow rate of 12,307 ft2",
        "650",
        "gpd/ft2",
        lambda: told(SETTLING, OVERFLOW, 8 * MGD, **basin(100, 41.02, count=3)) / GPD_FT2,
        own=0.5,
    ),
    ops(
        "Spellman, Mathematics and Statistics, Example 24.14",
        "overflow rate, 50 ft, 2,150,000 gpd",
        "1096",
        "gpd/ft2",
        lambda: told("primary", OVERFLOW, 2_150_000 * GAL, count=1, diameter="50 ft") / GPD_FT2,
        own=0.6,
    ),
    ops(
        f"{TUTOR}, 100 x 30 ft",
        "overflow rate at 6 mgd",
        "2000",
        "gpd/ft2",
        lambda: told(SETTLING, OVERFLOW, 6 * MGD, **basin(100, 30)) / GPD_FT2,
    ),
    ops(
        f"{TUTOR}, 200 x 50 ft",
        "overflow rate at 3,125 gpm",
        "450",
        "gpd/ft2",
        lambda: told(SETTLING, OVERFLOW, 3125 * GPM, **basin(200, 50)) / GPD_FT2,
    ),
    ops(
        "TPO, September 2017",
        "hydraulic load, 7.5 mgd + 3,900 gpm on 176 ft",
        "539.4",
        "gpd/ft2",
        lambda: (
            told("final_settling", OVERFLOW, 7.5 * MGD + 3900 * GPM, count=1, diameter="176 ft")
            / GPD_FT2
        ),
    ),
    ops(
        "water-treatment-math course page, 15 x 20 ft",
        "filter rate at 36,000 gph",
        "2",
        "gpm/ft2",
        lambda: told("filters", "filter rate", 36_000 * GAL / HOUR, **basin(15, 20)) / GPM_FT2,
    ),
    ops(
        "operator-exam page, two filters of 8 x 12 ft",
        "filter rate at 800 gpm",
        "4.2",
        "gpm/ft2",
        lambda: told("filters", "filter rate", 800 * GPM, **basin(8, 12, count=2)) / GPM_FT2,
    ),
    *(
        ops(
            source,
            f"volume of {words}",
            printed,
            "gal",
            lambda sizes=sizes: gallons(*sizes[:1], **sizes[1]),
        )
        for source, words, printed, sizes in (
            (f"{MATH}, Q1", "75 x 22 x 10 ft", "123420", (SETTLING, basin(75, 22, 10))),
            (f"{MATH}, Q3", "70 x 25 x 10 ft", "130900", (SETTLING, basin(70, 25, 10))),
            (
                "detention-time practice page, 120 x 60 x 15 ft",
                "120 x 60 x 15 ft",
                "807840",
                ("flocculation", basin(120, 60, 15)),
            ),
            (
                "exam quiz, a tank 75 ft wide and 10 ft deep",
                "75 ft by 10 ft, round",
                "330289",
                ("primary", {"count": 1, "diameter": "75 ft", "depth": "10 ft"}),
            ),
            (
                "Time for Math 3, Q2",
                "40 ft by 30 ft, round",
                "281846.4",
                ("final_settling", {"count": 1, "diameter": "40 ft", "depth": "30 ft"}),
            ),
        )
    ),
    *(
        ops(
            f"TPO, {month}, a filter whose water falls {inches} in in {minutes} min",
            "filter rate",
            printed,
            "gpm/ft2",
            lambda inches=inches, minutes=minutes: drop_test(inches, minutes),
        )
        for month, inches, minutes, printed in (
            ("November 2016", 8, 2, "2.5"),
            ("June 2021", 17, 5, "2.1"),
        )
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What a town's plant report says agrees with what operator texts print."""
    check.holds()


def test_feet_are_those_of_the_pages():
    """A basin of 75 x 22 x 10 ft holds 123,420 gallons of 7.48 in a cubic foot."""
    hours = told(SETTLING, DETENTION, 75 * 22 * 10 * FT**3, **basin(75, 22, 10)) / HOUR
    assert hours == pytest.approx(24.0)
