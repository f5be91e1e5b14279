"""Weather as plain arrays on an even grid of steps, and as a labelled Dataset."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from hydroloop.weather.arrays import Array, Days
from hydroloop.weather.calendar import step_starts

if TYPE_CHECKING:
    import xarray as xr

# name: (units, long name). Depths and hours are sums over the step, the rest are its means,
# lowest or highest values.
COLUMNS: dict[str, tuple[str, str]] = {
    "rain_mm": ("mm", "rain and snow in the step"),
    "tmin_c": ("degC", "lowest air temperature"),
    "tmax_c": ("degC", "highest air temperature"),
    "tmean_c": ("degC", "mean air temperature"),
    "humidity": ("1", "mean relative humidity"),
    "humidity_min": ("1", "lowest relative humidity"),
    "humidity_max": ("1", "highest relative humidity"),
    "wind_m_per_s": ("m s-1", "wind at 2 m height"),
    "sunshine_h": ("h", "hours of sunshine in the step"),
    "radiation_mj_per_m2": ("MJ m-2 d-1", "solar radiation"),
    "et0_mm": ("mm", "reference evaporation in the step"),
    "open_water_mm": ("mm", "evaporation of open water in the step"),
    "flow": ("m3 d-1", "river flow"),
}
SUMS = frozenset({"rain_mm", "sunshine_h", "et0_mm", "open_water_mm"})
LOWEST = frozenset({"tmin_c", "humidity_min"})
HIGHEST = frozenset({"tmax_c", "humidity_max"})


@dataclass(frozen=True)
class WeatherSeries:
    """Weather on whole days, each of the same number of steps.

    Attributes
    ----------
    first : datetime64
        First day.
    per_day : int
        Steps in a day [-]
    columns : mapping of arrays (time)
        Values by the names of `COLUMNS`.
    said : mapping of str
        What there is to say about them: source, evaporation method and the like.
    """

    first: np.datetime64
    per_day: int
    columns: Mapping[str, Array]
    said: Mapping[str, str | float] = field(default_factory=dict)

    @property
    def n_steps(self) -> int:
        """Number of steps [-]."""
        return len(next(iter(self.columns.values())))

    @property
    def days(self) -> Days:
        """Its days, as datetime64[D] (day)."""
        return self.first + np.arange(self.n_steps // self.per_day)

    @property
    def time(self) -> np.ndarray:
        """Start of each step, as datetime64[ns] (time)."""
        return step_starts(self.first, self.n_steps, self.per_day)

    def serving(self, first: np.datetime64, source_days: Days) -> WeatherSeries:
        """The series on other days: which of its days serves each, all steps of a day together."""
        places = (np.asarray(source_days) - self.first).astype(int)
        columns = {
            name: values.reshape(-1, self.per_day)[places].ravel()
            for name, values in self.columns.items()
        }
        return WeatherSeries(first, self.per_day, columns, self.said)

    def on_grid(self, per_day: int) -> dict[str, Array]:
        """Every column on a grid with another number of steps a day (time)."""
        if per_day == self.per_day:
            return dict(self.columns)
        return {
            name: regrid(values, self.per_day, per_day, name)
            for name, values in self.columns.items()
        }

    def dataset(self) -> xr.Dataset:
        """The series with dates, names and units."""
        import xarray as xr

        variables = {}
        for name, values in self.columns.items():
            units, long_name = COLUMNS.get(name, ("m3 d-1", f"flow {name}"))
            variables[name] = ("time", values, {"units": units, "long_name": long_name})
        return xr.Dataset(
            variables,
            coords={"time": ("time", self.time, {"long_name": "start of the step"})},
            attrs={**self.said, "step_days": 1.0 / self.per_day},
        )


def regrid(values: Array, per_day: int, wanted: int, name: str) -> Array:
    """A column on another grid of steps. Sums stay sums: rain is spread evenly over a long step and
    added up over short ones. Evenly spread rain has no bursts: an hour of a daily record is not a
    measured hour."""
    if per_day == wanted:
        return values
    common = np.gcd(per_day, wanted)
    finer, coarser = int(wanted // common), int(per_day // common)
    split = values / finer if name in SUMS else values
    parts = np.repeat(split, finer).reshape(-1, coarser)
    if name in SUMS:
        return parts.sum(axis=1)
    if name in LOWEST:
        return parts.min(axis=1)
    if name in HIGHEST:
        return parts.max(axis=1)
    return parts.mean(axis=1)
