"""Which towns are over the design limits of their plants, whatever the season brought."""

from __future__ import annotations

import math
from dataclasses import dataclass

from hydroloop.charts.words import place_words
from hydroloop.errors import AskError
from hydroloop.measures import run_of
from hydroloop.outputs.document.wording import number_of
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.trouble import is_untreated
from hydroloop.placenames import Names, possessive
from hydroloop.studies.design_check import DesignCheck, design_check


@dataclass(frozen=True)
class OverDesign:
    """Towns of which a plant is too small by published design rules."""

    checks: dict[str, DesignCheck]  # of each town, the fullest first
    # towns that a short answer tells: where there was both a shortage and untreated sewage none,
    # unless a water plant is among them, which may be the cause
    told: list[str]


def over_design(result: Result) -> OverDesign:
    """Which towns are over their design limits; those whose plants cannot be judged are left
    out."""
    checks = _checks(result)
    has_both = result.shortages and is_untreated(result)
    tells = not has_both or any(not check.water.is_enough for check in checks.values())
    return OverDesign(checks, list(checks) if tells else [])


def _checks(result: Result) -> dict[str, DesignCheck]:
    run = run_of(result.record)
    if run.demand is None:
        return {}
    found = {}
    for town in result.towns:
        try:
            found[town] = design_check(result.scenario, result.record, run, town)
        except AskError:  # it uses no water, or sends none to a plant
            continue
    over = {
        town: check
        for town, check in found.items()
        if check.is_over and math.isfinite(check.fullest)  # nothing but seepage is in no proportion
    }
    return dict(sorted(over.items(), key=lambda pair: -pair[1].fullest))


def design_sentence(over: OverDesign, names: Names) -> str:
    """Which plants are too small by the rules, beside a season that may have gone well; empty where
    none is."""
    if not over.told:
        return ""
    first, *others = over.told
    check = over.checks[first]
    loads = [
        (plant, load)
        for plant, load, is_enough in (
            ("water", check.water.load, check.water.is_enough),
            ("wastewater", check.wastewater.load_of_all, check.wastewater.are_all_enough),
        )
        if not is_enough
    ]
    (plant, load), *second = loads
    carried = f"{plant} plant is at {100.0 * load:.0f} %" + "".join(
        f" and its {plant} plant at {100.0 * load:.0f} %" for plant, load in second
    )
    more = f", and {number_of(len(others), 'more town')} likewise" if others else ""
    went = "That is how the season went, with all units at work. " if check.went_well else ""
    return (
        f"{went}By published design rules, which ask for room to spare, "
        f"{possessive(place_words(first, names))} {carried} of what it may carry"
        f"{more} (hydroloop capacity)."
    )
