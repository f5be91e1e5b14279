"""Chlorine contact month by month: cold water needs more time, summer days ask for more water."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr

from hydroloop.measures.materials import water_temperature
from hydroloop.plants.capacity import Out, can_carry, load_of, past_step, units_out
from hydroloop.plants.contact import contact_by_season
from hydroloop.plants.design import PlantDesign
from hydroloop.record import step_days


@dataclass(frozen=True)
class MonthContact:
    """Chlorine contact in one month of the season."""

    month: int  # January is 1
    temperature_c: float  # water temperature taken [degC]
    # CT required [mg min/L]
    giardia: float
    virus: float
    flow: float  # flow into supply at which contact stops being enough, units out [m3/d]
    asked: float  # busiest day of the month [m3/d]

    @property
    def load(self) -> float:
        """Busiest day over that flow; infinite where nothing is left [-]."""
        return load_of(self.asked, self.flow)

    @property
    def is_enough(self) -> bool:
        """Whether contact is enough on that day, rounding forgiven."""
        return can_carry(self.load)


def contact_months(
    design: PlantDesign, record: xr.Dataset, asked: np.ndarray, *, out: Out = 1
) -> list[MonthContact]:
    """Chlorine contact in each month of a season with units out, January first; none without a
    clearwell, nor for groundwater. Water is taken to be as warm as the month's air, which it lags
    behind, but never below the coldest water of the scenario: an exercise, not a measurement."""
    well = next((unit for unit in design.processes if unit.process == "clearwell"), None)
    water = design.contact
    if well is None or water is None or water.treatment == "groundwater":
        return []  # groundwater is as cold all year round
    month = record["time"].values.astype("datetime64[M]").astype(int) % 12 + 1
    degrees = water_temperature(record, water.temperature_c)
    warm = {str(one): float(degrees[month == one][0]) for one in np.unique(month)}
    left = well.count - units_out(design, out)["clearwell"]
    found = contact_by_season(
        warm,
        volume=well.volume * left,
        baffling=water.baffling,
        chlorine_mg_per_l=water.chlorine_mg_per_l,
        ph=water.ph,
        treatment=water.treatment,
    )
    steps = max(1, round(1.0 / float(step_days(record)[0])))
    busiest = {one: _busiest(asked[month == one], steps) for one in np.unique(month)}
    return [
        MonthContact(
            int(one.name),
            one.temperature_c,
            one.giardia,
            one.virus,
            one.flow / well.through + past_step(design, well),
            busiest[int(one.name)],
        )
        for one in found
    ]


def _busiest(asked: np.ndarray, steps: int) -> float:
    days = len(asked) // steps
    return (
        float(asked[: days * steps].reshape(days, steps).mean(axis=1).max())
        if days
        else float(asked.mean())
    )
