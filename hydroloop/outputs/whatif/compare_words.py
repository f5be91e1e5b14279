"""Two runs side by side in sentences: what became of each town, and what did most of it."""

from __future__ import annotations

import math
from typing import NamedTuple

import numpy as np
import xarray as xr

from hydroloop.charts.contributions import WITH, WITHOUT
from hydroloop.charts.words import joined, key_words, percent, place_words
from hydroloop.gates import USUAL, words_of
from hydroloop.outputs.document.wording import figure, number_of
from hydroloop.outputs.run.trouble import LEADS
from hydroloop.outputs.whatif.compare_cause import cause_sentence, upstream_words
from hydroloop.outputs.whatif.season_measures import (
    CUT,
    MOST_TOLD,
    OVERFLOWED,
    SHORT,
    UNDER,
    USED,
    VOLUME,
    Told,
    matters,
    two_shown,
    with_unmet,
)
from hydroloop.placenames import Names
from hydroloop.scenario.tree import find
from hydroloop.units.printing import System
from hydroloop.whatif import Comparison

_NAMED = 3  # changes that a sentence names, where there are many
_SEEN = 5e-5  # part of a used share that a table of parts shows [-]
_SMALL = 0.05  # part of the largest from which a change is named [-]


class _Pair(NamedTuple):
    """A measure of a town in both runs, as it is held; nan where the town is not there."""

    town: str
    before: float
    after: float


def told_words(found: Comparison, system: System) -> list[str]:
    """The answer of a comparison: first what matters most, and no change that does not matter."""
    table = with_unmet(found.table)
    short = _shortages(found, table, system)
    used = used_words(found, system)
    leads = VOLUME.name in table and bool((table[VOLUME.name] < LEADS).any())
    return [
        *(short if leads else []),
        *used,
        *([] if leads else short),
        *_others(found, table, system),
    ]


def used_words(found: Comparison, system: System) -> list[str]:
    """What became of the used share of each town, the largest change first; the rest together."""
    pairs = sorted(_pairs(found.table, USED), key=lambda one: -abs(_moved(one)))
    moving = [one for one in pairs if _lacks(one) or _matters(USED, one)]
    told = [used_sentence(found, one, system) for one in moving[:MOST_TOLD]]
    less = [
        f"{place_words(one.town, found.names)} "
        f"({', not '.join(reversed(two_shown(one.before, one.after)))})"
        for one in moving[MOST_TOLD:]
        if not _lacks(one)
    ]
    if less:
        told.append(f"It changes less in {joined(less)}.")
    still = [
        f"{place_words(one.town, found.names)} ({_both(one)})"
        for one in pairs
        if not _lacks(one) and not _matters(USED, one)
    ]
    if not still:
        return told
    if told:
        return [*told, f"Little changes in the tap water of {joined(still)}."]
    which = "No town's tap water changes" if len(still) > 1 else "The tap water does not change"
    return [f"{which} much. Used before: {joined(still)}."]


def _both(one: _Pair) -> str:
    """A share that hardly differs, in both runs where its figures do."""
    before, after = percent(one.before), percent(one.after)
    return after if before == after else f"{after} {WITH}, {before} without"


def used_sentence(found: Comparison, one: _Pair, system: System) -> str:
    """What became of a town's used share, from where the difference comes, and what did it."""
    name = place_words(one.town, found.names)
    if _lacks(one):
        run, value = (WITH, one.after) if math.isnan(one.before) else (WITHOUT, one.before)
        return (
            f"{name}: no water reaches its homes."
            if math.isnan(value)
            else (f"{name} has water only {run}: {percent(value)} of it was used before.")
        )
    before, after = two_shown(one.before, one.after)
    use = words_of(found.after.season.count_as or USUAL)
    said = f"{name}: {after} of the season's tap water had been {use.through} before, not {before}."
    cause = cause_sentence(found, one.town, system)
    above = upstream_words(found, one.town, system)
    because = _because(found, USED, one.town, (100.0, "percentage points"))
    return " ".join(filter(None, (said, cause, above, because)))


def town_words(found: Comparison, town: str, system: System) -> str:
    """What became of one town: its used share, and its shortage if it has one."""
    table = with_unmet(found.table)
    used, short = (
        next((one for one in _pairs(table, told) if one.town == town), None)
        for told in (USED, SHORT)
    )
    said = (
        [used_sentence(found, used, system)]
        if used and (_lacks(used) or _matters(USED, used))
        else []
        if used is None
        else [_still_sentence(found, used)]
    )
    return " ".join(
        said
        + (
            [_short_sentence(found, table, short, system)]
            if short and max(short.before, short.after) > 0.0
            else []
        )
    )


def _still_sentence(found: Comparison, one: _Pair) -> str:
    """What is said of a used share that hardly moves, in figures that show what did."""
    before, after = two_shown(one.before, one.after)
    said = f"{place_words(one.town, found.names)}: {after} of its tap water was used before"
    if before != after:
        return f"{said}, not {before}: the changes do little here."
    parts = found.contributions[USED.name].sel(town=one.town).values
    if abs(parts).max(initial=0.0) < _SEEN:
        return f"{said}, with and without the changes."
    return f"{said}, with and without the changes: what they add and take away cancels out."


def _pairs(table: xr.Dataset, told: Told) -> list[_Pair]:
    if told.name not in table:
        return []
    values = table[told.name]
    return [
        _Pair(str(town), *(float(values.sel(town=town, run=run)) for run in ("before", "after")))
        for town in table["town"].values
    ]


def _lacks(one: _Pair) -> bool:
    return math.isnan(one.before) or math.isnan(one.after)


def _moved(one: _Pair) -> float:
    return math.inf if _lacks(one) else one.after - one.before


def _matters(told: Told, one: _Pair) -> bool:
    return matters(told, one.before, one.after)


def _because(found: Comparison, told: Told, town: str, shown: tuple[float, str]) -> str:
    """The changes that did most of a difference; nothing where there was only one."""
    factor, unit = shown
    own = factor * with_unmet(found.contributions)[told.name].sel(town=town)
    parts = {str(change): float(own.sel(change=change)) for change in own["change"].values}
    most = max(map(abs, parts.values()), default=0.0)
    if len(parts) < 2 or not most > 0.0:
        return ""
    order = [
        change
        for change in sorted(parts, key=lambda change: -abs(parts[change]))
        if abs(parts[change]) >= _SMALL * most
    ]
    said = [
        f"{change_words(change, found.names)} ({added(parts[change], unit)})"
        for change in order[:_NAMED]
    ]
    if len(order) > _NAMED:
        said.append(number_of(len(order) - _NAMED, "smaller one"))
    return f"What did it: {joined(said)}."


def added(part: float, unit: str) -> str:
    """What a change adds, with its sign and unit: `+1 point`."""
    number = figure(part, signed=True)
    return f"{number} {unit.removesuffix('s') if number in ('+1', '-1') else unit}".rstrip()


def change_words(change: str, names: Names) -> str:
    """A key in words; the step of a plan as the plan has it."""
    return key_words(change, names) if find(change.split(".")) else change.rstrip(".")


def _shortages(found: Comparison, table: xr.Dataset, system: System) -> list[str]:
    pairs = [one for one in _pairs(table, SHORT) if max(one.before, one.after) > 0.0]
    order = sorted(pairs, key=lambda one: -abs(_moved(one)))
    return [_short_sentence(found, table, one, system, is_first=one is order[0]) for one in order]


def _short_sentence(
    found: Comparison, table: xr.Dataset, one: _Pair, system: System, *, is_first: bool = True
) -> str:
    """How much water a town lacks in both runs, and of the first one what did it."""
    name = place_words(one.town, found.names)
    factor, unit = SHORT.shown(table[SHORT.name].sel(town=one.town).values, system)
    before, after = (f"{figure(factor * value)} {unit}" for value in (one.before, one.after))
    got = percent(float(table[VOLUME.name].sel(town=one.town, run="after")))
    if not _matters(SHORT, one):
        return f"{name} is short of {after} of water over the season in both runs."
    because = (
        f"{_because(found, SHORT, one.town, (factor, unit))} "
        f"{without_words(found, one.town, (factor, unit))}".strip()
        if is_first
        else ""
    )
    if one.after <= 0.0:
        said = f"{name} does not run short {WITH}; without, it lacks {before} over the season."
    elif one.before > 0.0:
        said = (
            f"{name} lacks {after} of water over the season, not {before}, and gets {got} of "
            "what it asks for."
        )
    elif not is_first:
        said = f"{name} runs short of water too: it lacks {after} and gets {got}."
    else:
        said = (
            f"{name} runs short of water only {WITH}: over the season it lacks {after} and "
            f"gets {got} of what it asks for."
        )
    return f"{said} {because}".rstrip()


def without_words(found: Comparison, town: str, shown: tuple[float, str]) -> str:
    """How short the town would be without the one change that helps it most among others that
    harm, as it was run: the averaged part of a change does not say that."""
    own = with_unmet(found.contributions)[SHORT.name].sel(town=town)
    best = str(own["change"].values[int(np.argmin(own.values))])
    if found.without is None or own.sizes["change"] < 2 or not (own.max() > 0.0 > own.min()):
        return ""
    lacked = float(with_unmet(found.without)[SHORT.name].sel(town=town, change=best))
    factor, unit = shown
    if not lacked > float(with_unmet(found.table)[SHORT.name].sel(town=town, run="after")):
        return ""
    return (
        f"Without {change_words(best, found.names)} it would lack {figure(factor * lacked)} {unit}."
    )


def _others(found: Comparison, table: xr.Dataset, system: System) -> list[str]:
    """Cuts, low rivers and overflows, where they differ by enough to matter."""
    names = found.names
    cut = [
        f"{two_shown(one.before, one.after)[1]} of the use of {place_words(one.town, names)}, "
        f"not {two_shown(one.before, one.after)[0]}"
        for one in _mattering(table, CUT)
    ]
    low = [
        f"{number_of(round(one.after), 'day')} at {place_words(one.town, names)}, "
        f"not {one.before:.0f}"
        for one in _mattering(table, UNDER)
    ]
    over = []
    for one in _mattering(table, OVERFLOWED):
        factor, unit = OVERFLOWED.shown([one.before, one.after], system)
        over.append(
            f"{figure(factor * one.after)} {unit} in {place_words(one.town, names)}, not "
            f"{figure(factor * one.before)}"
        )
    return [
        f"{words} {'; '.join(parts)}."
        for words, parts in (
            ("Drought stages cut", cut),
            ("The river is below its minimum flow on", low),
            ("Sewage and rain overflow untreated, on average", over),
        )
        if parts
    ]


def _mattering(table: xr.Dataset, told: Told) -> list[_Pair]:
    return [one for one in _pairs(table, told) if not _lacks(one) and _matters(told, one)]
