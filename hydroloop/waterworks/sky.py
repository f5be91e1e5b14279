"""Weather of a scenario as the land sees it: of some days, and of the many years behind a mean."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path
from typing import Any, TypeAlias

import numpy as np
import xarray as xr

from hydroloop.scenario import Scenario
from hydroloop.waterworks.dry_season import Dryness
from hydroloop.waterworks.recharge import Years
from hydroloop.weather import season_days, weather_for
from hydroloop.weather.bootstrap import days_of_other_years
from hydroloop.weather.earlier import days_before, whole_years

Settings: TypeAlias = tuple[tuple[str, Any], ...]

_SEEN = ("rain_mm", "tmean_c", "et0_mm", "open_water_mm")
# Years of the generator that stand for its climate, the same ones for all seasons and seeds. A
# climate is told by the mean of thirty years (World Meteorological Organization, common practice).
_MOST_YEARS = 30
_CLIMATE_DAYS = season_days("1971-01-01", "2000-12-31")
_CLIMATE_SEED = 1


def weather_of(scenario: Scenario, days: np.ndarray, dry: Dryness) -> xr.Dataset:
    """Weather of some days, on the steps of the season."""
    made = weather_for(
        days[0],
        days[-1],
        scenario.season.step,
        source_days=dry.source_days,
        **_settings(scenario, dry),
    )
    made.attrs.update(dry.said)
    return made


def sky(weather: xr.Dataset) -> np.ndarray:
    """Rain, mean temperature, reference and open-water evaporation, of shape (time, 4)."""
    return np.column_stack([weather[name].values.astype(float) for name in _SEEN])


def many_years(
    scenario: Scenario, span: tuple[np.datetime64, np.datetime64] | None, past: np.ndarray
) -> Years:
    """Weather whose mean is the long-run mean, whichever season is asked for.

    Thirty years of the generator; of files their last whole years, thirty at most, and where they
    hold none the days `past` before the season, which then are one year again and again.
    """
    settings = tuple(_settings(scenario, Dryness(seed=_CLIMATE_SEED)).items())
    file = dict(settings)["file"]
    if file is None or span is None:
        return _years(settings, 0, _CLIMATE_DAYS[0], _CLIMATE_DAYS[-1])
    whole = whole_years(*span)
    if not whole:
        return Years(past)
    end = days_of_other_years(np.array(span[:1]), whole)[0]
    first = days_before(end, min(whole, _MOST_YEARS))[0]
    return _years(settings, file.stat().st_mtime_ns, first, end - 1)


@lru_cache(maxsize=16)
def _years(settings: Settings, changed_ns: int, first: np.datetime64, last: np.datetime64) -> Years:
    return Years(sky(weather_for(first, last, 1.0, **dict(settings))))


def _settings(scenario: Scenario, dry: Dryness) -> dict[str, Any]:
    given = scenario.weather
    return {
        "file": None if given.file is None else Path(scenario.folder) / given.file,
        "gaps": given.gaps,
        "climate": given.climate,
        "seed": given.seed if dry.seed is None else dry.seed,
        "latitude_deg": given.latitude,
        "elevation_m": given.elevation,
        "wind_m_per_s": given.wind,
        "rain_scale": given.rain_scale * dry.rain_scale,
        "warmer_by_c": given.warmer_by + dry.warmer_by_c,
    }
