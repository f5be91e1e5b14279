"""What the weather generator knows of a place: twelve monthly values of each kind."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

Months = tuple[float, ...]


@dataclass(frozen=True)
class Climate:
    """Monthly parameters of a place's weather, January first.

    Attributes
    ----------
    name, source : str
        What it is called, and where its numbers come from.
    wet_after_wet, wet_after_dry : tuple of 12
        Probability of rain on a day after a wet or a dry day [-]
    rain_shape : tuple of 12
        Shape of the gamma distribution of rain on wet days [-]
    rain_scale_mm : tuple of 12
        Scale of that distribution; shape times scale is the mean of a wet day [mm]
    tmin_c, tmax_c : tuple of 12
        Mean lowest and highest temperature of a day, wet and dry days together [C]
    tmin_sd_c, tmax_sd_c : tuple of 12
        Standard deviation around the season's course [C]
    tmin_wet_c, tmax_wet_c : tuple of 12
        Wet days less dry days: nights usually milder, afternoons cooler [C]
    """

    name: str
    source: str
    wet_after_wet: Months
    wet_after_dry: Months
    rain_shape: Months
    rain_scale_mm: Months
    tmin_c: Months
    tmax_c: Months
    tmin_sd_c: Months
    tmax_sd_c: Months
    tmin_wet_c: Months
    tmax_wet_c: Months

    @property
    def wet_share(self) -> np.ndarray:
        """Long-run share of wet days by month, pwd / (1 + pwd - pww) (12) [-]."""
        after_dry, after_wet = np.array(self.wet_after_dry), np.array(self.wet_after_wet)
        return after_dry / (1.0 + after_dry - after_wet)

    @property
    def rain_mean_mm(self) -> np.ndarray:
        """Mean rain of a wet day by month (12) [mm]."""
        return np.array(self.rain_shape) * np.array(self.rain_scale_mm)

    def other_hemisphere(self) -> Climate:
        """The same climate half a year later, for the other side of the equator."""
        turned: dict[str, Any] = {"source": f"{self.source} Months turned by half a year."}
        for name in (field.name for field in fields(self)):
            value = getattr(self, name)
            if isinstance(value, tuple):
                turned[name] = value[6:] + value[:6]
        return replace(self, **turned)
