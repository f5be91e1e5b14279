"""Capacity against demand in words: the answer first, then units, years and remedies."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from hydroloop import charts
from hydroloop.charts.words import joined, place_words
from hydroloop.outputs.plants.contact_words import contact_lines
from hydroloop.outputs.plants.sewer_words import wet_weather_lines
from hydroloop.outputs.table import as_lines
from hydroloop.outputs.wording import wrap
from hydroloop.plants import CAUTION, PlantReport, UnitRow
from hydroloop.plants.cautions import SHORT as CAPTION_CAUTION
from hydroloop.plants.growth import Reached
from hydroloop.plants.standards import At, in_held_units
from hydroloop.plants.standby import LEAST_AERATION_BASINS, STANDBY_SOURCE
from hydroloop.studies.capacity_study import CapacityStudy
from hydroloop.units import format_quantity
from hydroloop.units.printing import System

_AT: dict[At, str] = {
    "average": "average day", "maximum_day": "busiest day", "peak_hour": "peak hour"}


def capacity_lines(
    study: CapacityStudy, place: str, system: System, more: Sequence[str] = (), held: str = ""
) -> list[str]:
    """The page of a town, words first: is it big enough, until when, and what would help.

    Parameters
    ----------
    study : CapacityStudy
        What was found.
    place : str
        The town's name as it is written.
    system : str
        ``"us"`` or ``"metric"``.
    more : sequence of str
        Lines that stand before the notes, such as those of `step_lines`.
    held : str
        What works were held, from `held_sentence`.

    Returns
    -------
    list of str
        Lines of text.
    """
    return [
        f"Capacity against demand: {place}", "",
        *(wrap(held, "  ") if held else []),
        *wrap(_water_sentence(study, place, system), "  "),
        *wrap(_wastewater_sentence(study, place, system), "  "),
        *wrap(_first_sentence(study, system), "  "),
        "", "Flows to be met, and their ratio to the average day",
        *as_lines(_flows(study, system)), *wrap(_peaks_sentence(study, system), "  "),
        "", "When demand reaches each limit of the supply (largest unit out)",
        *as_lines(_years(study.reached, study.first_year, system)),
        "", "When wastewater reaches each limit (all units in use)",
        *as_lines(_years(study.sewage_reached, study.first_year, system)),
        "", "What buys how many years until the first limit of the supply",
        *as_lines([["", "years"], *([name, _gain(years)] for name, years in study.bought)]),
        "", *([*more, ""] if more else []), *_notes(study, system), *wrap(CAUTION, "  "),
    ]  # fmt: skip


def step_lines(study: CapacityStudy, system: System) -> list[str]:
    """Both plants step by step, contact by month, and what the sewers carry.

    Parameters
    ----------
    study : CapacityStudy
        What was found.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    list of str
        Lines of text.
    """
    return [
        *_water_steps(study, system), *contact_lines(study.contact, system),
        "The wastewater plant, step by step, with all units in use; * the flow its rule is meant "
        "for",
        *as_lines(_units(study.wastewater, system, out=False)),
        "", "What each step still treats of the design flow, with the largest unit out",
        *as_lines(_standby(study)),
        "", *wet_weather_lines(study.sewers, system),
    ]  # fmt: skip


def _water_steps(study: CapacityStudy, system: System) -> list[str]:
    if not study.water.rows:
        return ["The town has no water plant of its own: it buys all its water.", ""]
    return ["The water plant, step by step, with the largest unit out; * the flow its rule is "
            "meant for", *as_lines(_units(study.water, system)), ""]


def _flows(study: CapacityStudy, system: System) -> list[list[str]]:
    """Average day, busiest day and peak hour of both plants, with their ratios."""
    rows = [["", *_AT.values()]]
    for name, report in (("water", study.water), ("wastewater", study.wastewater)):
        flows = report.flows
        day, hour = flows.peaks
        rows.append([name, format_quantity(flows.average, "flow", system),
                     f"{format_quantity(flows.maximum_day, 'flow', system)} (x {day:.2f})",
                     f"{format_quantity(flows.peak_hour, 'flow', system)} (x {hour:.2f})"])
    return rows


def _peaks_sentence(study: CapacityStudy, system: System) -> str:
    water, works = study.water, study.wastewater
    return (f"Water: {water.flows.source}. Wastewater: the season's mean, peaks by "
            f"{works.flows.source}. With all units the water plant carries "
            f"{format_quantity(water.capacity, 'flow', system)} on a day, with the largest out "
            f"{format_quantity(water.firm_capacity, 'flow', system)}; the wastewater plant is good "
            f"for {format_quantity(works.capacity, 'flow', system)} on average.")


def _water_sentence(study: CapacityStudy, place: str, system: System) -> str:
    water = study.water
    enough = "is big enough" if water.is_enough else "is too small"
    enough = f", as assumed here, {enough}" if study.assumed else f" {enough}"
    return (f"{place}'s water plant{enough} for its busiest day: "
            f"{format_quantity(water.demand, 'flow', system)} asked for against a firm capacity of "
            f"{format_quantity(water.firm_capacity, 'flow', system)}"
            f"{_share_words(water.load)}. {_limiting(water)}{_assumed_words(study)}")


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
        return "Its rated capacity comes first."
    step = one.process.replace("_", " ")
    if one.what.startswith("contact"):
        return f"Chlorine contact in the {step} comes first, in the coldest water."
    rule = f" ({one.standard.printed}: {one.standard.source})" if one.standard else ""
    return f"The {one.what} of {step} comes first{rule}."


def _wastewater_sentence(study: CapacityStudy, place: str, system: System) -> str:
    works = study.wastewater
    part = works.demand / works.capacity if works.capacity > 0 else math.inf
    words = (f"Its wastewater plant treats {format_quantity(works.demand, 'flow', system)} on "
             f"average, {100.0 * part:.0f} % of what its steps are good for with all units. "
             f"{_standby_sentence(study)}")
    if study.sewers.overflow_hours:
        words += f" Sewers overflowed in {study.sewers.overflow_hours:,.0f} hours of the season."
    if study.sewers.bypass_hours:
        words += f" Storms bypassed aeration in {study.sewers.bypass_hours:,.0f} hours."
    return words


def _standby_sentence(study: CapacityStudy) -> str:
    short = [one.process.replace("_", " ") for one in study.standby if not one.is_met]
    treat = "treats" if len(short) == 1 else "treat"
    words = ("With the largest unit of each step out, every step still treats the share of the "
             "design flow that a published rule names" if not short else
             f"With the largest unit out, {joined(short)} {treat} less of the design flow than a "
             "published rule names")
    return f"{words} ({STANDBY_SOURCE})."


def _standby(study: CapacityStudy) -> list[list[str]]:
    """One row a step: units left, share carried, share asked."""
    rows = [["", "units left", "treats", "asked", ""]]
    for one in study.standby:
        asked = f"{LEAST_AERATION_BASINS} basins in all" if one.asked is None else (
            f"{100.0 * one.asked:.0f} %")
        rows.append([one.process.replace("_", " "), str(one.units), f"{100.0 * one.carried:.0f} %",
                     asked, "ok" if one.is_met else "TOO LITTLE"])
    return rows


def _first_sentence(study: CapacityStudy, system: System) -> str:
    first, years = study.reached[0], len(study.demand) - 1
    supply = _when(first, "The first limit of the supply", study.first_year, system)
    sewage = _when(study.sewage_reached[0], "that of wastewater", study.first_year, system)
    if math.isinf(first.years) and math.isinf(study.sewage_reached[0].years):
        return f"No limit of supply or wastewater is reached within {years} years."
    if math.isinf(first.years):
        supply = f"No limit of the supply is reached within {years} years"
    if math.isinf(study.sewage_reached[0].years):
        sewage = f"none of wastewater is reached within {years} years"
    return f"{supply}; {sewage}."


def _when(one: Reached, what: str, first_year: int, system: System) -> str:
    """When a limit is reached, as part of a sentence."""
    step = one.limit.split(": ")[-1].removesuffix(", chlorine contact")
    named = f"{what}, {step} at {format_quantity(one.flow, 'flow', system)},"
    if one.years <= 0.0:
        return f"{named} is reached already"
    return f"{named} is reached in {_year(one.years, first_year)}{_band(one, first_year)}"


def _year(years: float, first_year: int) -> str:
    if math.isinf(years):
        return "not in sight"
    return "now" if years <= 0.0 else str(first_year + math.ceil(years))


def _band(one: Reached, first_year: int) -> str:
    early, late = _year(one.early, first_year), _year(one.late, first_year)
    return "" if early == late else f" (by the ranges of the inputs: {early} to {late})"


def _years(found: list[Reached], first_year: int, system: System) -> list[list[str]]:
    rows = [["", "at a flow of", "year", "5 to 95 %"]]
    for one in found:
        early, late = _year(one.early, first_year), _year(one.late, first_year)
        band = early if early == late else f"{early} to {late}"
        rows.append([one.limit, format_quantity(one.flow, "flow", system),
                     _year(one.years, first_year), band])
    return rows


def _gain(years: float) -> str:
    if math.isinf(years):
        return "beyond the years looked at"
    return "none" if years < 0.05 else f"{years:.1f}"


def _units(report: PlantReport, system: System, *, out: bool = True) -> list[list[str]]:
    """One row a step and rule, at all three flows; the flow the rule is meant for has a star."""
    rows = [["", "units", *_AT.values(), "rule", ""]]
    there = [row for row in report.rows if (row.out > 0) == out]
    for row in there:
        if row.judged:
            # A rule for the peak hour stands in a row of its own, of the same measure.
            values = {one.at: one for one in there
                      if (one.process, one.what) == (row.process, row.what)}
            rows.append([f"{row.process.replace('_', ' ')}, {row.what}", str(row.units),
                         *(_value(values[at], system) + ("*" if at == row.at else "")
                           for at in _AT), _rule(row, system), _mark(row)])
    return rows


def _rule(row: UnitRow, system: System) -> str:
    """The rule in the unit of the value beside it; as printed where it has none."""
    if row.low is None and row.high is None:
        return row.rule.split(" (")[0]
    low, high = (None if end is None else _amount(end, row, system) for end in (row.low, row.high))
    if low is None:
        return f"at most {high}"
    return f"at least {low}" if high is None else f"{low} to {high}"


def _mark(row: UnitRow) -> str:
    return {"within": "ok", "over": "TOO SMALL", "slow": "slow, no harm",
            "no unit left": "NONE LEFT"}.get(row.verdict, "")


def _value(row: UnitRow, system: System) -> str:
    return "-" if row.value is None else _amount(row.value, row, system)


def _amount(value: float, row: UnitRow, system: System) -> str:
    """A number in the unit in which a row is shown, the same for value and rule."""
    if row.unit == "d":
        return _time(value, max(end for end in (row.low, row.high, 0.0) if end is not None))
    if row.unit == "m/d":
        if system == "metric":
            return f"{value:.3g} m/day"
        if row.what == "filter rate":
            return f"{value / in_held_units('gpm/ft2'):.3g} gpm/ft2"
        return f"{value / in_held_units('gpd/ft2'):,.0f} gpd/ft2"
    if row.unit == "m3/m/d":
        if system == "metric":
            return f"{value:.3g} m3/m/day"
        return f"{value / in_held_units('gpd/ft'):,.0f} gpd/ft"
    return f"{value:.3g}"


def _time(value: float, rule: float) -> str:
    """A time [d] in the unit that suits the rule it is held to."""
    for unit, size in (("s", 86400.0), ("min", 1440.0)):
        if rule * size < 121.0:
            return f"{value * size:.3g} {unit}"
    return f"{value * 24.0:.3g} h"


def _notes(study: CapacityStudy, system: System) -> list[str]:
    lines = []
    if any(row.assumed for row in study.water.rows):
        lines += wrap("Sizes that the scenario does not give are worked out from its design times; "
                      "give the plant's own basins under plant.basins to hold it to its own.", "  ")
    if study.water.wells > 0.0:
        lines += wrap(f"Wells bring up to {format_quantity(study.water.wells, 'flow', system)} "
                      "straight to the clearwell, past the steps before it, when the plant cannot "
                      "make enough: the capacities above have that in them.", "  ")
    if study.water.imported > 0.0:
        lines += wrap(f"Up to {format_quantity(study.water.imported, 'flow', system)} can be "
                      "bought. It comes treated, past the whole plant, and last: the capacities "
                      "above have that in them.", "  ")
    if study.not_drawn:
        lines += wrap(f"Ranges that stay at their middle here: {joined(list(study.not_drawn))}.",
                      "  ")
    if not study.ranged:
        lines += wrap("None of the inputs that the years depend on is given as a range, so they "
                      'have no band. Write for example growth.people_per_year = "0.5 % to 2 %".',
                      "  ")
    return [*lines, ""] if lines else []


def draw_capacity(study: CapacityStudy, path: Path, system: System, *, force: bool = False) -> None:
    """Draw a town's supply limits against its demand into one file.

    Parameters
    ----------
    study : CapacityStudy
        What was found.
    path : Path
        File, ending in .png or .svg.
    system : str
        ``"us"`` or ``"metric"``.
    force : bool
        Replace a picture that hydroloop wrote there and nobody changed.
    """
    place = place_words(study.town)
    last = study.first_year + len(study.demand) - 1
    caption = (f"{_water_sentence(study, place, system)} {_first_sentence(study, system)} "
               f"Bars are published design standards with the largest unit out. {CAPTION_CAUTION}")
    figure = charts.capacity(
        study.town, [(one.limit, one.flow) for one in study.reached],
        [("busiest day now", float(study.demand[0])),
         (f"busiest day in {last}", float(study.demand[-1]))], caption=caption, units=system)
    charts.save(figure, path.with_suffix(""), (path.suffix[1:],), force=force)
