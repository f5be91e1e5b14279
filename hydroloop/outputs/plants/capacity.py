"""Capacity against demand in words: the answer first, then units, years and remedies."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from functools import partial

import numpy as np

from hydroloop import charts
from hydroloop.charts.picture import Picture as Drawn
from hydroloop.charts.words import joined
from hydroloop.outputs.document import (
    Ask,
    Block,
    Document,
    Fact,
    Paragraph,
    Picture,
    TableBlock,
)
from hydroloop.outputs.document.table import Column, Table, known
from hydroloop.outputs.plants.capacity_years_picture import capacity_years_picture
from hydroloop.outputs.plants.contact import contact_section
from hydroloop.outputs.plants.plant_steps import AT, steps_sections, steps_table
from hydroloop.outputs.plants.separation import separation_facts, separation_sections
from hydroloop.outputs.plants.sewers import sewer_facts, sewers_section
from hydroloop.outputs.whatif.changed import Changed
from hydroloop.placenames import possessive
from hydroloop.plants import CAUTION, PlantReport
from hydroloop.plants.cautions import SHORT as CAPTION_CAUTION
from hydroloop.plants.growth import Reached
from hydroloop.plants.standby import STANDBY_SOURCE
from hydroloop.studies.capacity_study import CapacityStudy
from hydroloop.studies.separation import Separation
from hydroloop.units import format_quantity
from hydroloop.units.printing import System

_LEAST_GAIN = 0.05  # years that are told


def capacity_document(
    study: CapacityStudy,
    towns: Mapping[str, Separation],
    changed: Changed,
    system: System,
    ask_next: Sequence[Ask] = (),
) -> Document:
    """Is it big enough, until when, what would help; then step by step, and what is taken out.

    `towns` is what was found of the materials; where it is empty they are left out.
    """
    said = (
        _water_sentence(study, system),
        _wastewater_sentence(study, system),
        _first_sentence(study, system),
        _bought_sentence(study),
    )
    blocks: list[Block] = [
        *changed.blocks,
        *(Paragraph(words) for words in said if words),
        TableBlock(_flows(study), short=False),
        Paragraph(_peaks_sentence(study, system), short=False),
        TableBlock(
            _years(
                "reached",
                "When demand reaches each limit of the supply (largest unit out)",
                study.reached,
                study.first_year,
            ),
            short=False,
        ),
        TableBlock(
            _years(
                "sewage_reached",
                "When wastewater reaches each limit (all units in use)",
                study.sewage_reached,
                study.first_year,
            ),
            short=False,
        ),
        TableBlock(_bought(study), short=False),
        Picture(f"{study.town}-capacity", partial(capacity_years_picture, study, system)),
        Picture(f"{study.town}-limits", partial(_draw, study, system)),
        *steps_sections(study, system),
        TableBlock(steps_table(study), where="values"),
        *contact_section(study.contact, system),
        sewers_section(study.sewers, system),
        *(separation_sections(towns, study.town, changed.ran.names) if towns else []),
        *_notes(study, system),
    ]
    return Document(
        "capacity",
        f"Capacity against demand: {study.place}",
        blocks,
        system,
        changed.ran,
        {
            **_facts(study),
            **sewer_facts(study.sewers),
            **(separation_facts(towns[study.town]) if towns else {}),
        },
        (CAUTION,),
        ask_next=ask_next,
    )


def _flows(study: CapacityStudy) -> Table:
    """Average day, busiest day and peak hour of both plants, with their ratios."""
    flows = [report.flows for report in (study.water, study.wastewater)]
    return Table(
        "flows",
        "Flows to be met, and their ratio to the average day",
        [
            Column("plant", ["water", "wastewater"]),
            Column("average day", [one.average for one in flows], "flow", "average"),
            Column(AT["maximum_day"], [one.maximum_day for one in flows], "flow", "maximum_day"),
            Column("ratio", [one.peaks[0] for one in flows], "number", "maximum_day_ratio"),
            Column(AT["peak_hour"], [one.peak_hour for one in flows], "flow", "peak_hour"),
            Column("ratio", [one.peaks[1] for one in flows], "number", "peak_hour_ratio"),
        ],
    )


def _facts(study: CapacityStudy) -> dict[str, Fact]:
    def plant(name: str, report: PlantReport) -> dict[str, Fact]:
        return {
            f"{name}_{what}": fact
            for what, fact in {
                "peaks_source": Fact(report.flows.source),
                "demand": Fact(known(report.demand), "flow"),
                "capacity": Fact(known(report.capacity), "flow"),
                "firm_capacity": Fact(known(report.firm_capacity), "flow"),
                "load": Fact(known(report.load), "share"),
                "limited_by": Fact(report.firm_limited_by.process),
            }.items()
        }

    return {
        "town": Fact(study.town),
        "first_year": Fact(study.first_year),
        "water_sizes_assumed": Fact(study.assumed),
        **plant("water", study.water),
        **plant("wastewater", study.wastewater),
        "standby": Fact([asdict(one) for one in study.standby]),
        "ranged": Fact(list(study.ranged)),
        "not_drawn": Fact(list(study.not_drawn)),
    }


def _peaks_sentence(study: CapacityStudy, system: System) -> str:
    water, works = study.water, study.wastewater
    return (
        f"Water: {water.flows.source}. Wastewater: the season's mean, peaks by "
        f"{works.flows.source}. With all units the water plant carries "
        f"{format_quantity(water.capacity, 'flow', system)} on a day, with the largest out "
        f"{format_quantity(water.firm_capacity, 'flow', system)}; the wastewater plant is good "
        f"for {format_quantity(works.capacity, 'flow', system)} on average."
    )


def _water_sentence(study: CapacityStudy, system: System) -> str:
    water = study.water
    enough = "is big enough" if water.is_enough else "is too small"
    enough = f", as assumed here, {enough}" if study.assumed else f" {enough}"
    return (
        f"{possessive(study.place)} water plant{enough} for its busiest day: "
        f"{format_quantity(water.demand, 'flow', system)} asked for against a firm capacity of "
        f"{format_quantity(water.firm_capacity, 'flow', system)}"
        f"{_share_words(water.load)}. {_limiting(water)}{_assumed_words(study)}"
    )


def _assumed_words(study: CapacityStudy) -> str:
    """That a size which decides was not given, so that no real plant is judged."""
    return " Its sizes are assumed, not given: no verdict on a real plant." if study.assumed else ""


def _share_words(load: float) -> str:
    return f", that is {100.0 * load:.0f} %" if math.isfinite(load) else ""


def _limiting(report: PlantReport) -> str:
    one = report.firm_limited_by
    if one.out and not one.units:
        return f"No unit of {one.process.replace('_', ' ')} is left."
    if one.standard is None and not one.what.startswith("contact"):
        return "Its rated capacity is the first limit."
    step = one.process.replace("_", " ")
    if one.what.startswith("contact"):
        return f"Chlorine contact in the {step} is the first limit, in the coldest water."
    rule = f" ({one.standard.printed}: {one.standard.source})" if one.standard else ""
    return f"The first limit is the {one.what} of {step}{rule}."


def _wastewater_sentence(study: CapacityStudy, system: System) -> str:
    works = study.wastewater
    part = works.demand / works.capacity if works.capacity > 0 else math.inf
    words = (
        f"Its wastewater plant treats {format_quantity(works.demand, 'flow', system)} on "
        f"average, {100.0 * part:.0f} % of what its steps can treat with all units. "
        f"{_standby_sentence(study)}"
    )
    if study.sewers.overflow_hours:
        words += f" Sewers overflowed in {study.sewers.overflow_hours:,.0f} hours of the season."
    if study.sewers.bypass_hours:
        words += f" Storms bypassed aeration in {study.sewers.bypass_hours:,.0f} hours."
    return words


def _standby_sentence(study: CapacityStudy) -> str:
    short = [one.process.replace("_", " ") for one in study.standby if not one.is_met]
    treat = "treats" if len(short) == 1 else "treat"
    words = (
        "With the largest unit of each step out, every step still treats the share of the "
        "design flow that a published rule names"
        if not short
        else f"With the largest unit out, {joined(short)} {treat} less of the design flow than a "
        "published rule names"
    )
    return f"{words} ({STANDBY_SOURCE})."


def _first_sentence(study: CapacityStudy, system: System) -> str:
    first, years = study.reached[0], len(study.demand) - 1
    supply = _when(first, "The first limit of the supply", study.first_year, system)
    sewage = _when(study.sewage_reached[0], "that of wastewater", study.first_year, system)
    if math.isinf(first.years) and math.isinf(study.sewage_reached[0].years):
        return (
            f"No limit of supply or wastewater is reached within {years} years"
            f"{_falling(study, system)}."
        )
    if math.isinf(first.years):
        supply = f"No limit of the supply is reached within {years} years"
    if math.isinf(study.sewage_reached[0].years):
        sewage = f"none of wastewater is reached within {years} years"
    return f"{supply}; {sewage}."


def _falling(study: CapacityStudy, system: System) -> str:
    """That both demands fall throughout, where they do."""
    if any((np.diff(flow) >= 0.0).any() for flow in (study.demand, study.sewage)):
        return ""
    now, then = (format_quantity(float(study.demand[year]), "flow", system) for year in (0, -1))
    middle = ", at the middle of the ranges" if study.ranged else ""
    return (
        f": demand falls every year{middle}, from {now} on the busiest day to {then} in "
        f"{study.first_year + len(study.demand) - 1}"
    )


def _when(one: Reached, what: str, first_year: int, system: System) -> str:
    """When a limit is reached, as part of a sentence."""
    step = one.limit.split(": ")[-1].removesuffix(", chlorine contact")
    named = f"{what}, {step} at {format_quantity(one.flow, 'flow', system)},"
    if one.years <= 0.0:
        return f"{named} is reached already" + (
            ""
            if math.isinf(one.below)
            else f" (a falling demand is below it again from {first_year + math.ceil(one.below)})"
        )
    return f"{named} is reached in {_year(one.years, first_year)}{_band(one, first_year)}"


def _year(years: float, first_year: int) -> str:
    if math.isinf(years):
        return "not in sight"
    return "now" if years <= 0.0 else str(first_year + math.ceil(years))


def _band(one: Reached, first_year: int) -> str:
    early, late = _year(one.early, first_year), _year(one.late, first_year)
    return "" if early == late else f" (by the ranges of the inputs: {early} to {late})"


def _years(name: str, title: str, found: list[Reached], first_year: int) -> Table:
    bands = [(_year(one.early, first_year), _year(one.late, first_year)) for one in found]
    years = {
        "years": [one.years for one in found],
        "early": [one.early for one in found],
        "late": [one.late for one in found],
    }
    return Table(
        name,
        title,
        [
            Column("limit", [one.limit for one in found]),
            Column("at a flow of", [one.flow for one in found], "flow", "flow"),
            Column("year", [_year(one.years, first_year) for one in found]),
            Column(
                "5 to 95 %",
                [early if early == late else f"{early} to {late}" for early, late in bands],
                key="band",
            ),
            *(
                Column(name, values, "number", unit="years", is_shown=False)
                for name, values in years.items()
            ),
        ],
    )


def _bought(study: CapacityStudy) -> Table:
    names, years = [name for name, _ in study.bought], [years for _, years in study.bought]
    return Table(
        "bought",
        "What buys how many years until the first limit of the supply",
        [
            Column("remedy", names),
            Column("gained", years, "number", "years", unit="years", words=list(map(_gain, years))),
        ],
    )


def _bought_sentence(study: CapacityStudy) -> str:
    """What puts off the first limit of the supply for longest; empty where it is not in sight."""
    if math.isinf(study.reached[0].years):
        return ""
    name, years = max(study.bought, key=lambda pair: pair[1], default=("", 0.0))
    if years < _LEAST_GAIN:
        return "None of the remedies that were tried puts off the first limit of the supply."
    gained = _gain(years) if math.isinf(years) else f"by {years:.1f} years"
    return f"What puts off the first limit of the supply most: {name}, {gained}."


def _gain(years: float) -> str:
    if math.isinf(years):
        return "beyond the years looked at"
    return "none" if years < _LEAST_GAIN else f"{years:.1f}"


def _notes(study: CapacityStudy, system: System) -> list[Paragraph]:
    said = []
    if any(row.assumed for row in study.water.rows):
        said.append(
            "Sizes that the scenario does not give are worked out from its design times; "
            "give the plant's own basins under plant.basins to hold it to its own."
        )
    if study.water.wells > 0.0:
        said.append(
            f"Wells bring up to {format_quantity(study.water.wells, 'flow', system)} "
            "straight to the clearwell, past the steps before it, when the plant cannot "
            "make enough: the capacities above have that in them."
        )
    if study.water.imported > 0.0:
        said.append(
            f"Up to {format_quantity(study.water.imported, 'flow', system)} can be "
            "bought. It comes treated, past the whole plant, and last: the capacities "
            "above have that in them."
        )
    if study.not_drawn:
        said.append(f"Ranges that stay at their middle here: {joined(list(study.not_drawn))}.")
    if not study.ranged:
        said.append(
            "None of the inputs that the years depend on is given as a range, so they "
            "have no band. Try for example --set "
            f'"town.{study.town}.growth.people_per_year=0.5 % to 2 %".'
        )
    return [Paragraph(words, short=False) for words in said]


def _draw(study: CapacityStudy, system: System) -> Drawn:
    last = study.first_year + len(study.demand) - 1
    caption = (
        f"{_water_sentence(study, system)} {_first_sentence(study, system)} "
        f"Bars are published design standards with the largest unit out. {CAPTION_CAUTION}"
    )
    return charts.capacity(
        study.place,
        [(one.limit, one.flow) for one in study.reached],
        [
            ("busiest day now", float(study.demand[0])),
            (f"busiest day in {last}", float(study.demand[-1])),
        ],
        caption=caption,
        units=system,
    )
