"""Two runs side by side as pictures and tables, ready to be written into a folder."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import partial

import numpy as np
import xarray as xr

from hydroloop import charts
from hydroloop.charts.changed_words import changed_line
from hydroloop.charts.contributions import MOST_CHANGES, MOST_TOWNS, WITH, WITHOUT, Steps
from hydroloop.charts.varied import Drawn
from hydroloop.charts.words import joined, place_words
from hydroloop.measures import measures
from hydroloop.outputs.document.wording import amount, sentence, varies
from hydroloop.outputs.run.drought_picture import drought_picture, watched_water
from hydroloop.outputs.whatif.changed import changed_inputs
from hydroloop.outputs.whatif.compare_words import added, change_words, without_words
from hydroloop.outputs.whatif.season_measures import (
    SHORT,
    SHOWN,
    USED,
    Told,
    told_in,
    with_unmet,
)
from hydroloop.placenames import Names
from hydroloop.scenario import Scenario
from hydroloop.units.printing import System
from hydroloop.waterworks import simulate
from hydroloop.whatif import Comparison, Plan


def glass_of_both(found: Comparison, changed: str) -> charts.Picture:
    """The glass of the town whose tap water changed most, without and with the changes."""
    (town, *_) = _moving(found.table, USED) or [str(found.table["town"].values[0])]
    tables = [measures(simulate(one), one) for one in (found.before, found.after)]
    picture = charts.glass_pair(tables, town, [WITHOUT, WITH])
    picture.say_changed(changed)
    return picture


_APART = "The stages of the two runs watch different waters, so each run has a picture of its own."


def droughts(
    found: Comparison, system: System, changed: str
) -> list[tuple[str, Callable[[], charts.Picture]]]:
    """Names of the pictures of the drought stages, and what draws them: both runs in one, or each
    by itself where their stages watch different waters; none where no stage comes into force."""
    if not _has_stages(found):
        return []
    runs = {"without": found.before, "with": found.after}
    if watched_water(found.before) == watched_water(found.after):
        return [("drought", partial(_drought, runs, system, changed))]
    return [
        (f"drought_{name}", partial(_drought, {name: run}, system, changed, _APART))
        for name, run in runs.items()
    ]


def _drought(
    runs: Mapping[str, Scenario], system: System, changed: str, more: str = ""
) -> charts.Picture:
    """The drought stages of a run, or of two, one laid over the other."""
    records = [(name, simulate(run)) for name, run in runs.items()]
    picture = drought_picture(list(runs.values()), records, system, more)
    picture.say_changed(changed)
    return picture


def line_of(
    found: Comparison, plan: Plan | None, shared: Sequence[Sequence[str]], system: System
) -> str:
    """The line below a picture's title: what both runs have, and what one has: a plan by its title,
    keys by what stands for them."""
    rows = changed_inputs(found.before, found.after, system)
    own = f'Changed: the plan "{plan.title}"' if plan else changed_line(rows, found.names)
    both = changed_line(shared, found.names).replace("Changed", "In both runs", 1)
    return f"{both}. {own}" if both else own


def _has_stages(found: Comparison) -> bool:
    """Whether both runs have the same drought stages, and one of them comes into force."""
    names = [sorted(one.stage) for one in (found.before, found.after)]
    return (
        bool(names[0])
        and names[0] == names[1]
        and "days_in_stage" in found.table
        and bool((found.table["days_in_stage"] > 0.0).any())
    )


def drawn_of(found: Comparison, why: Sequence[Told]) -> list[Told]:
    """Measures that are drawn: those that are split, or another where those stand still."""
    table = with_unmet(found.table)
    moving = [told for told in told_in(table, SHOWN) if _moving(table, told)]
    return [told for told in moving if told in why] or moving[:1]


def steps_picture(found: Comparison, told: Told, system: System, changed: str) -> charts.Picture:
    """What each change adds to a measure, in the towns where it matters most."""
    table, parts = with_unmet(found.table)[told.name], with_unmet(found.contributions)[told.name]
    towns = _moving(with_unmet(found.table), told)
    shown = towns[:MOST_TOWNS]
    factor, unit = told.shown(table.sel(town=shown), system)
    chosen, names = _changes(parts.sel(town=shown), found.names)
    steps = []
    for town in shown:
        own = factor * parts.sel(town=town).values
        steps.append(
            Steps(
                place_words(town, found.names),
                factor * float(table.sel(town=town, run="before")),
                tuple(float(own[places].sum()) for places in chosen),
                factor * float(table.sel(town=town, run="after")),
            )
        )
    drawn = Drawn(told.plain, unit)
    others = [
        place_words(town, found.names)
        for town in map(str, table["town"].values)
        if town not in shown and np.isfinite(table.sel(town=town).values).all()
    ]
    picture = charts.contributions(
        names,
        steps,
        drawn,
        caption=_caption(
            steps,
            names,
            drawn,
            others,
            is_exact=found.error is None,
            are_still=len(towns) <= MOST_TOWNS,
        )
        + (_saved(found, shown, factor, unit) if told == SHORT else ""),
    )
    picture.say_changed(changed)
    return picture


def _saved(found: Comparison, towns: Sequence[str], factor: float, unit: str) -> str:
    """How short each town would be without the change that helps it."""
    said = {town: without_words(found, town, (factor, unit)) for town in towns}
    return "".join(
        f" {words}" if len(towns) == 1 else f" {place_words(town, found.names)}: {words}"
        for town, words in said.items()
        if words
    )


def _moving(table: xr.Dataset, told: Told) -> list[str]:
    """Towns with both values whose measure differs, the most first."""
    pairs = {str(town): table[told.name].sel(town=town).values for town in table["town"].values}
    towns = [town for town, pair in pairs.items() if np.isfinite(pair).all() and varies(pair)]
    return sorted(towns, key=lambda town: -float(np.ptp(pairs[town])))


def _changes(parts: xr.DataArray, called: Names) -> tuple[list[list[int]], list[str]]:
    """Places of the changes that are drawn, and their words: the largest, and the rest together."""
    names = [change_words(str(change), called) for change in parts["change"].values]
    sizes = np.abs(parts.transpose("change", "town").values).max(axis=1)
    if len(names) <= MOST_CHANGES:
        return [[place] for place in range(len(names))], names
    order = [int(place) for place in np.argsort(-sizes, kind="stable")]
    first, rest = sorted(order[: MOST_CHANGES - 1]), order[MOST_CHANGES - 1 :]
    return [*([place] for place in first), rest], [
        *(names[place] for place in first),
        f"{len(rest)} others together",
    ]


def _caption(
    steps: Sequence[Steps],
    names: Sequence[str],
    drawn: Drawn,
    others: list[str],
    *,
    is_exact: bool,
    are_still: bool,
) -> str:
    """Both values of each town, and what did most of it."""
    parts = [f"{sentence(drawn.words)}."]
    for one in steps:
        parts.append(
            f"{one.town}: {amount(one.after, drawn.unit)} {WITH}, "
            f"{amount(one.before, drawn.unit)} without; "
            f"{_by_whom(one, names, max(1, 3 - len(steps)), drawn.unit)}."
        )
    if others:
        changes = "Nothing" if are_still else "Little or nothing"
        parts.append(f"{changes} changes in {joined(others)}.")
    lot = "" if is_exact else ", some of them drawn at random"
    if len(names) > 1:
        parts.append(
            f"A step is the change's effect averaged over all orders{lot}; the steps add up."
        )
    takes = any(part < 0.0 for one in steps for part in one.parts)
    return " ".join([*parts, "Hatched steps take away."] if takes else parts)


def _by_whom(steps: Steps, names: Sequence[str], most: int, unit: str) -> str:
    """The changes that did most of it, none of those left out that did as much."""
    order = sorted(range(len(names)), key=lambda place: -abs(steps.parts[place]))
    own = "percentage points" if unit == "%" else unit
    adds = [added(steps.parts[place], own) for place in order]
    most = max(place + 1 for place, text in enumerate(adds) if text in adds[:most])
    if len(names) == 1:
        return f"by {names[0]} ({adds[0]})"
    if len(set(adds)) == 1:
        return f"every change adds as much ({adds[0]})"
    if most > 1 and len(set(adds[:most])) == 1:
        return f"most by {joined([names[place] for place in order[:most]])} ({adds[0]} each)"
    return "most by " + joined(
        [f"{names[place]} ({text})" for place, text in zip(order[:most], adds, strict=False)]
    )
