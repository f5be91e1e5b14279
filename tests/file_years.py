"""Scenarios on files of their own: the same year again and again, or the same day."""

from __future__ import annotations

import datetime as dt
from pathlib import Path

from hydroloop.scenario import Scenario, read_scenario

SCENARIOS = Path(__file__).parents[1] / "scenarios"


def five_towns_again(folder: Path, years: int, year: int = 2031) -> Scenario:
    """The five towns on one year of their files, written after itself so many times and run whole.

    Years of 365 days without a gap, so that 29 February is a day like any other.
    """
    first = dt.date(year, 1, 1)
    for kind in ("weather", "flow"):
        note, head, *rows = (SCENARIOS / f"five_towns_{kind}.csv").read_text().splitlines()
        values = [row.partition(",")[2] for row in rows if row.startswith(str(year))]
        dates = (first + dt.timedelta(days=day) for day in range(years * len(values)))
        again = [f"{date},{value}" for date, value in zip(dates, years * values, strict=True)]
        (folder / f"five_towns_{kind}.csv").write_text("\n".join([note, head, *again]) + "\n")
    last = first + dt.timedelta(days=365 * years - 1)
    text = (SCENARIOS / "five_towns.toml").read_text()
    text = text.replace(f"end = {year}-12-31", f"end = {last}")
    (folder / "five_towns.toml").write_text(text)
    return read_scenario(folder / "five_towns.toml")


CATCHMENT = """
title = "The same rain every day on a catchment"
[season]
start = {start}
end = {end}
[weather]
file = "weather.csv"
[river.wren]
length = "40 km"
catchment = "300 km2"
recession = "60 day"
[town.larkmill]
people = 20000
intake = {{ river = "wren", at = "10 km" }}
outfall = {{ river = "wren", at = "15 km" }}
"""


def steady_catchment(folder: Path, start: str, end: str) -> Scenario:
    """A river that rises from a catchment on which it rains 6 mm every day of 2031.

    Day and night are as warm as each other, so that by Hargreaves and Samani nothing evaporates.
    """
    days = (dt.date(2031, 1, 1) + dt.timedelta(days=day) for day in range(365))
    rows = [f"{day},6,10,10" for day in days]
    (folder / "weather.csv").write_text("\n".join(["date,rain [mm],tmin [C],tmax [C]", *rows]))
    (folder / "steady.toml").write_text(CATCHMENT.format(start=start, end=end))
    return read_scenario(folder / "steady.toml")
