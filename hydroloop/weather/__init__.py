"""Weather: rain, temperature, evaporation and river flow, read from files or invented."""

from __future__ import annotations

from hydroloop.weather.antecedent import curve_number_at
from hydroloop.weather.calendar import season_days
from hydroloop.weather.climate import Climate
from hydroloop.weather.climates import CLIMATES, climate_named
from hydroloop.weather.curve_number import (
    runoff_depth,
)
from hydroloop.weather.evaporation import (
    hargreaves_samani_mm,
    penman_monteith_mm,
    penman_open_water_mm,
    wind_at_2m_m_per_s,
)
from hydroloop.weather.fit import fit_climate, fit_gamma
from hydroloop.weather.flow_file import flow_for, read_flow
from hydroloop.weather.frequency import (
    LogPearson3,
    distribution_free_value,
    fit_log_pearson3,
    pearson3_factor,
    plotting_positions,
    ranked_value,
)
from hydroloop.weather.generator import generate_rain_mm, generate_weather
from hydroloop.weather.low_flow import (
    LowFlow,
    YearlyMinima,
    flow_exceeded,
    low_flow,
    n_day_means,
    share_reaching,
    yearly_minima,
)
from hydroloop.weather.radiation import (
    clear_sky_radiation_mj_per_m2,
    net_longwave_mj_per_m2,
    net_shortwave_mj_per_m2,
    radiation_from_sunshine_mj_per_m2,
    relative_shortwave,
)
from hydroloop.weather.reference import (
    Evaporation,
    Site,
    net_radiation_mj_per_m2,
    open_water_evaporation,
    reference_evaporation,
    vapour_pressure_kpa,
)
from hydroloop.weather.season import weather_for
from hydroloop.weather.signatures import (
    baseflow_index,
    budyko_evaporation,
    flashiness,
    low_flow_ratio,
    turc_pike_evaporation,
)
from hydroloop.weather.snow import melt_depth, snowfall_share
from hydroloop.weather.sun import (
    day_length_h,
    declination_rad,
    extraterrestrial_radiation_mj_per_m2,
    inverse_distance,
    radiation_between_mj_per_m2,
    sunset_angle_rad,
)
from hydroloop.weather.vapour import (
    air_pressure_kpa,
    mean_saturation_pressure_kpa,
    psychrometric_constant_kpa_per_c,
    saturation_pressure_kpa,
    saturation_slope_kpa_per_c,
    vapour_pressure_from_extremes_kpa,
    vapour_pressure_from_mean_kpa,
)
from hydroloop.weather.weather_file import read_weather

__all__ = [
    "CLIMATES",
    "Climate",
    "Evaporation",
    "LogPearson3",
    "LowFlow",
    "Site",
    "YearlyMinima",
    "air_pressure_kpa",
    "baseflow_index",
    "budyko_evaporation",
    "clear_sky_radiation_mj_per_m2",
    "climate_named",
    "curve_number_at",
    "day_length_h",
    "declination_rad",
    "distribution_free_value",
    "extraterrestrial_radiation_mj_per_m2",
    "fit_climate",
    "fit_gamma",
    "fit_log_pearson3",
    "flashiness",
    "flow_exceeded",
    "flow_for",
    "generate_rain_mm",
    "generate_weather",
    "hargreaves_samani_mm",
    "inverse_distance",
    "low_flow",
    "low_flow_ratio",
    "mean_saturation_pressure_kpa",
    "melt_depth",
    "n_day_means",
    "net_longwave_mj_per_m2",
    "net_radiation_mj_per_m2",
    "net_shortwave_mj_per_m2",
    "open_water_evaporation",
    "pearson3_factor",
    "penman_monteith_mm",
    "penman_open_water_mm",
    "plotting_positions",
    "psychrometric_constant_kpa_per_c",
    "radiation_between_mj_per_m2",
    "radiation_from_sunshine_mj_per_m2",
    "ranked_value",
    "read_flow",
    "read_weather",
    "reference_evaporation",
    "relative_shortwave",
    "runoff_depth",
    "saturation_pressure_kpa",
    "saturation_slope_kpa_per_c",
    "season_days",
    "share_reaching",
    "snowfall_share",
    "sunset_angle_rad",
    "turc_pike_evaporation",
    "vapour_pressure_from_extremes_kpa",
    "vapour_pressure_from_mean_kpa",
    "vapour_pressure_kpa",
    "weather_for",
    "wind_at_2m_m_per_s",
    "yearly_minima",
]
