"""Make the invented weather and river flow of the bundled scenarios.

    python docs/make_series.py [FOLDER]

The weather is drawn by the rules of hydroloop's own generator and then bent to the story: a dry,
warm summer for the five towns, a wet spring for the old town, 25 years that differ from each other
for the long river. The flow of each river comes from a quick and a slow linear store that the rain
fills. Nothing was measured anywhere.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from hydroloop.weather import CLIMATES, season_days
from hydroloop.weather.bootstrap import days_of_other_years
from hydroloop.weather.calendar import day_of_year
from hydroloop.weather.generator import (
    rain_amounts_mm,
    temperature_residuals,
    weather_of_draws,
    wet_days,
)
from hydroloop.weather.reference import Site, reference_evaporation

_INVENTED = "# Invented by docs/make_series.py; no such place, nothing was measured."


def flow_from_rain(
    rain_mm: np.ndarray, evaporation_mm: np.ndarray, area_km2: float, recession_days: float
) -> np.ndarray:
    """Daily flow [m3/s] of a catchment: a bucket of soil, then a quick and a slow store."""
    soil_mm, quick_mm, slow_mm = 90.0, 1.0, 1.6 * recession_days
    flow = np.zeros(len(rain_mm))
    for day, (rain, asked) in enumerate(zip(rain_mm, evaporation_mm, strict=True)):
        soil_mm += 0.94 * rain - min(1.0, soil_mm / 70.0) * asked
        excess = max(0.0, soil_mm - 140.0)
        soil_mm = max(0.0, soil_mm - excess)
        quick_mm += 0.06 * rain + 0.3 * excess
        slow_mm += 0.7 * excess
        out_mm = 0.4 * quick_mm + slow_mm / recession_days
        quick_mm, slow_mm = 0.6 * quick_mm, slow_mm * (1.0 - 1.0 / recession_days)
        flow[day] = out_mm * area_km2 * 1000.0 / 86_400.0
    return flow


def drawn(first: str, last: str, seed: int, elevation_m: float) -> tuple[np.ndarray, dict]:
    """Days, and their rain, temperatures and reference evaporation, of a wet-winter climate."""
    climate, days = CLIMATES["wet_winter"], season_days(first, last)
    wet, amounts, warm = (np.random.default_rng([seed, stream]) for stream in range(3))
    rain_mm = rain_amounts_mm(
        climate, days, wet_days(climate, days, wet.random(len(days))), amounts.random(len(days))
    )
    residuals = temperature_residuals(warm.standard_normal((len(days), 3)))
    made = weather_of_draws(climate, days, rain_mm, residuals)
    asked = reference_evaporation(made, day_of_year(days), Site(45.0, elevation_m))
    return days, {**made, "et0_mm": asked.depth_mm}


def after_a_usual_year(
    first: str, last: str, seeds: tuple[int, int], elevation_m: float
) -> tuple[np.ndarray, dict]:
    """The same with the year before, drawn from the first of the seeds, from which soil, ground and
    reservoirs have their levels."""
    days, made = drawn(first, last, seeds[1], elevation_m)
    before = str(days_of_other_years(days[:1], -1)[0]), str(days[0] - 1)
    earlier, usual = drawn(*before, seeds[0], elevation_m)
    joined = {name: np.concatenate([usual[name], values]) for name, values in made.items()}
    return np.concatenate([earlier, days]), joined


def write(
    path: Path, header: str, dates: np.ndarray, columns: list[np.ndarray], decimals: int = 2
) -> None:
    """One row a day."""
    rows = [
        f"{date}," + ",".join(f"{value:.{decimals}f}" for value in row)
        for date, row in zip(dates, np.column_stack(columns), strict=True)
    ]
    path.write_text("\n".join([_INVENTED, header, *rows]) + "\n", encoding="utf-8")


def five_towns(folder: Path) -> None:
    """The year 2031 on the Wren, from May to October half the rain and two degrees warmer; and a
    usual 2030."""
    dates, made = after_a_usual_year("2031-01-01", "2031-12-31", (2030, 2031), 180.0)
    summer = (dates >= np.datetime64("2031-05-01")) & (dates <= np.datetime64("2031-10-31"))
    rain = np.where(summer, 0.5, 1.0) * made["rain_mm"]
    warmer = np.where(summer, 2.0, 0.0)
    write(
        folder / "five_towns_weather.csv",
        "date,rain [mm],tmin [C],tmax [C]",
        dates,
        [rain, made["tmin_c"] + warmer, made["tmax_c"] + warmer],
    )
    asked = 1.15 * made["et0_mm"]
    write(
        folder / "five_towns_flow.csv",
        "date,wren [m3/s],fenlow [m3/s]",
        dates,
        [flow_from_rain(rain, asked, 190.0, 80.0), flow_from_rain(rain, asked, 70.0, 75.0)],
    )


def old_town(folder: Path) -> None:
    """Eight months on the Tarrow, November to June across the new year, with more rain than usual
    from March to May; and a usual year before them."""
    dates, made = after_a_usual_year("2030-11-01", "2031-06-30", (1890, 1893), 40.0)
    spring = (dates >= np.datetime64("2031-03-01")) & (dates <= np.datetime64("2031-05-31"))
    rain = np.where(spring, 1.8, 1.0) * made["rain_mm"]
    write(
        folder / "old_town_weather.csv",
        "date,rain [in],tmin [F],tmax [F]",
        dates,
        [rain / 25.4, made["tmin_c"] * 1.8 + 32.0, made["tmax_c"] * 1.8 + 32.0],
    )
    flow = flow_from_rain(rain, 1.15 * made["et0_mm"], 640.0, 70.0)
    write(folder / "old_town_flow.csv", "date,tarrow [cfs]", dates, [flow * 35.3146667])


def year_factors(n: int, seed: int) -> np.ndarray:
    """Factor on the rain of each year: wet and dry years, a little of one carried to the next.

    A generator of daily weather makes its years too much alike; rivers know better.
    """
    draws = np.random.default_rng(seed).standard_normal(n)
    for year in range(1, n):
        draws[year] = 0.3 * draws[year - 1] + (1.0 - 0.3**2) ** 0.5 * draws[year]
    return np.exp(0.2 * draws)


def long_river(folder: Path) -> None:
    """The years 2035 to 2059 on the Tessle, wet and dry ones; dry years are warmer too."""
    dates, made = drawn("2035-01-01", "2059-12-31", 2059, 220.0)
    factor = year_factors(25, seed=25)[dates.astype("datetime64[Y]").astype(int) - 65]
    rain, warmer = factor * made["rain_mm"], 3.0 * (1.0 - factor)
    write(
        folder / "long_river_weather.csv",
        "date,rain [mm],tmin [C],tmax [C]",
        dates,
        [rain, made["tmin_c"] + warmer, made["tmax_c"] + warmer],
        decimals=1,
    )
    flow = flow_from_rain(rain, 1.15 * made["et0_mm"], 130.0, 60.0)
    write(folder / "long_river_flow.csv", "date,tessle [m3/s]", dates, [flow], decimals=3)


if __name__ == "__main__":
    where = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parents[1] / "scenarios"
    five_towns(where)
    old_town(where)
    long_river(where)
