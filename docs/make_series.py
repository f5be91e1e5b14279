"""Make the invented weather and river flow of the bundled scenarios.

    python docs/make_series.py [FOLDER]

The weather is drawn by hydroloop's own generator and then bent to the story: a dry, warm summer for
the five towns, a wet spring for the old town, 25 years that differ from each other for the long
river. The flow of each river comes from a quick and a slow linear store that the rain fills.
Nothing was measured anywhere.
"""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np

from hydroloop.weather import weather_for

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
    """The year 2031 on the Wren: from May to October half the rain, two degrees warmer."""
    made = weather_for(
        "2031-01-01",
        "2031-12-31",
        1.0,
        climate="wet_winter",
        seed=2031,
        latitude_deg=45.0,
        elevation_m=180.0,
    )
    dates = made["time"].values.astype("datetime64[D]")
    month = made["time"].dt.month.values
    summer = (month >= 5) & (month <= 10)
    rain = np.where(summer, 0.5, 1.0) * made["rain_mm"].values
    warmer = np.where(summer, 2.0, 0.0)
    write(
        folder / "five_towns_weather.csv",
        "date,rain [mm],tmin [C],tmax [C]",
        dates,
        [rain, made["tmin_c"].values + warmer, made["tmax_c"].values + warmer],
    )
    asked = 1.15 * made["et0_mm"].values
    write(
        folder / "five_towns_flow.csv",
        "date,wren [m3/s],fenlow [m3/s]",
        dates,
        [flow_from_rain(rain, asked, 215.0, 80.0), flow_from_rain(rain, asked, 80.0, 75.0)],
    )


def old_town(folder: Path) -> None:
    """Half a year on the Tarrow, November to June across the new year: a third more spring rain."""
    made = weather_for(
        "2030-11-01",
        "2031-06-30",
        1.0,
        climate="wet_winter",
        seed=1893,
        latitude_deg=45.0,
        elevation_m=40.0,
    )
    dates = made["time"].values.astype("datetime64[D]")
    month = made["time"].dt.month.values
    rain = np.where((month >= 3) & (month <= 5), 1.8, 1.0) * made["rain_mm"].values
    write(
        folder / "old_town_weather.csv",
        "date,rain [in],tmin [F],tmax [F]",
        dates,
        [rain / 25.4, made["tmin_c"].values * 1.8 + 32.0, made["tmax_c"].values * 1.8 + 32.0],
    )
    flow = flow_from_rain(rain, 1.15 * made["et0_mm"].values, 640.0, 40.0)
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
    made = weather_for(
        "2035-01-01",
        "2059-12-31",
        1.0,
        climate="wet_winter",
        seed=2059,
        latitude_deg=45.0,
        elevation_m=220.0,
    )
    dates = made["time"].values.astype("datetime64[D]")
    factor = year_factors(25, seed=25)[made["time"].dt.year.values - 2035]
    rain, warmer = factor * made["rain_mm"].values, 3.0 * (1.0 - factor)
    write(
        folder / "long_river_weather.csv",
        "date,rain [mm],tmin [C],tmax [C]",
        dates,
        [rain, made["tmin_c"].values + warmer, made["tmax_c"].values + warmer],
        decimals=1,
    )
    flow = flow_from_rain(rain, 1.15 * made["et0_mm"].values, 130.0, 60.0)
    write(folder / "long_river_flow.csv", "date,tessle [m3/s]", dates, [flow], decimals=3)


if __name__ == "__main__":
    where = Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parents[1] / "scenarios"
    five_towns(where)
    old_town(where)
    long_river(where)
