"""Chlorine contact through the season, in words."""

from __future__ import annotations

import calendar
import math

from hydroloop.outputs.document import Block, Paragraph, Section, TableBlock
from hydroloop.outputs.document.table import Column, Table
from hydroloop.studies.capacity_study import CapacityStudy
from hydroloop.studies.contact_seasons import MonthContact
from hydroloop.units import format_quantity
from hydroloop.units.printing import System


def contact_section(study: CapacityStudy, system: System) -> list[Block]:
    """Chlorine contact by month, as a table and in words; none where there is none to judge."""
    found = study.contact
    if not found:
        return []
    flows = [one.flow for one in found]
    table = Table(
        "contact",
        "CT in mg min/L, largest unit out",
        [
            Column(
                "month",
                [one.month for one in found],
                "number",
                words=[calendar.month_name[one.month] for one in found],
            ),
            Column("water", [one.temperature_c for one in found], "temperature", "temperature"),
            Column(
                "CT asked, Giardia",
                [one.giardia for one in found],
                "number",
                "giardia_ct",
                unit="mg min/L",
                words=[f"{one.giardia:.3g}" for one in found],
            ),
            Column(
                "virus",
                [one.virus for one in found],
                "number",
                "virus_ct",
                unit="mg min/L",
                words=[f"{one.virus:.3g}" for one in found],
            ),
            Column("enough up to", [_flow(flow, system) for flow in flows]),
            Column("flow", flows, "flow", is_shown=False),
            Column("busiest day", [one.asked for one in found], "flow"),
            Column("verdict", ["ok" if one.is_enough else "TOO SHORT" for one in found]),
        ],
    )
    return [
        Section(
            "Chlorine contact in the clearwell through the season",
            [
                TableBlock(table),
                Paragraph(
                    f"{_nearest(found)} Water is taken to be as warm as the month's air, and never "
                    f"colder than the coldest water given.{_coldest(study, system)}"
                ),
            ],
            short=False,
        )
    ]


def _coldest(study: CapacityStudy, system: System) -> str:
    """The clearwell's limit among those of the plant, which is for the coldest water of all."""
    water = study.check.plants[0].contact
    least = min(
        (one.compared for one in study.water.firm_capacities if one.is_contact),
        default=math.inf,
    )
    if water is None or not least < min(one.flow for one in study.contact):
        return ""
    return (
        f" The clearwell's limit in the list of limits, {format_quantity(least, 'flow', system)}, "
        "is lower: it is for the coldest water of the year, "
        f"{format_quantity(water.temperature_c, 'temperature', system)}, which this season "
        "does not see."
    )


def _nearest(found: list[MonthContact]) -> str:
    worst = max(found, key=lambda one: one.load)
    least = min(found, key=lambda one: one.flow)
    if worst.flow <= 0.0:
        return "No clearwell is left for the chlorine to work in."
    month, share = calendar.month_name, f"{100.0 * worst.load:.0f} %"
    nearest = f"comes nearest to its limit in {month[worst.month]}, at {share} of it."
    if least.month == worst.month:
        return f"Contact {nearest}"
    return f"Contact is enough for the least flow in {month[least.month]}, and {nearest}"


def _flow(flow: float, system: System) -> str:
    return "any flow" if math.isinf(flow) else format_quantity(flow, "flow", system)
