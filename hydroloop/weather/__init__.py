"""Weather: rain, temperature, evaporation and river flow, read from files or invented."""

from __future__ import annotations

from hydroloop.weather.calendar import season_days
from hydroloop.weather.climate import Climate
from hydroloop.weather.climates import CLIMATES, climate_named
from hydroloop.weather.fit import fit_climate
from hydroloop.weather.flow_file import flow_for, read_flow
from hydroloop.weather.generator import generate_weather
from hydroloop.weather.reference import Site, open_water_evaporation, reference_evaporation
from hydroloop.weather.season import weather_for
from hydroloop.weather.steps import to_steps
from hydroloop.weather.weather_file import read_weather

__all__ = [
    "CLIMATES",
    "Climate",
    "Site",
    "climate_named",
    "fit_climate",
    "flow_for",
    "generate_weather",
    "open_water_evaporation",
    "read_flow",
    "read_weather",
    "reference_evaporation",
    "season_days",
    "to_steps",
    "weather_for",
]
