"""What the sewers carry in dry weather and in wet, in words."""

from __future__ import annotations

from dataclasses import asdict

from hydroloop.outputs.document import Fact, Paragraph, Section, TableBlock
from hydroloop.outputs.document.table import Column, Table, known
from hydroloop.outputs.document.wording import number_of
from hydroloop.plants.standards import Standard, standard
from hydroloop.studies.wet_weather import BASE, STORM, WetWeather
from hydroloop.units import format_quantity
from hydroloop.units.printing import System

_OWN = {
    "people": ("count", ""),
    "step_hours": ("number", "h"),
    "overflow_hours": ("number", "h"),
    "bypass_hours": ("number", "h"),
    "overflow": ("volume", ""),
    "bypass": ("volume", ""),
}


def sewers_section(found: WetWeather, system: System) -> Section:
    """What the sewers carry, as a table and in words."""
    parts = {
        "homes": found.homes,
        "workplaces": found.work,
        "wash water of filters": found.washing,
        "infiltration (from the ground)": found.infiltration,
        "inflow (rain from roofs and streets)": found.inflow,
        "all, mean of the season": found.mean,
        "all, mean of dry days": found.dry_day,
        "all, wettest day": found.wettest_day,
    }
    there = {words: flow for words, flow in parts.items() if flow == flow}
    table = Table(
        "sewers",
        "",
        [
            Column("part", list(there)),
            Column("flow", list(there.values()), "flow"),
            Column(
                "for each person", [flow / found.people for flow in there.values()], "per_person"
            ),
        ],
    )
    return Section(
        "What the sewers carry, dry and wet",
        [
            TableBlock(table),
            Paragraph(_infiltration_sentence(found, system)),
            Paragraph(_inflow_sentence(found, system)),
            Paragraph(_lost_sentence(found, system)),
        ],
        short=False,
    )


def sewer_facts(found: WetWeather) -> dict[str, Fact]:
    """All that was found of the sewers, for scripts."""
    return {
        f"sewers_{name}": Fact(known(value), *_OWN.get(name, ("flow", "")))
        for name, value in asdict(found).items()
    }


def _each(flow: float, found: WetWeather, system: System) -> str:
    return format_quantity(flow / found.people, "per_person", system)


def _infiltration_sentence(found: WetWeather, system: System) -> str:
    rule = standard("sewers", "flow for each person", BASE)
    flow = found.mean - found.inflow
    return (
        f"Without inflow that makes {_each(flow, found, system)}; infiltration does not count "
        f"as excessive up to {_limit(rule, system)} ({rule.source})."
    )


def _inflow_sentence(found: WetWeather, system: System) -> str:
    rule = standard("sewers", "flow for each person", STORM)
    return (
        f"The wettest day brings {_each(found.wettest_day, found, system)}; inflow counts as "
        f"excessive beyond {_limit(rule, system)} ({rule.source}). In wet weather the sewers "
        f"carry up to {format_quantity(found.sewers, 'flow', system)}, and up to "
        f"{format_quantity(found.full_treatment, 'flow', system)} get the full treatment; "
        f"{format_quantity(found.arriving_peak, 'flow', system)} arrived at most, evened out on "
        "its way through them."
    )


def _limit(rule: Standard, system: System) -> str:
    return format_quantity(rule.held_high or 0.0, "per_person", system)


def _lost_sentence(found: WetWeather, system: System) -> str:
    lost = [
        (found.overflow_hours, found.overflow, "overflowed to the river untreated"),
        (found.bypass_hours, found.bypass, "bypassed aeration"),
    ]
    told = [
        f"{format_quantity(volume, 'volume', system)} {words} {lost_time(hours, found)}"
        for hours, volume, words in lost
        if hours
    ]
    if not told:
        return "No sewage overflowed, and none bypassed aeration."
    coarse = (
        f" A step of {found.step_hours:g} hours counts whole; run hours for the hours."
        if found.step_hours > 1.0 + 1e-9
        else ""
    )
    return f"Over the season {' and '.join(told)}.{coarse}"


def lost_time(hours: float, found: WetWeather) -> str:
    """For how long sewage was lost, as finely as the steps of the run can tell."""
    if found.step_hours > 24.0 - 1e-9:
        return f"on {number_of(round(hours / 24.0), 'day')}"
    return f"in {hours:,.0f} hours"
