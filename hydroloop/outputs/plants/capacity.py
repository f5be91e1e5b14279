"""Capacity against demand in words: the answer first, then units, years and remedies."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from functools import partial

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
from hydroloop.outputs.plants.capacity_words import (
    first_sentence,
    gain_words,
    verdict_sentences,
    water_sentence,
    year_words,
)
from hydroloop.outputs.plants.capacity_years_picture import capacity_years_picture
from hydroloop.outputs.plants.contact import contact_section
from hydroloop.outputs.plants.plant_steps import AT, steps_sections, steps_table
from hydroloop.outputs.plants.separation import separation_facts, separation_sections
from hydroloop.outputs.plants.sewers import sewer_facts, sewers_section
from hydroloop.outputs.whatif.changed import Changed
from hydroloop.plants import CAUTION, PlantReport
from hydroloop.plants.cautions import SHORT as CAPTION_CAUTION
from hydroloop.plants.growth import Reached
from hydroloop.studies.capacity_study import CapacityStudy
from hydroloop.studies.separation import Separation
from hydroloop.units import format_quantity
from hydroloop.units.printing import System


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
    blocks: list[Block] = [
        *changed.blocks,
        *map(Paragraph, verdict_sentences(study, system)),
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
        *contact_section(study, system),
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
        f"for {format_quantity(works.capacity, 'flow', system)} on average. That rises a little "
        "with the people though its basins stay: the more people, the less their peak hour stands "
        "above their average. Years ahead are judged by that of today."
    )


def _years(name: str, title: str, found: list[Reached], first_year: int) -> Table:
    bands = [(year_words(one.early, first_year), year_words(one.late, first_year)) for one in found]
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
            Column("year", [year_words(one.years, first_year) for one in found]),
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
    supply, sewage = dict(study.bought), dict(study.sewage_bought)
    names = list(dict.fromkeys([*supply, *sewage]))
    gained = [
        ("water supply", "years", [supply.get(name, math.nan) for name in names]),
        ("wastewater", "wastewater_years", [sewage.get(name, math.nan) for name in names]),
    ]
    return Table(
        "bought",
        "What buys how many years until the first limit",
        [
            Column("remedy", names),
            *(
                Column(
                    head,
                    years,
                    "number",
                    key,
                    unit="years",
                    words=["-" if math.isnan(one) else gain_words(one) for one in years],
                )
                for head, key, years in gained
            ),
        ],
    )


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
        f"{water_sentence(study, system)} {first_sentence(study, system)} "
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
