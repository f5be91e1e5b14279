"""Compartments in steady state against printed ages, transit and turnover times.

The five-box carbon model of Emanuel, Killough & Olson 1981 (inputs second-hand) has its ages and
transit times from Metzler & Sierra 2018, Mathematical Geosciences 50 (from memory): stores 37, 452,
69, 81 and 1,121, losses 77, 31, 36, 48 and 11 a year. Turnover times of air, ocean and lakes are
volume over flow. World stores: Shiklomanov, in UN World Water Development Report 1 (2003), Table
4.1 (its rivers and ocean do not follow from its own volumes and are left out), and De Laat &
Savenije, lecture notes, Tables 1.4 and 1.5. Superior's printed 191 years need a smaller outflow
than the gauged one, and are left out too.
"""

from __future__ import annotations

from functools import cache

import pytest
from published_checks import Check, half

import hydroloop as hl
from hydroloop.measures import turnover_time

YEAR = 365.25
STORES = {"a": 37.0, "b": 452.0, "c": 69.0, "d": 81.0, "e": 1121.0}
LOSSES = {"a": 77.0, "b": 31.0, "c": 36.0, "d": 48.0, "e": 11.0}
MOVED = {"ab": 31.0, "ad": 21.0, "bd": 15.0, "be": 2.0, "cd": 12.0, "ce": 6.0, "de": 3.0}


@cache
def five_boxes():
    """Long run of the five boxes; a year of theirs is a day of ours."""
    return hl.long_run(
        hl.steady_record(
            {"a": 77.0, "c": 36.0},
            {name: LOSSES[name] / STORES[name] for name in STORES},
            {(pair[0], pair[1]): flow / LOSSES[pair[0]] for pair, flow in MOVED.items()},
            steps=1,
        )
    )


def turnover(volume, flow):
    """Turnover time of one store."""
    record = hl.steady_record({"store": flow}, {"store": flow / volume}, {}, steps=1)
    return turnover_time(record).item()


SIERRA = "Metzler & Sierra 2018, Math. Geosci. 50 (from memory), on Emanuel et al. 1981"
AIR = "Trenberth et al. 2007, J. Hydromet. 8, 758, Fig. 1 (textbook reprint)"
LAKES = "US EPA, physical features of the Great Lakes (191 and 2.6 years); Britannica (outflows)"
WORLD = "Shiklomanov in UN WWDR 2003, Table 4.1"
KM3_A_CFS = 0.3048**3 * 86400 * YEAR / 1e9
CHECKS = [
    Check(
        SIERRA,
        "mean transit time of the five boxes",
        15.58,
        0.0156,
        lambda: five_boxes().transit_time.item(),
        "a",
        "memory",
    ),
    Check(
        SIERRA,
        "standard deviation of the transit time",
        45.01,
        half("45.01"),
        lambda: five_boxes().transit_time_sd.item(),
        "a",
        "memory",
    ),
    Check(
        SIERRA,
        "mean age of all that is inside",
        72.83,
        half("72.83"),
        lambda: five_boxes().system_age.item(),
        "a",
        "memory",
    ),
    Check(
        AIR,
        "turnover of the water in the air, 12.7 over 413 + 73",
        9.5,
        0.095,
        lambda: YEAR * turnover(12.7, 486.0),
        "d",
        "second-hand",
    ),
    Check(
        AIR,
        "turnover of the ocean, 1,335,040 over 413",
        3230,
        32.3,
        lambda: turnover(1_335_040.0, 413.0),
        "a",
        "second-hand",
    ),
    Check(
        WORLD,
        "water of the air, 12,900 km3 over 600,000",
        8,
        half("8"),
        lambda: YEAR * turnover(12_900.0, 600_000.0),
        "d",
    ),
    Check(
        WORLD,
        "lakes, 176,400 km3 over 10,376",
        17,
        half("17"),
        lambda: turnover(176_400.0, 10_376.0),
        "a",
    ),
    Check(
        WORLD,
        "soil moisture, 16,500 km3 over 16,500",
        1,
        half("1"),
        lambda: turnover(16_500.0, 16_500.0),
        "a",
    ),
    Check(
        WORLD,
        "groundwater, 23,400,000 km3 over 16,700",
        1400,
        50,
        lambda: turnover(23_400_000.0, 16_700.0),
        "a",
    ),
    Check(
        "De Laat & Savenije LN0262/09/1, Tables 1.4 and 1.5",
        "water of the air, 12 over 510",
        8.6,
        half("8.6"),
        lambda: YEAR * turnover(12.0, 510.0),
        "d",
    ),
    Check(
        LAKES,
        "Lake Erie, 484 km3, 202,000 ft3/s",
        2.6,
        0.104,
        lambda: turnover(484.0, 202_000 * KM3_A_CFS),
        "a",
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what was printed."""
    check.holds()
