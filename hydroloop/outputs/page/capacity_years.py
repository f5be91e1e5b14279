"""A town's plants against what is asked of them over the years, as the page draws it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import xarray as xr

from hydroloop.errors import InputError
from hydroloop.measures import Run
from hydroloop.outputs.page.numbers import shortened
from hydroloop.outputs.plants.capacity_words import LEAST_GAIN
from hydroloop.plants.growth import Reached
from hydroloop.scenario import Scenario
from hydroloop.studies.capacity_study import RIVER, capacity_study

_PLAIN = {
    "rapid mix": "the rapid mixing",
    "flocculation": "the slow stirring (flocculation)",
    "sedimentation": "the settling basins",
    "filters": "the filters",
    "clearwell": "the clearwell",
    "primary": "the first settling basins",
    "aeration": "the air basins (aeration)",
    "final settling": "the last settling basins",
    "contact": "the disinfection basin",
    "permit": "what the permit allows",
    RIVER: "the river on its driest day",
    "rated capacity": "its rated capacity",
}
"""Limits in words for those who have never seen a plant."""


def capacity_values(
    scenario: Scenario, record: xr.Dataset, run: Run, name: str
) -> dict[str, Any] | None:
    """Flows of each year and the lowest limit of supply and of wastewater; None where the study
    cannot be made."""
    try:
        study = capacity_study(scenario, record, name, run=run)
    except InputError:
        return None
    return {
        "first_year": study.first_year,
        "assumed": study.assumed,
        "plants": [
            {
                "name": "Water plant, busiest day",
                "whose": "the water supply",
                **_course(study.demand, study.demand_band, study.reached),
                "bought": _bought(study.bought),
            },
            {
                "name": "Wastewater plant, average day",
                "whose": "the wastewater plant",
                **_course(study.sewage, study.sewage_band, study.sewage_reached),
                "bought": _bought(study.sewage_bought),
            },
        ],
    }


def _course(flow: np.ndarray, band: np.ndarray, limits: Sequence[Reached]) -> dict[str, Any]:
    least = min(limits, key=lambda one: one.flow, default=None)
    is_met = least is not None and math.isfinite(least.years)
    return {
        "flow": shortened(flow),
        "low": shortened(band[0]),
        "high": shortened(band[1]),
        "limit": None if least is None else float(f"{least.flow:.4g}"),
        "what": "" if least is None else _plain(least.limit),
        "years": round(least.years, 1) if least is not None and is_met else None,
    }


def _bought(gains: Sequence[tuple[str, float]]) -> list[list[Any]]:
    """Remedies that buy time, as a table tells the years; None where the limit is not reached."""
    return [
        [words, round(years, 1) if math.isfinite(years) else None]
        for words, years in gains
        if years >= LEAST_GAIN
    ]


def _plain(limit: str) -> str:
    step, _, more = limit.split(": ")[-1].partition(", ")
    told = _PLAIN.get(step, step)
    return f"{told} ({more})" if more else told
