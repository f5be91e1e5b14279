"""What a reader of a run may ask next: what acts on the town that the answer is about."""

from __future__ import annotations

from hydroloop.charts.words import place_words, river_words
from hydroloop.errors import InputError
from hydroloop.outputs.run.place import river_of
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.short import headline
from hydroloop.outputs.run.trouble import LEADS
from hydroloop.scenario import Scenario

_PART = 0.001


def changes_to_try(result: Result) -> list[tuple[str, str]]:
    """Options of `compare` that change something for the town of the answer, and what they ask."""
    town, short = headline(result), result.shortages
    is_short = bool(short) and short[0].got < LEADS
    return changes_for(result.scenario, town, upstream(result, town), is_short=is_short)


def changes_for(
    scenario: Scenario, town: str, above: str, *, is_short: bool
) -> list[tuple[str, str]]:
    """The same for a town, the town above that it gets most used water from, and whether it is
    short of water, when less of it would tell nothing new."""
    if is_short:
        return [(f"--scale town.{town}.people=0.8", "with a fifth fewer people")]
    found = []
    for key, what in _water_of(scenario, town):
        if may_scale(scenario, key):
            found.append((f"--scale {key}=0.5", what))
            break
    if above:
        found.append(
            (
                f"--scale town.{above}.people=1.5",
                f"if {place_words(above, scenario.names)} grows by half",
            )
        )
    return found


def _water_of(scenario: Scenario, town: str) -> list[tuple[str, str]]:
    river = river_of(scenario, town) or next(iter(scenario.river), "")
    rivers = [(f"river.{river}.inflow", f"with half of {river_words(river, scenario.names)}")]
    return [*(rivers if river else []), ("dry_season.rain_scale", "with half the rain")]


def may_scale(scenario: Scenario, key: str) -> bool:
    """Whether a key is one that the scenario has and that can be multiplied."""
    try:
        scenario.scaled({key: 0.5})
    except InputError:
        return False
    return True


def upstream(result: Result, town: str) -> str:
    """The town above from whose outfall most of a town's tap water comes; empty if from none."""
    share = result.table["outfall_to_tap_share"].sel(town_to=town)
    others = {
        str(name): float(share.sel(town=name)) for name in share["town"].values if name != town
    }
    best = max(others, key=lambda name: others[name] if others[name] > 0 else -1.0, default="")
    return best if best and others[best] > _PART else ""
