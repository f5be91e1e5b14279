"""What drives a season from outside: weather, river inflow, releases, the hours of the day."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

import numpy as np

from hydroloop.bounds import FIRST_YEAR
from hydroloop.scenario import Scenario
from hydroloop.scenario.schema_river import FlowFile
from hydroloop.waterworks.demand import hourly_factors
from hydroloop.waterworks.dry_season import Dryness, dryness
from hydroloop.waterworks.file_record import record_span
from hydroloop.waterworks.known import Known
from hydroloop.waterworks.layout import Series
from hydroloop.waterworks.minimum_flow import river_minimum_flows
from hydroloop.waterworks.recharge import Years, day_means
from hydroloop.waterworks.sky import many_years, sky, weather_of
from hydroloop.weather import flow_for, season_days
from hydroloop.weather.earlier import days_before, served_by_record
from hydroloop.weather.series import WeatherSeries


@dataclass(frozen=True)
class Forcing:
    """Series of a season, one value a step.

    Attributes
    ----------
    time : ndarray of shape (time,)
        Start of each step.
    step : float
        Length of a step [d].
    weather : WeatherSeries
        What `hydroloop.weather.weather_for` labels.
    sky : ndarray of shape (time, 4)
        Rain [mm], mean temperature [degC], reference and open-water evaporation [mm].
    inflow : dict of ndarray of shape (time,)
        Inflow at the head of each river that is given [m3/d].
    lateral : dict of ndarray of shape (time,)
        Water that joins a river along its length, where it is given [m3/d].
    release : ndarray of shape (time, reservoir)
        Release that each reservoir's rule asks for [m3/d].
    minimum_flow : dict of ndarray of shape (time,)
        Flow that must be left in each river, by its rule [m3/d].
    usual_inflow : dict of float
        Mean inflow of a season that was not made dry, by river [m3/d].
    usual_rain_mm : float
        Mean rain of such a season [mm/d].
    past : Forcing or None
        The years before the first day, never made dry; None where there is no run-up.
    many_years : Years or None
        Of the past: weather of the years whose mean is the long-run mean.
    known : Known
        What a run-up through these days has come to, for works that are the same in it.
    """

    time: np.ndarray
    step: float
    weather: WeatherSeries
    sky: np.ndarray
    inflow: dict[str, np.ndarray]
    lateral: dict[str, np.ndarray]
    release: np.ndarray
    minimum_flow: dict[str, np.ndarray]
    usual_inflow: dict[str, float]
    usual_rain_mm: float
    past: Forcing | None = None
    many_years: Years | None = None
    known: Known = field(default_factory=Known)

    @cached_property
    def by_day(self) -> Years:
        """Its weather by the day."""
        return Years(day_means(self.sky, self.step), self.known)

    def series(self, minimum_flow: np.ndarray) -> Series:
        """The same as the stepping loop takes it; `minimum_flow` is that at each town's intake."""
        return self._series._replace(minimum_flow=minimum_flow)

    @cached_property
    def _series(self) -> Series:
        steps, rivers = len(self.time), list(self.minimum_flow)
        head, lateral = np.zeros((2, steps, len(rivers)))
        for column, river in enumerate(rivers):
            head[:, column] = self.inflow.get(river, 0.0)
            lateral[:, column] = self.lateral.get(river, 0.0)
        factors = np.column_stack(hourly_factors(steps, self.step))
        begins = np.arange(steps) % max(1, round(1.0 / self.step)) == 0
        return Series(self.sky, head, lateral, self.release, factors, begins, np.zeros((steps, 0)))


def season_forcing(
    scenario: Scenario,
    seed: int | None = None,
    past: Callable[[Scenario, int | None], Forcing | None] | None = None,
) -> Forcing:
    """Weather, inflow and releases of a scenario's season, and of the years before it."""
    season = scenario.season
    made = _driven(scenario, season_days(season.start, season.end), dryness(scenario, seed))
    before = (past or past_forcing)(scenario, seed)
    if before is None:
        return made
    return replace(
        _said(made, str(before.weather.said["run_up"])),
        past=before,
        usual_inflow=before.usual_inflow,
        usual_rain_mm=before.usual_rain_mm,
    )


def past_forcing(scenario: Scenario, seed: int | None = None) -> Forcing | None:
    """The same for the years before the first day, as they are without a dry season."""
    days = days_before(np.datetime64(scenario.season.start), run_up_years(scenario))
    if not len(days):
        return None
    span = record_span(scenario)
    served = days if span is None else served_by_record(days, *span)
    made = _driven(scenario, days, Dryness(seed=seed, source_days=served))
    made = _said(made, _past_in_words(days, served, span))
    return replace(made, many_years=many_years(scenario, span, made.by_day.sky))


def _said(made: Forcing, run_up: str) -> Forcing:
    said = {**made.weather.said, "run_up": run_up}
    return replace(made, weather=replace(made.weather, said=said))


def run_up_years(scenario: Scenario) -> int:
    """Whole years before the first day that a run-up steps through."""
    asked = math.ceil(scenario.season.run_up / 365.25 - 1e-9)
    return max(0, min(asked, scenario.season.start.year - FIRST_YEAR - 1))


def _past_in_words(
    days: np.ndarray, served: np.ndarray, span: tuple[np.datetime64, np.datetime64] | None
) -> str:
    """Where the weather before the first day comes from."""
    years = len(days) / 365.25
    if span is None:
        return f"{years:.0f} years of generated weather"
    own = float((days == served).sum()) / 365.25
    less = (span[1] - span[0]).astype(int) < 364
    rest = (
        "less than a year of files, completed with their first and last month"
        if less
        else "the files' own whole years, repeated"
    )
    if own < 0.01:
        return f"{years:.0f} years, made of {rest}"
    if own > 0.999 * years:
        return f"{years:.0f} years of the files"
    last = f"{12.0 * own:.0f} months"
    if own > 0.99:
        last = "year" if own < 1.5 else f"{own:.2g} years"
    return f"{years:.0f} years, the last {last} from the files, the rest made of {rest}"


def _driven(scenario: Scenario, days: np.ndarray, dry: Dryness) -> Forcing:
    """Weather, inflow and releases of some days."""
    season = scenario.season
    weather = weather_of(scenario, days, dry)
    time = weather.time
    minimum_flow = river_minimum_flows(scenario, time)
    inflow, usual = _inflows(scenario, days, dry)
    lateral = {
        name: _given_flow(scenario, river.lateral_inflow, days, dry)
        for name, river in scenario.river.items()
        if river.lateral_inflow is not None
    }
    seen = sky(weather)
    mean_rain_mm = float(seen[:, 0].mean()) / season.step
    return Forcing(
        time,
        season.step,
        weather,
        seen,
        inflow,
        lateral,
        _releases(scenario, time, minimum_flow),
        minimum_flow,
        usual,
        _before(mean_rain_mm, dry.rain_ratio),
    )


def _inflows(
    scenario: Scenario, days: np.ndarray, dry: Dryness
) -> tuple[dict[str, np.ndarray], dict[str, float]]:
    """Inflow of each river that is given, and its mean in a usual season."""
    inflow: dict[str, np.ndarray] = {}
    usual: dict[str, float] = {}
    for name, river in scenario.river.items():
        if river.inflow is None:
            continue
        inflow[name] = _given_flow(scenario, river.inflow, days, dry)
        usual[name] = (
            _before(float(inflow[name].mean()), dry.flow_ratio)
            if isinstance(river.inflow, FlowFile)
            else river.inflow
        )
    return inflow, usual


def _given_flow(
    scenario: Scenario, given: float | FlowFile, days: np.ndarray, dry: Dryness
) -> np.ndarray:
    """One flow all season long, or that of a file [m3/d]."""
    step = scenario.season.step
    if not isinstance(given, FlowFile):
        return np.full(round(len(days) / step), dry.steady_scale * given)
    return (
        dry.flow_scale
        * given.scale
        * flow_for(
            days[0],
            days[-1],
            step,
            file=Path(scenario.folder) / given.file,
            column=given.column,
            gaps=given.gaps,
            source_days=dry.source_days,
        )
    )


def _before(value: float, ratio: float) -> float:
    """A mean as it would be in a season that was not made dry."""
    return value / ratio if ratio > 0.0 else value


def _releases(
    scenario: Scenario, time: np.ndarray, minimum_flow: dict[str, np.ndarray]
) -> np.ndarray:
    """What each reservoir lets out: as given, or the minimum flow of its river."""
    months = time.astype("datetime64[M]").astype(int) % 12
    columns = [
        minimum_flow[dam.river]
        if dam.release is None
        else np.broadcast_to(np.asarray(dam.release, dtype=float), (12,))[months]
        for dam in scenario.reservoir.values()
    ]
    return np.column_stack(columns) if columns else np.zeros((len(time), 0))
