"""The operator's round in words: a day of readings at a town's plant, hour by hour."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from hydroloop.charts.words import date_words, place_words
from hydroloop.errors import AskError, Problem
from hydroloop.measures.materials import aimed_fluoride, recipes
from hydroloop.outputs.table import as_lines
from hydroloop.outputs.wording import number_of, wrap
from hydroloop.plants import CAUTION
from hydroloop.plants.design import has_steps
from hydroloop.plants.readings import (
    AIM_TOLERANCE,
    HOURS,
    INVENTED,
    TESTS,
    Flag,
    above_year_means,
    flags,
    invented_day,
    is_aim,
    judged_limits,
)
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
        Free chlorine at the far end of the mains [mg/L]: the mains are one mixed store, so it is
        their mean, and the worst end of a real town holds less.
    flags : list of Flag
        Readings that do not meet a limit.
    above_mean : list of Flag
        Readings above a limit on the mean of a year, which they break only if it goes on.
    seed : int
        Seed of what is invented.
    """

    town: str
    day: date
    readings: dict[str, np.ndarray]
    far_end: np.ndarray
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
    end = HOURS * ((day - scenario.season.start).days + 1)
    begin = max(0, end - HOURS * (_LEAD_DAYS + 1))
    record = season.isel(time=slice(begin, end), edge=slice(begin, end + 1))
    op = operator(record)
    made = {**recipes(record, quality), "fluoride": aimed_fluoride(record, op, quality)}
    traced = {test: trace_material(op, made[name])["concentration"]
              for test, name in _MODELLED.items()}
    # The label at the end of an hour is what leaves in it.
    hours = {test: values.sel(store=f"{town}/clearwell").values[-HOURS:]
             for test, values in traced.items()}
    readings = {**hours, **invented_day(seed, f"{town} {day}")}
    far_end = traced["free chlorine"].sel(store=f"{town}/mains").values[-HOURS:]
    return Round(town, day, {test: readings[test] for test in TESTS}, far_end,
                 flags(readings, far_end), above_year_means(readings, far_end), seed)


def _check_plant(scenario: Scenario, town: str) -> None:
    works = scenario.town[town]
    if not has_steps(works) and works.wells is None:
        raise AskError(Problem("TOWN", f"{place_words(town)} buys all its water and has no plant "
                               "to read at.", "Choose a town with an intake or wells."))


def round_lines(found: Round) -> list[str]:
    """The round as lines of text: what needs a second look first, then the table.

    Parameters
    ----------
    found : Round
        The day.

    Returns
    -------
    list of str
        Lines of text.
    """
    far = judged_limits("free chlorine", far_end=True)
    marks = {(flag.hour, "far end" if flag.limit in far else flag.test) for flag in found.flags}
    rows = [["hour", *(f"{test}*" if test in INVENTED else test for test in TESTS), "far end"]]
    for hour in range(HOURS):
        cells = [f"{found.readings[test][hour]:.3g}" + ("!" if (hour, test) in marks else "")
                 for test in TESTS]
        end = f"{found.far_end[hour]:.2g}" + ("!" if (hour, "far end") in marks else "")
        rows.append([f"{hour:02d}:00", *cells, end])
    return [
        f"The operator's round: {place_words(found.town)}, {date_words(np.datetime64(found.day))}",
        "", *_flagged(found.flags, found.above_mean), "",
        "At the plant's outlet, in mg/L, turbidity in NTU; far end of the mains: free chlorine",
        *as_lines(rows), "", "Limits for single readings", *as_lines(_limits()), "",
        *wrap("The mains are one mixed store here: the far end is their mean, and the worst end of "
              "a real town holds less chlorine.", "  "),
        *wrap(f"* invented, from seed {found.seed}, town and date, and true of no plant: the model "
              "does not follow pH and turbidity. All else comes from the model's own water, "
              "with the shares and doses of the table quality. Operators read every hour, day "
              "and night (common practice).", "  "),
        *wrap(CAUTION, "  "),
    ]  # fmt: skip


def round_facts(found: Round) -> dict[str, Any]:
    """The round as plain values for a script.

    Parameters
    ----------
    found : Round
        The day.

    Returns
    -------
    dict
        Readings by test, flags, and which tests are invented.
    """
    return {
        "town": found.town, "day": str(found.day), "seed": found.seed, "invented": list(INVENTED),
        "readings": {test: values.tolist() for test, values in found.readings.items()},
        "far_end_free_chlorine": found.far_end.tolist(),
        "flags": [{"hour": flag.hour, "test": flag.test, "reading": flag.reading,
                   "low": flag.limit.low, "high": flag.limit.high, "kind": flag.limit.kind,
                   "source": flag.limit.source, "meaning": flag.limit.meaning}
                  for flag in found.flags],
        "above_limits_on_means": [
            {"hour": flag.hour, "test": flag.test, "reading": flag.reading,
             "high": flag.limit.high, "source": flag.limit.source} for flag in found.above_mean],
        "caution": CAUTION,
    }  # fmt: skip


def _flagged(found: list[Flag], above_mean: list[Flag]) -> list[str]:
    """One line for each limit that was not met, with what it means."""
    if not found and not above_mean:
        return ["  Every reading meets its limit."]
    lines = []
    for limit in dict.fromkeys(flag.limit for flag in above_mean):
        highest = max(flag.reading for flag in above_mean if flag.limit == limit)
        lines += wrap(f"! {limit.test}: up to {highest:.3g} {limit.unit}, above the "
                      f"{limit.high:g} {limit.unit} to which the law holds the mean of a year "
                      f"({limit.source}). One day does not break it; a year of such days would, "
                      "and so much is no routine reading.", "    ", first="  ")
    for limit, is_low in dict.fromkeys((flag.limit, flag.is_low) for flag in found):
        readings = [flag.reading for flag in found if (flag.limit, flag.is_low) == (limit, is_low)]
        worst = f"down to {min(readings):.3g}" if is_low else f"up to {max(readings):.3g}"
        lines += wrap(f"! {limit.test} ({limit.where}; {limit.kind}, {_range(limit)}, "
                      f"{limit.source}): {number_of(len(readings), 'hour')} outside, {worst}: "
                      f"{limit.meaning}.", "    ", first="  ")
    return lines


def _limits() -> list[list[str]]:
    rows = [["", "allowed", "", "source"]]
    for test in TESTS:
        rows += [[test, _range(limit), limit.kind, limit.source] for limit in judged_limits(test)]
    rows += [["far end", _range(limit), limit.kind, limit.source]
             for limit in judged_limits("free chlorine", far_end=True)]
    return rows


def _range(limit: Any) -> str:
    if is_aim(limit):
        above = 100.0 * (AIM_TOLERANCE - 1.0)
        return f"about {limit.high:g} {limit.unit}, flagged from {above:.0f} % above"
    if limit.low is not None and limit.high is not None:
        return f"{limit.low:g} to {limit.high:g}"
    ends = f"at least {limit.low:g}" if limit.high is None else f"at most {limit.high:g}"
    return ends if limit.unit == "-" else f"{ends} {limit.unit}"
