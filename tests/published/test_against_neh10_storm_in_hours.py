"""A storm hour by hour on a catchment, compared with the National Engineering Handbook.

USDA NRCS 2004, National Engineering Handbook, Part 630, chapter 10, Example 10-6, Table 10-2: sums
of rain and runoff in inches, curve number 80. The rain falls as the weather file of a scenario in
hours, on soil of average moisture; what is compared is the storm water in the record. The printed
sums are read off a rounded table: 0.01 in.
"""

from __future__ import annotations

import pytest
from published_checks import Check
from storms import by_hour, runoff_by_hour

# Sums after each hour, from the first [in].
RAIN = (
    ".15 .30 .62 1.01 1.27 1.36 1.36 1.38 1.38 1.55 1.87 2.25 2.61 2.66 2.68 3.22 4.17 4.82 4.93 "
    "5.00"
)
RUNOFF = "0 0 0 .08 .18 .22 .22 .23 .23 .32 .48 .72 .97 1.00 1.02 1.42 2.18 2.74 2.83 2.89"

CHECKS: list[Check] = [
    Check(
        "NEH 630 chapter 10 (2004) Example 10-6, Table 10-2",
        f"runoff in a run, {hour} h after the storm began",
        float(text),
        0.01,
        lambda hour=hour: runoff_by_hour(by_hour(RAIN), 80)[hour - 1],
        "in",
    )
    for hour, text in enumerate(RUNOFF.split(), start=1)
    if float(text) > 0.0
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What has run off a catchment after each hour of a run is what was printed."""
    check.holds()


def test_nothing_runs_off_before_the_losses_are_met():
    """In the first hours, 0.30 in of rain, nothing runs off."""
    assert runoff_by_hour(by_hour(RAIN), 80)[:2].tolist() == [0.0, 0.0]
