"""Plotting positions, flow duration by classes, and running means of a river's flow.

De Laat & Savenije, Hydrology, lecture notes LN0262/09/1, UNESCO-IHE: Tables 2.5 and 2.6 (ten
yearly values in falling order; Weibull p, T and Gumbel's y), Tables 5.2 and 5.3 (twenty daily
flows), chapter 5 (running means over ten days of the same flows, rounded).
"""

from __future__ import annotations

import numpy as np
import pytest
from published_checks import Check, half

from hydroloop.weather.frequency import plotting_positions
from hydroloop.weather.low_flow import n_day_means, share_reaching

CHANCE = [".09", ".18", ".27", ".36", ".45", ".54", ".64", ".73", ".82", ".91"]
RETURN = ["11.0", "5.5", "3.7", "2.8", "2.2", "1.8", "1.6", "1.4", "1.2", "1.1"]
GUMBEL = ["2.351", "1.606", "1.144", ".794", ".501", ".238", "-.012", "-.262", "-.533", "-.875"]
FLOWS = np.array(
    [
        402,
        493,
        912,
        1256,
        1580,
        1520,
        1416,
        1193,
        1048,
        966,
        890,
        846,
        792,
        731,
        682,
        602,
        580,
        512,
        473,
        442,
    ],
    dtype=float,
)
REACHED = {
    1500: 10,
    1400: 15,
    1300: 15,
    1200: 20,
    1100: 25,
    1000: 30,
    900: 40,
    800: 50,
    700: 60,
    600: 70,
    500: 80,
    400: 100,
}
MEANS = (1079, 1127, 1163, 1151, 1098, 1008, 917, 833, 765, 707, 655)


def exceeded(rank):
    """Weibull's chance of reaching the value of this rank from the top."""
    return float(plotting_positions(10)[rank])


def gumbel(rank):
    return float(-np.log(-np.log(1.0 - exceeded(rank))))


def dls(table, quantity, printed, tolerance, ours, units="-"):
    return Check(
        f"De Laat & Savenije LN0262/09/1 {table}", quantity, float(printed), tolerance, ours, units
    )


# The source goes on with rounded numbers: .006 on p, .05 on T, .001 on y.
CHECKS: list[Check] = [
    *(
        dls("Table 2.5", f"Weibull p, rank {m + 1} of 10", p, 0.006, lambda m=m: exceeded(m))
        for m, p in enumerate(CHANCE)
    ),
    *(
        dls(
            "Table 2.5",
            f"return period, rank {m + 1} of 10",
            t,
            0.05,
            lambda m=m: 1.0 / exceeded(m),
            "a",
        )
        for m, t in enumerate(RETURN)
    ),
    *(
        dls("Table 2.6", f"Gumbel y, rank {m + 1} of 10", y, 0.001, lambda m=m: gumbel(m))
        for m, y in enumerate(GUMBEL)
    ),
    *(
        dls(
            "Table 5.3",
            f"share of 20 days at or above {q}",
            share,
            1e-9,
            lambda q=q: 100.0 * float(share_reaching(FLOWS, np.array([q]))[0]),
            "%",
        )
        for q, share in REACHED.items()
    ),
    *(
        dls(
            "chapter 5",
            f"mean of days {k + 1} to {k + 10}",
            mean,
            half(str(mean)),
            lambda k=k: float(n_day_means(FLOWS, 10)[k]),
        )
        for k, mean in enumerate(MEANS)
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_printed_values(check):
    """What we compute agrees with what the lecture notes print."""
    check.holds()
