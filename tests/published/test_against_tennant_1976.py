"""Shares of the mean flow to be left in a river.

Tennant 1976, Instream flow regimens for fish, wildlife, recreation and related environmental
resources, Fisheries 1(4): table of October-March and April-September shares, from memory (its
abstract, read, gives 10, 30 and 60 % of the average flow). Units as printed, %.
"""

from __future__ import annotations

import numpy as np
import pytest
from published_checks import Check, half

from hydroloop.waterworks.minimum_flow import minimum_flow_series

TABLE = {"outstanding": ("40", "60"), "excellent": ("30", "50"), "good": ("20", "40"),
         "fair": ("10", "30"), "poor": ("10", "10")}
DATES = {"October-March": "2031-01-15", "April-September": "2031-07-15"}


def left(name, date):
    """Minimum flow on a date as a percentage of the mean of a river of 1 to 5 m3/d."""
    inflow = np.array([1.0, 2.0, 4.0, 5.0])
    time = np.array([date], dtype="datetime64[D]")
    flow = minimum_flow_series("tennant", inflow, time, time, tennant_class=name)
    return 100.0 * float(flow[0]) / 3.0


CHECKS: list[Check] = [
    Check("Tennant 1976 table of seasonal shares", f"{name}, {half_year}", float(printed),
          half(printed), lambda name=name, date=date: left(name, date), "%", "memory")
    for name, row in TABLE.items()
    for printed, (half_year, date) in zip(row, DATES.items(), strict=True)
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what Tennant printed."""
    check.holds()
