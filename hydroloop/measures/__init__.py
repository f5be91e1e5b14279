"""Measures: what a water record says, each defined once.

The package can be called: `hydroloop.measures(record)` is all of them in one table, and
`hydroloop.measures.return_ratio(record)` is one.
"""

from __future__ import annotations

import inspect
import sys
from types import ModuleType
from typing import Any

from hydroloop.measures.balance import TERMS as BALANCE_TERMS
from hydroloop.measures.balance import WHOLE, balance, largest_gap
from hydroloop.measures.flows import river_flow, spilled, town_flow
from hydroloop.measures.gather import measures
from hydroloop.measures.gather.totals import SEASON
from hydroloop.measures.land_balance import LAND_TERMS, land_balance, unexplained_storage
from hydroloop.measures.last import molecules_in_a_glass, time_since_use
from hydroloop.measures.lifetime import cycling
from hydroloop.measures.parcel import ends_by_use, parcel_fate
from hydroloop.measures.reservoir_yield import (
    reservoir_yield,
    sequent_peak,
    storage_for_draft,
    yield_for_storage,
)
from hydroloop.measures.residence import turnover_time
from hydroloop.measures.return_ratio import return_ratio
from hydroloop.measures.run_arrays import PURPOSES, Run, run_of
from hydroloop.measures.supply import (
    cut_share,
    days_in_stages,
    days_under_minimum,
    dilution,
    longest_failure,
    reliability,
    resilience,
    supply,
    unmet,
    vulnerability,
)
from hydroloop.measures.towns import Town, find_towns
from hydroloop.measures.transit import Transit, transit_times
from hydroloop.measures.uses import (
    Mix,
    of_stores,
    season_mean,
    use_shares,
    used_because,
    used_in_rivers,
    used_shares_in,
)
from hydroloop.measures.water_age import (
    OLDEST,
    OldestTenth,
    chlorine_left,
    oldest_tenth,
    rain_ages,
    water_ages,
)

__all__ = [
    "BALANCE_TERMS",
    "LAND_TERMS",
    "OLDEST",
    "PURPOSES",
    "SEASON",
    "WHOLE",
    "Mix",
    "OldestTenth",
    "Run",
    "Town",
    "Transit",
    "balance",
    "chlorine_left",
    "cut_share",
    "cycling",
    "days_in_stages",
    "days_under_minimum",
    "dilution",
    "ends_by_use",
    "find_towns",
    "land_balance",
    "largest_gap",
    "longest_failure",
    "measures",
    "molecules_in_a_glass",
    "of_stores",
    "oldest_tenth",
    "parcel_fate",
    "rain_ages",
    "reliability",
    "reservoir_yield",
    "resilience",
    "return_ratio",
    "river_flow",
    "run_of",
    "season_mean",
    "sequent_peak",
    "spilled",
    "storage_for_draft",
    "supply",
    "time_since_use",
    "town_flow",
    "transit_times",
    "turnover_time",
    "unexplained_storage",
    "unmet",
    "use_shares",
    "used_because",
    "used_in_rivers",
    "used_shares_in",
    "vulnerability",
    "water_ages",
    "yield_for_storage",
]


class _Callable(ModuleType):
    """`hydroloop.measures` is this package and the function of its name; a call is the function."""

    def __call__(self, *args: Any, **kwargs: Any) -> Any:
        return measures(*args, **kwargs)


sys.modules[__name__].__class__ = _Callable
__signature__ = inspect.signature(measures)  # what editors and `inspect` show of the call
