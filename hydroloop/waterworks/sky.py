"""Weather of a scenario as the land sees it: of some days, and of the many years behind a mean."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import numpy as np

from hydroloop.scenario import Scenario
from hydroloop.waterworks.dry_season import Dryness
from hydroloop.waterworks.recharge import Years
from hydroloop.weather import season_days
from hydroloop.weather.bootstrap import days_of_other_years
from hydroloop.weather.earlier import days_before, whole_years
from hydroloop.weather.season import Given, season_series
from hydroloop.weather.series import WeatherSeries

_SEEN = ("rain_mm", "tmean_c", "et0_mm", "open_water_mm")
# Years of the generator that stand for its climate, the same ones for all seasons and seeds. A
# climate is told by the mean of thirty years (World Meteorological Organization, common practice).
_MOST_YEARS = 30
_CLIMATE_DAYS = season_days("1971-01-01", "2000-12-31")
_CLIMATE_SEED = 1


def weather_of(scenario: Scenario, days: np.ndarray, dry: Dryness) -> WeatherSeries:
    """Weather of some days, on the steps of the season."""
    step = scenario.season.step
    made = season_series(days[0], days[-1], step, _given(scenario, dry), dry.source_days)
    said = {**made.said, **dry.said, "step_days": step}
    return replace(made, said=said)


def sky(weather: WeatherSeries) -> np.ndarray:
    """Rain, mean temperature, reference and open-water evaporation, of shape (time, 4)."""
    return np.column_stack([weather.columns[name].astype(float) for name in _SEEN])


def many_years(
    scenario: Scenario, span: tuple[np.datetime64, np.datetime64] | None, past: np.ndarray
) -> Years:
    """Weather whose mean is the long-run mean, whichever season is asked for.

    Thirty years of the generator; of files their last whole years, thirty at most, and where they
    hold none the days `past` before the season, which then are one year again and again.
    """
    given = _given(scenario, Dryness(seed=_CLIMATE_SEED))
    if given.file is None or span is None:
        return _years(given, 0, _CLIMATE_DAYS[0], _CLIMATE_DAYS[-1])
    whole = whole_years(*span)
    if not whole:
        return Years(past)
    end = days_of_other_years(np.array(span[:1]), whole)[0]
    first = days_before(end, min(whole, _MOST_YEARS))[0]
    last = end - np.timedelta64(1, "D")
    return _years(given, Path(given.file).stat().st_mtime_ns, first, last)


@lru_cache(maxsize=16)
def _years(given: Given, changed_ns: int, first: np.datetime64, last: np.datetime64) -> Years:
    return Years(sky(season_series(first, last, 1.0, given)))


def _given(scenario: Scenario, dry: Dryness) -> Given:
    given = scenario.weather
    return Given(
        given.latitude,
        given.elevation,
        None if given.file is None else Path(scenario.folder) / given.file,
        given.gaps,
        given.climate,
        given.seed if dry.seed is None else dry.seed,
        given.wind,
        given.rain_scale * dry.rain_scale,
        given.warmer_by + dry.warmer_by_c,
    )
