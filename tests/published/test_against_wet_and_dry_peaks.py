"""Peaks of wastewater: what people bring is multiplied, what seeps and rains in is added.

10 CSR 20-8.110, eq. 110-1 (peak hour of what people bring, at 1,000 to 100,000 people). The flows
are those that `hydroloop capacity` holds a plant against.
"""

from __future__ import annotations

import pytest
from published_checks import Check

from hydroloop.plants import wet_and_dry_flows

RULE = "10 CSR 20-8.110, Eq. 110-1"
SEEPING, RAIN = 0.4, 3.0  # over the sanitary flow; any that is added must cancel


def peak_of_people(thousands: float) -> float:
    """Peak hour less what seeps and rains in, over what people bring."""
    flows = wet_and_dry_flows(1.0, 1000.0 * thousands, SEEPING, (0.1, 2.0, RAIN))
    return flows.peak_hour - SEEPING - RAIN


CHECKS: list[Check] = [
    *(
        Check(
            RULE,
            f"{thousands:,},000 people, infiltration and inflow beside",
            ratio,
            0.0005,
            lambda thousands=thousands: peak_of_people(thousands),
        )
        for thousands, ratio in ((1, 3.800), (5, 3.245), (10, 2.955), (100, 2.000))
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """The peaks that are added to agree with those that were printed."""
    check.holds()


def test_what_sewers_cannot_carry_does_not_come_to_the_plant():
    """Of a storm only so much arrives as the sewers carry; a dry peak is not cut."""
    flows = wet_and_dry_flows(1.0, 1000.0, 0.4, (0.1, 2.0, 30.0), most=6.0)
    assert flows.peak_hour == pytest.approx(6.0)
    dry = wet_and_dry_flows(1.0, 1000.0, 0.4, (0.0, 0.0, 0.0), most=2.0)
    assert dry.peak_hour == pytest.approx(4.2)


def test_a_rated_peak_hour_is_compared_without_multiplying_the_rain():
    """Works that carry twice the people's peak hour of 3.8, with 0.4 that seeps and rain of 1, are
    good for twice the people on the average day: 2 x 1 + 0.4, and not for 2 x 1.4."""
    flows = wet_and_dry_flows(1.0, 1000.0, 0.4, (0.0, 0.0, 1.0))
    assert flows.at_average(2 * 3.8 + 0.4 + 1.0, "peak_hour", "average") == pytest.approx(2.4)
