"""The operator's round: a day of readings at a town's plant, hour by hour."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from hydroloop.charts.words import place_words
from hydroloop.errors import AskError, Problem
from hydroloop.measures.far_end import far_end
from hydroloop.measures.materials import aimed, chlorine_decay, recipes
from hydroloop.plants.design import has_steps
from hydroloop.plants.readings import HOURS, TESTS, Flag, above_means, flags, invented_day
from hydroloop.scenario import Scenario
from hydroloop.tracing import operator, trace_material
from hydroloop.waterworks import simulate

# Days of hourly steps before the day that is read, so that basins and mains have settled.
_LEAD_DAYS = 6
_MODELLED = {"free chlorine": "chlorine", "iron": "iron", "manganese": "manganese",
             "fluoride": "fluoride"}  # fmt: skip


@dataclass(frozen=True)
class Round:
    """Readings of one day at one plant.

    Attributes
    ----------
    town : str
        Its name.
    day : date
        The day.
    readings : dict of ndarray of shape (hour,)
        Readings at the plant's outlet, by test.
    far_end : ndarray of shape (hour,)
        Free chlorine at the far end of the mains: in the oldest tenth of their water [mg/L].
    oldest : float
        Time since that tenth left the plant, mean of the day [d].
    flags : list of Flag
        Readings that do not meet a limit.
    above_mean : list of Flag
        Readings above a limit on a mean, or on most readings, which they break only if it goes on.
    seed : int
        Seed of what is invented.
    """

    town: str
    day: date
    readings: dict[str, np.ndarray]
    far_end: np.ndarray
    oldest: float
    flags: list[Flag]
    above_mean: list[Flag]
    seed: int


def operators_round(scenario: Scenario, town: str, day: date, *, seed: int = 1) -> Round:
    """Readings of a day at a town's plant, hour by hour.

    Chlorine, iron, manganese and fluoride come from the model, run by the hour and traced from
    a week before the day on; pH and turbidity are invented, and say so.

    Parameters
    ----------
    scenario : Scenario
        Whose plant.
    town : str
        Name of the town.
    day : date
        The day; the week begins earlier only as far as the season does.
    seed : int
        Seed of what is invented.

    Returns
    -------
    Round
        24 readings of each test.

    Raises
    ------
    AskError
        If the seed is below zero, or the town has no plant of its own.
    InputError
        If weather or river flow cannot be read for the season.

    Examples
    --------
    >>> import hydroloop as hl
    >>> found = operators_round(hl.read_scenario("first_town"), "larkmill", date(2031, 8, 15))
    >>> len(found.readings["iron"])
    24
    """
    _check_plant(scenario, town)
    # The season is run whole and cut afterwards, so that weather, soil and tanks are its own.
    season, quality = simulate(scenario.changed({"season.step": "1 hour"})), scenario.quality
    last = HOURS * ((day - scenario.season.start).days + 1)
    begin = max(0, last - HOURS * (_LEAD_DAYS + 1))
    record = season.isel(time=slice(begin, last), edge=slice(begin, last + 1))
    op = operator(record)
    made = {**recipes(record, quality), **aimed(record, op, quality, scenario.town)}
    traced = {test: trace_material(op, made[name])["concentration"]
              for test, name in _MODELLED.items()}
    # The label at the end of an hour is what leaves in it.
    hours = {test: values.sel(store=f"{town}/clearwell").values[-HOURS:]
             for test, values in traced.items()}
    readings = {**hours, **invented_day(seed, f"{town} {day}")}
    end = far_end(record, op, town, record["time"].values[-HOURS:],
                  leaving=traced["free chlorine"].sel(store=f"{town}/clearwell").values[1:],
                  decay=chlorine_decay(record, quality, scenario.town[town]))
    return Round(town, day, {test: readings[test] for test in TESTS}, end.chlorine,
                 float(end.age.mean()), flags(readings, end.chlorine),
                 above_means(readings, end.chlorine), seed)


def _check_plant(scenario: Scenario, town: str) -> None:
    works = scenario.town[town]
    if not has_steps(works) and works.wells is None:
        raise AskError(Problem("TOWN", f"{place_words(town)} buys all its water and has no plant "
                               "to read at.", "Choose a town with an intake or wells."))
