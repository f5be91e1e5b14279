"""Storms on the catchment of a river, compared with printed runoff.

USDA SCS 1986, Urban Hydrology for Small Watersheds, TR-55, Table 2-1, and USDA NRCS 2004, National
Engineering Handbook 630, chapter 10, Examples 10-1, 10-3 and 10-4. Each storm falls on the first
day of a season, in days and in hours, on catchments whose soil is half full, which is average
moisture; what is compared is the storm water in the record, in inches.
"""

from __future__ import annotations

import pytest
from published_checks import Check, half
from storms import runoff_of_a_day

NUMBERS = (50, 55, 60, 65, 70, 75, 80, 85, 90, 95)
TABLE = {
    3.0: ".09 .19 .33 .51 .71 .96 1.25 1.59 1.98 2.45",
    6.0: "1.14 1.52 1.92 2.35 2.81 3.28 3.78 4.30 4.85 5.41",
}
EXAMPLES = (
    ("10-1", 4.3, 74, "1.82"),
    ("10-3", 5.1, 75, "2.53"),
    ("10-3", 5.1, 69, "2.03"),
    ("10-4", 5.1, 73, "2.36"),
)


def checks():
    """Table 2-1 in days; the examples of the handbook in days and in hours."""
    for rain, row in TABLE.items():
        for number, text in zip(NUMBERS, row.split(), strict=True):
            step = "1 day" if rain == 6.0 else "1 hour"
            yield Check(
                "TR-55 (1986) Table 2-1",
                f"{rain:g} in on curve number {number}, a step of {step}",
                float(text),
                0.0051,
                lambda rain=rain, number=number, step=step: runoff_of_a_day(rain, NUMBERS, step)[
                    number
                ],
                "in",
            )
    for example, rain, number, text in EXAMPLES:
        for step in ("1 day", "1 hour"):
            yield Check(
                f"NEH 630 chapter 10 (2004) Example {example}",
                f"{rain:g} in on curve number {number}, a step of {step}",
                float(text),
                half(text),
                lambda rain=rain, number=number, step=step: runoff_of_a_day(rain, (number,), step)[
                    number
                ],
                "in",
            )


CHECKS: list[Check] = list(checks())


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What runs off a catchment in a run is what was printed."""
    check.holds()


@pytest.mark.parametrize("rain_in", [0.4, 3.0])
def test_a_storm_in_hours_is_the_storm_of_the_day(rain_in):
    """The runoff of a day's storm is the same in hours, whether it hardly begins or is large."""
    daily, hourly = (runoff_of_a_day(rain_in, NUMBERS, step) for step in ("1 day", "1 hour"))
    assert max(daily.values()) > 0.1
    assert hourly == pytest.approx(daily, rel=1e-9, abs=1e-12)
