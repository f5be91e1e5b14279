"""What a town's sewers carry, dry and wet: where it comes from, and what overflows or bypasses."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from hydroloop.record import flow_mask, step_days
from hydroloop.scenario import Scenario
from hydroloop.waterworks.sizes import town_sizes

_RUNS = 1e-6  # less than this counts as no flow [m3/d]
BASE, STORM = "base flow and infiltration", "base flow, infiltration and inflow"
"""Conditions of the two rules for sewers, in the table of standards."""


@dataclass(frozen=True)
class WetWeather:
    """What a town's sewers carried in a season, by where it came from."""

    people: float  # people of the town
    # means of the season: wastewater of homes and of workplaces, wash water of the filters,
    # groundwater that seeps in, rain that runs in [m3/d]
    homes: float
    work: float
    washing: float
    infiltration: float
    inflow: float
    dry_day: float  # mean of the days on which no rain ran in; NaN if there is none [m3/d]
    wettest_day: float  # most that came in on a day [m3/d]
    # most rain that ran in on a day, and in a step [m3/d]
    inflow_day: float
    inflow_peak: float
    arriving_peak: float  # most that reached the plant in a step [m3/d]
    # most that sewers carry, and most that gets the full treatment [m3/d]
    sewers: float
    full_treatment: float
    # sewage that overflowed, and that passed aeration by, over the season [m3]
    overflow: float
    bypass: float
    # time of the season in which that went on; a step counts whole [h]
    overflow_hours: float
    bypass_hours: float
    step_hours: float  # length of a step [h]

    @property
    def mean(self) -> float:
        """All that came in, mean of the season [m3/d]."""
        return self.homes + self.work + self.seeping

    @property
    def seeping(self) -> float:
        """What comes in besides the wastewater of homes and workplaces [m3/d]."""
        return self.washing + self.infiltration + self.inflow


def wet_weather(scenario: Scenario, record: xr.Dataset, name: str) -> WetWeather:
    """What a town's sewers carried, dry and wet. Infiltration seeps in from the ground, inflow is
    rain from roofs and streets. Daily steps spread a storm over its day; run hours to see its
    peak."""
    into, kinds = flow_mask(record, to_place=name, to_role="sewers"), record["kind"].values
    came = {
        kind: into & (kinds == kind)
        for kind in ("sewage", "stormwater", "backwash", "infiltration")
    }
    work = came["sewage"] & flow_mask(record, from_role=("workplaces", "work_toilets"))
    homes = came["sewage"] & ~work
    days, step = step_days(record), float(step_days(record)[0])
    inflow = _rate(record, came["stormwater"])
    whole = _by_day(_rate(record, into), step)
    is_dry = _by_day(inflow, step) <= _RUNS
    own = flow_mask(record, from_place=name)
    lost = {kind: _rate(record, own & (kinds == kind)) for kind in ("overflow", "bypass")}
    sizes = town_sizes(scenario.town[name])
    return WetWeather(
        people=scenario.town[name].people,
        homes=float(_rate(record, homes).mean()),
        work=float(_rate(record, work).mean()),
        washing=float(_rate(record, came["backwash"]).mean()),
        infiltration=float(_rate(record, came["infiltration"]).mean()),
        inflow=float(inflow.mean()),
        dry_day=float(whole[is_dry].mean()) if is_dry.any() else float("nan"),
        wettest_day=float(whole.max()),
        inflow_day=float(_by_day(inflow, step).max()),
        inflow_peak=float(inflow.max()),
        arriving_peak=float(
            _rate(record, flow_mask(record, to_place=name, to_role="primary")).max()
        ),
        sewers=sizes.sewer_capacity,
        full_treatment=sizes.secondary_capacity,
        overflow=float((days * lost["overflow"]).sum()),
        bypass=float((days * lost["bypass"]).sum()),
        overflow_hours=float(24.0 * days[lost["overflow"] > _RUNS].sum()),
        bypass_hours=float(24.0 * days[lost["bypass"] > _RUNS].sum()),
        step_hours=24.0 * step,
    )


def _rate(record: xr.Dataset, mask: np.ndarray) -> np.ndarray:
    return np.asarray(record.variables["rate"].values[:, mask].sum(axis=1))


def _by_day(rate: np.ndarray, step: float) -> np.ndarray:
    """Means of whole days; of the steps themselves where the season is shorter than a day."""
    steps = max(1, round(1.0 / step))
    days = len(rate) // steps
    return rate if days == 0 else rate[: days * steps].reshape(days, steps).mean(axis=1)
