"""The operator's round: a day of readings at a town's plant, hour by hour."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from hydroloop.charts.words import place_words
from hydroloop.errors import AskError, Problem
from hydroloop.measures import chlorine_left, oldest_tenth
from hydroloop.measures.materials import aimed, chlorine_decay, recipes
from hydroloop.plants.design import has_steps
from hydroloop.plants.readings import HOURS, TESTS, Flag, above_means, flags, invented_day
from hydroloop.scenario import Scenario
from hydroloop.tracing import operator, trace_material
from hydroloop.waterworks import simulate

# Days of hourly steps before the day that is read, so that basins and mains have settled.
_LEAD_DAYS = 6
_MODELLED = {
    "free chlorine": "chlorine",
    "iron": "iron",
    "manganese": "manganese",
    "fluoride": "fluoride",
}


@dataclass(frozen=True)
class Round:
    """Readings of one day at one plant."""

    town: str
    place: str  # the town in words
    day: date
    readings: dict[str, np.ndarray]  # readings at the plant's outlet, by test, shape (hour,)
    # free chlorine at the far end of the mains: in the oldest tenth of their water [mg/L], shape
    # (hour,)
    far_end: np.ndarray
    oldest: float  # time since that tenth left the plant, mean of the day [d]
    flags: list[Flag]  # readings that do not meet a limit
    # readings above a limit on a mean, or on most readings, which they break only if it goes on
    above_mean: list[Flag]
    seed: int  # seed of what is invented


def operators_round(scenario: Scenario, town: str, day: date, *, seed: int = 1) -> Round:
    """Readings of a day at a town's plant, 24 of each test.
    Chlorine, iron, manganese and fluoride come from the model, run by the hour and traced from
    a week before the day on; pH and turbidity are invented, and say so."""
    _check_plant(scenario, town)
    # The season is run whole and cut afterwards, so that weather, soil and tanks are its own.
    season, quality = simulate(scenario.changed({"season.step": "1 hour"})), scenario.quality
    last = HOURS * ((day - scenario.season.start).days + 1)
    begin = max(0, last - HOURS * (_LEAD_DAYS + 1))
    record = season.isel(time=slice(begin, last), edge=slice(begin, last + 1))
    op = operator(record)
    made = {**recipes(record, quality), **aimed(record, op, quality, scenario.town)}
    traced = {
        test: trace_material(op, made[name])["concentration"] for test, name in _MODELLED.items()
    }
    # The label at the end of an hour is what leaves in it.
    hours = {
        test: values.sel(store=f"{town}/clearwell").values[-HOURS:]
        for test, values in traced.items()
    }
    readings = {**hours, **invented_day(seed, f"{town} {day}")}
    steps = range(op.shape[0] - HOURS, op.shape[0])
    oldest = oldest_tenth(op, f"{town}/mains", steps)
    leaving = traced["free chlorine"].sel(store=f"{town}/clearwell").values[1:]
    chlorine = chlorine_left(
        op,
        oldest,
        steps,
        leaving=leaving,
        decay=chlorine_decay(record, quality, scenario.town[town]),
    )
    return Round(
        town,
        place_words(town, scenario.names),
        day,
        {test: readings[test] for test in TESTS},
        chlorine,
        float(oldest.age.mean()),
        flags(readings, chlorine),
        above_means(readings, chlorine),
        seed,
    )


def _check_plant(scenario: Scenario, town: str) -> None:
    works = scenario.town[town]
    if not has_steps(works) and works.wells is None:
        raise AskError(
            Problem(
                "TOWN",
                f"{place_words(town, scenario.names)} buys all its water "
                "and has no plant to read at.",
                "Choose a town with an intake or wells.",
            )
        )
