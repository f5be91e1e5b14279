"""What a what-if leaves as it is: works that the people now there would not be given."""

from __future__ import annotations

import math
from collections.abc import Iterable

from hydroloop.charts.words import joined, place_words
from hydroloop.outputs.document import Paragraph
from hydroloop.placenames import possessive
from hydroloop.scenario import Scenario
from hydroloop.scenario.built_for import DEMAND, SEWAGE, SIZING, own_works, works_of
from hydroloop.units import format_quantity
from hydroloop.units.printing import System


def held_sentence(scenario: Scenario, system: System, town: str | None = None) -> str:
    """Which works (of one town, or all) were held as the file has them, where changes would have
    resized them; empty where nothing was held."""
    towns = list(dict.fromkeys(str(path[1]) for path in scenario.held))
    towns = [name for name in towns if town in (None, name)]
    if len(towns) > 1:
        named = joined([place_words(name, scenario.names) for name in towns])
        return f"The works of {named} stay as the file sizes them."
    if not towns:
        return ""
    one, what = scenario.town[towns[0]], "the town would need"
    size = SEWAGE if ("town", towns[0], *DEMAND) not in scenario.held else DEMAND
    built, now = works_of(one)[size], own_works(one)[size]
    flow = "" if size == DEMAND else " of wastewater"
    return (
        f"{possessive(place_words(towns[0], scenario.names))} works stay as its file has them, "
        f"built for {format_quantity(built, 'flow', system)}{flow} on average; as changed, {what} "
        f"{format_quantity(now, 'flow', system)}."
    )


def works_block(
    before: Scenario, after: Scenario, system: System, town: str | None = None
) -> list[Paragraph]:
    """Which works were held, and which were changed to fit; none where there are no such works."""
    said = [held_sentence(after, system, town), _grown_sentence(before, after, system, town)]
    return [Paragraph(words) for words in said if words]


def _grown_sentence(before: Scenario, after: Scenario, system: System, town: str | None) -> str:
    """Which works are built anew for what the town needs now, as a change asked for."""
    built = {
        name: [works_of(one.town[name])[DEMAND] for one in (before, after)]
        for name in after.town
        if name in before.town and town in (None, name)
    }
    said = [
        f"{possessive(place_words(name, after.names))} works "
        f"{'grow' if now > then else 'shrink'} too: built for "
        f"{format_quantity(now, 'flow', system)} on average, not "
        f"{format_quantity(then, 'flow', system)}."
        for name, (then, now) in built.items()
        if not math.isclose(then, now, rel_tol=1e-9)
    ]
    if len(said) > 1:
        return f"The works of {len(said)} towns are built anew for what they need now."
    return "".join(said)


def held_over(keys: Iterable[str]) -> list[Paragraph]:
    """That works are the same in all runs over some keys; nothing where none would resize them."""
    if not any(key.startswith("town.") and key.endswith(SIZING) for key in keys):
        return []
    return [Paragraph("Works stay as the file sizes them in every run.")]
