"""Shares of the mean flow to be left in a river.

Tennant 1976, Instream flow regimens for fish, wildlife, recreation and related environmental
resources, Fisheries 1(4): table of October-March and April-September shares, from memory (its
abstract, read, gives 10, 30 and 60 % of the average flow). Units as printed, %. Held as the rule
alone, and as what a town that asks for far more than the river has leaves in it below its intake.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from published_checks import Check, half
from small_scenarios import one_town

import hydroloop as hl
from hydroloop.record import flow_mask
from hydroloop.waterworks.minimum_flow import minimum_flow_series

TABLE = {
    "outstanding": ("40", "60"),
    "excellent": ("30", "50"),
    "good": ("20", "40"),
    "fair": ("10", "30"),
    "poor": ("10", "10"),
}
DATES = {"October-March": "2031-01-15", "April-September": "2031-07-15"}


def left(name, date):
    """Minimum flow on a date as a percentage of the mean of a river of 1 to 5 m3/d."""
    inflow = np.array([1.0, 2.0, 4.0, 5.0])
    time = np.array([date], dtype="datetime64[D]")
    flow = minimum_flow_series("tennant", inflow, time, time, tennant_class=name)
    return 100.0 * float(flow[0]) / 3.0


@cache
def left_by_a_town(name, date):
    """What runs on below the intake of a thirsty town, over the river's mean inflow [%]."""
    record = hl.simulate(
        one_town(
            river__wren__inflow="0.1 m3/s",
            river__wren__minimum_flow_rule="tennant",
            river__wren__minimum_flow_class=name,
            season__start=date,
            season__end=f"{date[:8]}20",
        )
    )
    taken = flow_mask(record, kind="intake")
    place = str(record["source"].values[taken][0])
    below = flow_mask(record, kind="river") & (record["source"] == place).values
    return 100.0 * float(record["rate"].isel(flow=below).sum("flow")[-1]) / 8640.0


CHECKS: list[Check] = [
    Check(
        "Tennant 1976 table of seasonal shares",
        f"{name}, {half_year}",
        float(printed),
        half(printed),
        lambda name=name, date=date: left(name, date),
        "%",
        "memory",
    )
    for name, row in TABLE.items()
    for printed, (half_year, date) in zip(row, DATES.items(), strict=True)
]
CHECKS += [
    Check(
        "Tennant 1976 table of seasonal shares",
        f"left below an intake, {name}, {half_year}",
        float(printed),
        half(printed),
        lambda name=name, date=date: left_by_a_town(name, date),
        "%",
        "memory",
    )
    for name, row in TABLE.items()
    for printed, (half_year, date) in zip(row, DATES.items(), strict=True)
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what Tennant printed."""
    check.holds()
