"""What drives a season from outside: weather, river inflow, releases, the hours of the day."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import xarray as xr

from hydroloop.scenario import Scenario
from hydroloop.scenario.schema_river import FlowFile
from hydroloop.waterworks.demand import hourly_factors
from hydroloop.waterworks.dry_season import Dryness, dryness
from hydroloop.waterworks.minimum_flow import river_minimum_flows
from hydroloop.weather import flow_for, weather_for


@dataclass(frozen=True)
class Forcing:
    """Series of a season, one value a step.

    Attributes
    ----------
    time : ndarray of shape (time,)
        Start of each step.
    step : float
        Length of a step [d].
    weather : Dataset
        As `hydroloop.weather.weather_for` makes it.
    sky : ndarray of shape (time, 4)
        Rain [mm], mean temperature [degC], reference and open-water evaporation [mm].
    inflow : dict of ndarray of shape (time,)
        Inflow at the head of each river that is given [m3/d].
    release : ndarray of shape (time, reservoir)
        Release that each reservoir's rule asks for [m3/d].
    minimum_flow : dict of ndarray of shape (time,)
        Flow that must be left in each river, by its rule [m3/d].
    usual_inflow : dict of float
        Mean inflow of a season that was not made dry, by river [m3/d].
    usual_rain_mm : float
        Mean rain of such a season [mm/d].
    """

    time: np.ndarray
    step: float
    weather: xr.Dataset
    sky: np.ndarray
    inflow: dict[str, np.ndarray]
    release: np.ndarray
    minimum_flow: dict[str, np.ndarray]
    usual_inflow: dict[str, float]
    usual_rain_mm: float

    def arrays(self, rivers: list[str]) -> tuple[np.ndarray, ...]:
        """The same as plain arrays for the stepping loop."""
        steps = len(self.time)
        head = np.zeros((steps, len(rivers)))
        for column, river in enumerate(rivers):
            head[:, column] = self.inflow.get(river, 0.0)
        factors = np.column_stack(hourly_factors(steps, self.step))
        begins = np.arange(steps) % max(1, round(1.0 / self.step)) == 0
        return self.sky, head, self.release, factors, begins


def season_forcing(scenario: Scenario, seed: int | None = None) -> Forcing:
    """Weather, inflow and releases of a scenario's season.

    Parameters
    ----------
    scenario : Scenario
        As read.
    seed : int, optional
        Seed of the weather generator, in place of the scenario's own.

    Returns
    -------
    Forcing
        One value a step.

    Raises
    ------
    TableError
        If a CSV file is wrong or does not reach over the season.
    InputError
        If the files hold too few years for the dry season, or for a minimum flow.
    """
    season, given = scenario.season, scenario.weather
    dry = dryness(scenario, seed)
    weather = weather_for(
        season.start,
        season.end,
        season.step,
        file=None if given.file is None else Path(scenario.folder) / given.file,
        gaps=given.gaps,
        source_days=dry.source_days,
        climate=given.climate,
        seed=given.seed if dry.seed is None else dry.seed,
        latitude_deg=given.latitude,
        elevation_m=given.elevation,
        wind_m_per_s=given.wind,
        rain_scale=given.rain_scale * dry.rain_scale,
        warmer_by_c=given.warmer_by + dry.warmer_by_c,
    )
    weather.attrs.update(dry.said)
    sky = np.column_stack(
        [weather[name].values for name in ("rain_mm", "tmean_c", "et0_mm", "open_water_mm")]
    )
    time = weather["time"].values
    minimum_flow = river_minimum_flows(scenario, time)
    inflow, usual = _inflows(scenario, len(time), dry)
    mean_rain_mm = float(sky[:, 0].mean()) / season.step
    return Forcing(
        time,
        season.step,
        weather,
        np.ascontiguousarray(sky, dtype=float),
        inflow,
        _releases(scenario, time, minimum_flow),
        minimum_flow,
        usual,
        _before(mean_rain_mm, dry.rain_ratio),
    )


def _inflows(
    scenario: Scenario, steps: int, dry: Dryness
) -> tuple[dict[str, np.ndarray], dict[str, float]]:
    """Inflow of each river that is given, and its mean in a usual season."""
    season = scenario.season
    inflow: dict[str, np.ndarray] = {}
    usual: dict[str, float] = {}
    for name, river in scenario.river.items():
        if isinstance(river.inflow, FlowFile):
            inflow[name] = (
                dry.flow_scale
                * river.inflow.scale
                * flow_for(
                    season.start,
                    season.end,
                    season.step,
                    file=Path(scenario.folder) / river.inflow.file,
                    column=river.inflow.column,
                    gaps=river.inflow.gaps,
                    source_days=dry.source_days,
                )
            )
            usual[name] = _before(float(inflow[name].mean()), dry.flow_ratio)
        elif river.inflow is not None:
            inflow[name] = np.full(steps, dry.steady_scale * river.inflow)
            usual[name] = river.inflow
    return inflow, usual


def _before(value: float, ratio: float) -> float:
    """A mean as it would be in a season that was not made dry."""
    return value / ratio if ratio > 0.0 else value


def _releases(
    scenario: Scenario, time: np.ndarray, minimum_flow: dict[str, np.ndarray]
) -> np.ndarray:
    """What each reservoir lets out: as given, or the minimum flow of its river."""
    months = time.astype("datetime64[M]").astype(int) % 12
    columns = [
        minimum_flow[dam.river] if dam.release is None
        else np.broadcast_to(np.asarray(dam.release, dtype=float), (12,))[months]
        for dam in scenario.reservoir.values()
    ]  # fmt: skip
    return np.column_stack(columns) if columns else np.zeros((len(time), 0))
