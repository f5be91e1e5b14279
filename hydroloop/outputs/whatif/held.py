"""What a what-if leaves as it is: works that the people now there would not be given."""

from __future__ import annotations

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


def held_block(scenario: Scenario, system: System, town: str | None = None) -> list[Paragraph]:
    """The same as a paragraph; none where nothing was held."""
    said = held_sentence(scenario, system, town)
    return [Paragraph(said)] if said else []


def held_over(keys: Iterable[str]) -> list[Paragraph]:
    """That works are the same in all runs over some keys; nothing where none would resize them."""
    if not any(key.startswith("town.") and key.endswith(SIZING) for key in keys):
        return []
    return [Paragraph("Works stay as the file sizes them in every run.")]
