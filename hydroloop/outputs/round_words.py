"""The operator's round in words: a day of readings at a town's plant, hour by hour."""

from __future__ import annotations

from typing import Any

import numpy as np

from hydroloop.charts.words import date_words, place_words
from hydroloop.measures.far_end import OLDEST
from hydroloop.outputs.table import as_lines
from hydroloop.outputs.wording import number_of, wrap
from hydroloop.plants import CAUTION
from hydroloop.plants.limits import Limit, limits_of
from hydroloop.plants.readings import (
    AIM_TOLERANCE,
    HOURS,
    INVENTED,
    TESTS,
    Flag,
    is_aim,
    judged_limits,
)
from hydroloop.studies.operators_round import Round

_MANY = {"most": " in 95 % of a month", "mean": " as a mean of years"}


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
        *as_lines(rows), "", "Limits", *as_lines(_limits()), "",
        *wrap(f"The far end of the mains is the oldest {100 * OLDEST:.0f} % of their water here, "
              f"{found.oldest:.2g} days from the plant on the mean of the day. What the walls of "
              "old pipes use up comes on top in a real town.", "  "),
        *wrap(f"* invented, from seed {found.seed}, town and date, and true of no plant: the model "
              "does not follow pH and turbidity. All else comes from the model's own water, "
              "with the shares of the table quality and the chlorine of plant.disinfection. "
              "Operators read every hour, day "
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
        "far_end_free_chlorine": found.far_end.tolist(), "far_end_age_days": found.oldest,
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
        readings = [flag.reading for flag in above_mean if flag.limit == limit]
        lines += wrap(f"! {limit.test}: {_of_many(limit, readings)}", "    ", first="  ")
    for limit, is_low in dict.fromkeys((flag.limit, flag.is_low) for flag in found):
        readings = [flag.reading for flag in found if (flag.limit, flag.is_low) == (limit, is_low)]
        worst = f"down to {min(readings):.3g}" if is_low else f"up to {max(readings):.3g}"
        lines += wrap(f"! {limit.test} ({limit.where}; {limit.kind}, {_range(limit)}, "
                      f"{limit.source}): {number_of(len(readings), 'hour')} outside, {worst}: "
                      f"{limit.meaning}.", "    ", first="  ")
    return lines


def _of_many(limit: Limit, readings: list[float]) -> str:
    """Readings above a limit on a mean, or on most readings: one day does not break it."""
    highest, held = f"up to {max(readings):.3g} {limit.unit}", f"{limit.high:g} {limit.unit}"
    if limit.of == "most":
        return (f"{number_of(len(readings), 'hour')} above {held}, {highest}, where the law wants "
                f"95 % of a month's readings at or below it ({limit.source}). One day does not "
                f"break it; a month of such days would: {limit.meaning}.")
    who = "the law" if limit.kind == "legal" else "health advice"
    span = "lifetime" if "lifetime" in limit.where else "year"
    return (f"{highest}, above the {held} to which {who} holds the mean of a {span} "
            f"({limit.source}). One day does not break it; a {span} of such days would, and so "
            "much is no routine reading.")


def _limits() -> list[list[str]]:
    rows = [["", "allowed", "", "source"]]
    for test in TESTS:
        rows += [[test, _range(limit) + _MANY.get(limit.of, ""), limit.kind, limit.source]
                 for limit in limits_of(test) if "far end" not in limit.where]
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
