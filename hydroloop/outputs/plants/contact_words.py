"""Chlorine contact through the season, in words."""

from __future__ import annotations

import calendar
import math

from hydroloop.outputs.table import as_lines
from hydroloop.outputs.wording import wrap
from hydroloop.studies.contact_seasons import MonthContact
from hydroloop.units import format_quantity
from hydroloop.units.printing import System


def contact_lines(found: list[MonthContact], system: System) -> list[str]:
    """Chlorine contact by month, as a table and in words.

    Parameters
    ----------
    found : list of MonthContact
        Months of the season.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    list of str
        Lines of text; none where there is no contact to judge.
    """
    if not found:
        return []
    rows = [["", "water", "CT asked, Giardia", "virus", "enough up to", "busiest day", ""]]
    rows += [[calendar.month_name[one.month],
              format_quantity(one.temperature_c, "temperature", system),
              f"{one.giardia:.3g}", f"{one.virus:.3g}", _flow(one.flow, system),
              format_quantity(one.asked, "flow", system), "ok" if one.load <= 1.0 else "TOO SHORT"]
             for one in found]
    return [
        "Chlorine contact in the clearwell through the season (largest unit out; CT in mg min/L)",
        *as_lines(rows), "",
        *wrap(f"{_nearest(found)} Water is taken to be as warm as the month's air, and never "
              "colder than the coldest water given.", "  "), "",
    ]  # fmt: skip


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
