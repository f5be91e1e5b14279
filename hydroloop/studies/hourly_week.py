"""A week of one town by the hour: demand, what the plant makes, and the storage tanks between."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import xarray as xr

from hydroloop.charts.words import joined, place_words
from hydroloop.errors import AskError, Problem
from hydroloop.measures import run_of, unmet
from hydroloop.plants.design import has_steps
from hydroloop.plants.standards import FIRES_ABOVE, finished_storage_days
from hydroloop.plants.storage import day_equalising_volumes
from hydroloop.record import flow_mask, flow_total, step_days
from hydroloop.scenario import Scenario
from hydroloop.waterworks import simulate
from hydroloop.waterworks.sizes import town_sizes

HOURS = 24
DAYS = 7
PURPOSES = {"homes": "home_use", "workplaces": "work_use", "yards": "yard_use", "leaks": "leak"}
"""Who takes water from the mains, and the kind of flow that it is."""


@dataclass(frozen=True, eq=False)
class Week:
    """A week of one town by the hour."""

    town: str
    place: str  # the town in words
    time: np.ndarray  # start of each hour, shape (time,)
    # what homes, workplaces, yards and leaks take from the mains [m3/d], shape (time,)
    taken: dict[str, np.ndarray]
    # what the plant, with wells and imports, puts into the tanks [m3/d], shape (time,)
    made: np.ndarray
    level: np.ndarray  # water in the tanks at the ends of the hours [m3], shape (edge,)
    short_hours: int  # hours in which customers got less than they asked for [-]
    # what the tanks can hold [m3], and the most that plant, wells and imports can give [m3/d]
    tanks: float
    able: float
    storage_rule: float  # storage that a published rule asks for, without water for fires [m3]
    stores_for_fires: bool  # whether that rule asks for water to fight fires on top
    sources: str  # what brings water into the tanks, as part of a sentence
    season_start: date  # first day of the season, where the run began

    @property
    def demand(self) -> np.ndarray:
        """Flow out of the tanks, leaks with it, shape (time,) [m3/d]."""
        return np.asarray(sum(self.taken.values()))

    @property
    def days(self) -> np.ndarray:
        """Mean demand of each day, shape (time,) [m3/d]."""
        return self.demand.reshape(-1, HOURS).mean(axis=1)

    @property
    def busiest(self) -> int:
        """Number of the day with the highest mean demand."""
        return int(self.days.argmax())

    @property
    def peak_hour(self) -> int:
        """Number of the hour with the highest demand."""
        return int(self.demand.argmax())

    @property
    def peak_ratio(self) -> float:
        """Highest hour over the mean hour of the same day [-]."""
        return float(self.demand[self.peak_hour] / self.days[self.peak_hour // HOURS])

    @property
    def equalising(self) -> np.ndarray:
        """Equalising volume of each day, shape (time,) [m3]."""
        return day_equalising_volumes(self.demand, HOURS)

    @property
    def lasts_hours(self) -> float:
        """How long the tanks would last from their lowest hour on, at the mean demand [h]."""
        return float(HOURS * self.level.min() / self.demand.mean())


def hourly_week(scenario: Scenario, town: str, first: date | None = None) -> Week:
    """A week of one town by the hour, of most demand if no first day is given.
    The whole season is run in hours, so that weather, soil, tanks and drought stages are its own.
    """
    _check_tanks(scenario, town)
    return week_of(scenario, simulate(scenario.changed({"season.step": "1 hour"})), town, first)


def week_of(scenario: Scenario, record: xr.Dataset, town: str, first: date | None = None) -> Week:
    """A week of one town out of the record of this scenario that was run by the hour."""
    _check_tanks(scenario, town)
    check_step(float(step_days(record).max()))
    out = flow_total(record, flow_mask(record, from_place=town, from_role="tanks")).values
    begin = _first_hour(record, out, first)
    hours = slice(begin, min(begin + DAYS * HOURS, len(out)))
    part = record.isel(time=hours, edge=slice(begin, hours.stop + 1))
    into = flow_mask(part, to_place=town, to_role="tanks")
    works, sizes = scenario.town[town], town_sizes(scenario.town[town])
    wells = 0.0 if works.wells is None else works.wells.capacity
    plant = sizes.plant_capacity if has_steps(works) else 0.0
    average = float(out.mean())
    whole, maximum = finished_storage_days(average)
    busiest_day = float(out.reshape(-1, HOURS).mean(axis=1).max())
    return Week(
        town=town,
        place=place_words(town, scenario.names),
        time=part["time"].values,
        taken={
            who: flow_total(
                part, flow_mask(part, kind=kind, from_place=town, from_role="mains")
            ).values
            for who, kind in PURPOSES.items()
        },
        made=flow_total(part, into).values,
        level=part["volume"].sel(store=f"{town}/tanks").values,
        short_hours=_short_hours(part, town),
        tanks=sizes.tanks_volume,
        able=plant + wells + works.imported,
        storage_rule=whole * average + maximum * busiest_day,
        stores_for_fires=average > FIRES_ABOVE,
        sources=_sources(plant, wells, works.imported),
        season_start=scenario.season.start,
    )


def _sources(plant: float, wells: float, imported: float) -> str:
    names = (("the plant", plant), ("the wells", wells), ("the imports", imported))
    return joined([name for name, most in names if most > 0.0]) or "what comes in"


def _check_tanks(scenario: Scenario, town: str) -> None:
    if town_sizes(scenario.town[town]).tanks_volume <= 0.0:
        raise AskError(
            Problem(
                "TOWN",
                f"{place_words(town, scenario.names)} has no storage tanks, "
                "so there is nothing to fill by night.",
                f"Give town.{town}.tanks.volume, or leave it out.",
            )
        )


def check_step(step: float) -> None:
    """Make sure that a step [d] is an hour."""
    if not np.isclose(step, 1.0 / HOURS, rtol=1e-6):
        raise AskError(
            Problem(
                "season.step",
                f"a step of {HOURS * step:g} hours hides the peaks "
                "that a week by the hour is to show.",
                'Write season.step = "1 hour", or leave it out.',
            )
        )


def _first_hour(record: xr.Dataset, out: np.ndarray, first: date | None) -> int:
    """Hour with which the week begins, counted from the start of the record."""
    days = len(out) // HOURS
    last = max(0, days - DAYS)
    if first is None:
        by_day = np.concatenate([[0.0], np.cumsum(out.reshape(-1, HOURS).mean(axis=1))])
        week = min(DAYS, days)
        return HOURS * int((by_day[week:] - by_day[:-week]).argmax())
    start = record["time"].values[0].astype("datetime64[D]").astype(object)
    number = (first - start).days
    if not 0 <= number < days:
        raise AskError(
            Problem(
                "DATE",
                f"{first} lies outside the season.",
                f"Choose a day from {start} to {start + timedelta(days=days - 1)}.",
            )
        )
    return HOURS * min(number, last)


def _short_hours(record: xr.Dataset, town: str) -> int:
    """Hours in which more than a thousandth of what was asked for was missing."""
    run = run_of(record)
    assert run.demand is not None
    short, asked = (part[:, run.number(town)].sum(axis=1) for part in (unmet(run), run.demand))
    return int((short > 1e-3 * asked).sum())
