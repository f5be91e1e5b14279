"""Storms on catchments, as scenarios: what runs off of each, step by step."""

from __future__ import annotations

from functools import cache

import numpy as np
import xarray as xr
from file_scenarios import head, rows, run, thirsty_town

from hydroloop.record import flow_mask

INCH_MM = 25.4
AREA_KM2 = 10.0
_FIRST, _LAST = "2031-06-01", "2031-06-02"
_WEATHER = """
[weather]
file = "storm.csv"
"""
_RIVER = """
[river.r{k}]
length = "10 km"
catchment = "{area} km2"
catchment_at_end = "{area} km2"
curve_number = {number}
soil_start = "{soil}"
"""
TOWN = """
[town.t{k}]
people = 1000
intake = {{ river = "wren", at = "2 km" }}
outfall = {{ river = "wren", at = "6 km" }}
yards.area_per_person = "0 m2"
land.area = "1 km2"
land.paved = "{paved} %"
land.soil_start = "50 %"
land.curve_number = {number}
sewers.storm_share = "0 %"
"""


def rained_on(places: str, table: str, step: str = "1 day") -> xr.Dataset:
    """Record of rivers and towns over the two days of a table of weather."""
    return run(head(_FIRST, _LAST, step) + _WEATHER + places, storm=table)


def a_days_rain(rain_mm: float) -> str:
    """Weather of two days, with so much rain on the first."""
    days = [(_FIRST, rain_mm, 18, 26), (_LAST, 0, 18, 26)]
    return rows("date,rain [mm],tmin [C],tmax [C]", days)


def by_hour(sums: str) -> tuple[float, ...]:
    """Rain of each hour, from the sums after each."""
    return tuple(np.diff([0.0, *map(float, sums.split())]).tolist())


def _run_off(table: str, numbers: tuple[float, ...], step: str, soil: str) -> np.ndarray:
    """Sum of the runoff after each step of the first day [in], shape (step, catchment)."""
    places = thirsty_town("r0", 2, 6)
    for k, number in enumerate(numbers):
        places += _RIVER.format(k=k, area=AREA_KM2, number=number, soil=soil)
    record = rained_on(places, table, step)
    steps = int((record["time"].dt.day == 1).sum())
    off = np.column_stack(
        [
            record["rate"]
            .isel(flow=flow_mask(record, source=(f"r{k}/soil",), kind="stormwater"))
            .sum("flow")
            .values[:steps]
            for k in range(len(numbers))
        ]
    )
    return np.cumsum(off, axis=0) / (steps * 1e3 * AREA_KM2 * INCH_MM)


@cache
def runoff_of_a_day(
    rain_in: float, numbers: tuple[float, ...], step: str = "1 day", soil: str = "50 %"
) -> dict[float, float]:
    """Runoff of a day's rain [in], by curve number at average moisture; a soil half full has it."""
    off = _run_off(a_days_rain(rain_in * INCH_MM), numbers, step, soil)
    return dict(zip(numbers, off[-1], strict=True))


@cache
def runoff_by_hour(rain_in: tuple[float, ...], number: float, soil: str = "50 %") -> np.ndarray:
    """Sum of the runoff after each hour [in] of a storm of up to a day; a soil half full is of
    average moisture, a full one wet."""
    hours = np.datetime64(f"{_FIRST}T00") + np.arange(48)
    rain = np.pad(rain_in, (0, len(hours) - len(rain_in))) * INCH_MM
    lines = [(f"{hour}:00", depth, 20) for hour, depth in zip(hours, rain, strict=True)]
    table = rows("time,rain [mm],temperature [C]", lines)
    return _run_off(table, (number,), "1 hour", soil)[:, 0]


def share_off_towns(rain_in: float, land: tuple[tuple[float, float], ...]) -> list[float]:
    """Share of a day's rain that runs off towns, each of a paved share [%] and a curve number."""
    places = '\n[river.wren]\nlength = "20 km"\ninflow = "20 m3/s"\n'
    for k, (paved, number) in enumerate(land):
        places += TOWN.format(k=k, paved=paved, number=number)
    record = rained_on(places, a_days_rain(rain_in * INCH_MM))
    first = record["rate"].isel(time=0)
    return [
        float(
            first.isel(
                flow=flow_mask(record, kind="stormwater", to_place=f"t{k}", to_role="storm_drains")
            ).sum()
        )
        / (1e3 * rain_in * INCH_MM)
        for k in range(len(land))
    ]
