"""What the season comes to, for many members: of how much and how often, without the days."""

from __future__ import annotations

import numpy as np

from hydroloop.measures.flows import mean_flow
from hydroloop.measures.gather.dataset import Found
from hydroloop.measures.gather.how_much import how_much
from hydroloop.measures.run_arrays import PURPOSES, Run
from hydroloop.measures.supply import days_in_stages
from hydroloop.measures.uses import Mix, season_mean, use_shares
from hydroloop.tracing import as_counted, uses_at

_SHARES = ("used_share", "mean_uses", "use_share", "unknown_share")
_SUPPLY = (
    "reliability",
    "volume_reliability",
    "resilience",
    "vulnerability",
    "longest_failure",
    "unmet_total",
    "lowest_dilution",
    "days_under_minimum_flow",
)
_MEANS = ("delivered", "withdrawn", "pumped", "effluent", "overflowed")
SEASON = (
    *(f"season_{name}" for name in _SHARES),
    *_SUPPLY,
    "cut_share",
    *(f"mean_{name}" for name in _MEANS),
)
"""Measures of a season that many runs are compared by.

`cut_share`, and `days_in_stage` beside these, are there where a scenario has drought stages.
"""


def season_of(run: Run, most: int) -> Found:
    """Season measures of a run, by what its scenario counts as a use.

    Raises
    ------
    AskError
        If `most` is out of bounds.
    """
    days = how_much(run)
    mix = Mix(run.op, [town.taps for town in run.towns])
    uses, _ = uses_at(run.op, mix.stores, None, most, warm_up=run.warm_up)
    shares = use_shares(mix, uses, as_counted(run.op, None).used_before)
    water = days["delivered"] * run.days[:, None, None]
    values = {
        f"season_{name}": season_mean(
            shares[name], water if shares[name].ndim == 3 else water[:, :, None]
        )
        for name in _SHARES
    }
    values |= {name: days[name] for name in (*_SUPPLY, "cut_share") if name in days}
    values |= {f"mean_{name}": mean_flow(run, days[name]) for name in _MEANS}
    coords = {
        "town": [town.name for town in run.towns],
        "use": np.arange(most + 1),
        "purpose": list(PURPOSES),
    }
    if run.stage_days is not None:
        values["days_in_stage"] = days_in_stages(run.stage_days, run.days)
        coords["stage"] = list(run.stages)
    return Found(values, coords)
