"""Treated wastewater at intakes of bundled towns, compared with surveys of the United States.

Arizona State University, dissertation on small systems of Texas (abstract): 3,984 plants, 1 to 20 %
at average flow. Rice, Wutich & Westerhoff 2013, ES&T 47:11099 (from memory): 7 to 100 % at low flow
at 25 intakes. ES&T 2010, 44:7865 (abstract): flow alone dilutes the effluent of Thames and Soar 20
to 30 times better at one time of a season than at another, and 98 times at most. Ours: the return
flow over the river's flow at the lower town of each bundled pair, and the spread of the dilution
below both outfalls of the pair whose river has no dam. Ranges are checked by their middle and half
their width. The five bundled towns, one of them past such ranges, stand among the numbers that are
not met.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import xarray as xr
from conserves import assert_closes
from published_checks import Check

import hydroloop as hl

PAIRS = {"first_town": "penhollow", "long_river": "ottermarsh", "old_town": "marlbeck"}


@cache
def measured(name: str) -> xr.Dataset:
    """Measures of a bundled scenario."""
    scenario = hl.read_scenario(name)
    record = hl.simulate(scenario)
    assert_closes(record)
    return hl.measures(record, scenario)


def mean_share(name: str) -> float:
    """Return flow over river flow at the lower town's intake, mean of the season [%]."""
    return 100.0 * float(measured(name).season_return_ratio.sel(town=PAIRS[name]))


def greatest_share(name: str) -> float:
    """The same on the day on which it is greatest [%]."""
    return 100.0 * float(measured(name).return_ratio.sel(town=PAIRS[name]).max())


def spread(town: str) -> float:
    """Best over worst dilution of a town's effluent in the season."""
    dilution = measured("long_river").dilution.sel(town=town).values
    return float(np.nanmax(dilution) / np.nanmin(dilution))


def between(source, quantity, ends, ours, units, known):
    """A printed range, as its middle and half its width."""
    low, high = ends
    return Check(
        source,
        f"{quantity}, printed {low:g} to {high:g}",
        0.5 * (low + high),
        0.5 * (high - low),
        ours,
        units,
        known,
    )


CHECKS: list[Check] = [
    *(
        between(
            "Arizona State University, dissertation on 3,984 plants of Texas (abstract)",
            f"effluent at an intake at average flow, {town}",
            (1, 20),
            lambda name=name: mean_share(name),
            "%",
            "read",
        )
        for name, town in PAIRS.items()
    ),
    *(
        between(
            "Rice et al. 2013, ES&T 47:11099 (from memory)",
            f"effluent at an intake at low flow, {town}",
            (7, 100),
            lambda name=name: greatest_share(name),
            "%",
            "memory",
        )
        for name, town in PAIRS.items()
    ),
    *(
        between(
            "ES&T 2010, 44:7865, Thames and Soar (abstract)",
            f"best over worst dilution of effluent, {town}",
            (20, 98),
            lambda town=town: spread(town),
            "-",
            "read",
        )
        for town in ("velderby", "ottermarsh")
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check: Check):
    """Shares of treated wastewater are such as were found at real intakes."""
    check.holds()
