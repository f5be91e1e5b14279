"""Chlorine contact month by month: cold water needs more time, summer days ask for more water."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import xarray as xr

from hydroloop.measures.materials import water_temperature
from hydroloop.plants.capacity import Out, past_step, units_out
from hydroloop.plants.contact import contact_by_season
from hydroloop.plants.design import PlantDesign
from hydroloop.record import step_days


@dataclass(frozen=True)
class MonthContact:
    """Chlorine contact in one month of the season.

    Attributes
    ----------
    month : int
        January is 1.
    temperature_c : float
        Water temperature taken [degC].
    giardia, virus : float
        CT required [mg min/L].
    flow : float
        Flow into supply at which contact stops being enough, units out [m3/d].
    asked : float
        Busiest day of the month [m3/d].
    """

    month: int
    temperature_c: float
    giardia: float
    virus: float
    flow: float
    asked: float

    @property
    def load(self) -> float:
        """Busiest day over that flow; infinite where nothing is left [-]."""
        return self.asked / self.flow if self.flow > 0.0 else math.inf


def contact_months(design: PlantDesign, record: xr.Dataset, asked: np.ndarray, *,
                   out: Out = 1) -> list[MonthContact]:
    """Chlorine contact in each month of a season, with units out.

    Cold water needs more time with its chlorine, so a clearwell carries less in winter. Water is
    taken to be as warm as the month's air, which it lags behind: an exercise, not a measurement.

    Parameters
    ----------
    design : PlantDesign
        The water plant.
    record : xarray.Dataset
        Water record, with the mean air temperature of each step.
    asked : ndarray of shape (time,)
        System input that is asked for [m3/d].
    out : int or mapping
        Units out [-].

    Returns
    -------
    list of MonthContact
        Months of the season, January first; none where there is no clearwell, nor for groundwater,
        whose temperature hardly follows the season.

    Raises
    ------
    AskError
        If more units are out than there are, or the water lies outside the contact tables.

    Notes
    -----
    Temperature: mean of the month's air, but never below the coldest water of the scenario.

    Examples
    --------
    >>> import hydroloop as hl
    >>> from hydroloop.plants import water_plant
    >>> scenario = hl.read_scenario("first_town")
    >>> record, plant = hl.simulate(scenario), water_plant(scenario.town["larkmill"], 20000.0)
    >>> [one.month for one in contact_months(plant, record, record["rain_mm"].values)]
    [4, 5, 6, 7, 8, 9]
    """
    well = next((unit for unit in design.processes if unit.process == "clearwell"), None)
    water = design.contact
    if well is None or water is None or water.treatment == "groundwater":
        return []  # groundwater is as cold all year round
    month, degrees = record["time"].dt.month.values, water_temperature(record, water.temperature_c)
    warm = {str(one): float(degrees[month == one][0]) for one in np.unique(month)}
    left = well.count - units_out(design, out)["clearwell"]
    found = contact_by_season(
        warm, volume=well.volume * left, baffling=water.baffling,
        chlorine_mg_per_l=water.chlorine_mg_per_l, ph=water.ph, treatment=water.treatment)
    steps = max(1, round(1.0 / float(step_days(record)[0])))
    busiest = {one: _busiest(asked[month == one], steps) for one in np.unique(month)}
    return [MonthContact(int(one.name), one.temperature_c, one.giardia, one.virus,
                         one.flow / well.through + past_step(design, well),
                         busiest[int(one.name)]) for one in found]


def _busiest(asked: np.ndarray, steps: int) -> float:
    days = len(asked) // steps
    return float(asked[: days * steps].reshape(days, steps).mean(axis=1).max()) if days else float(
        asked.mean())
