"""What a town's plants are judged to be, in sentences: by the rules, in the season, over years."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from hydroloop.charts.words import joined, percent
from hydroloop.outputs.document.wording import number_of, sentence
from hydroloop.outputs.plants.sewers import lost_time
from hydroloop.placenames import possessive
from hydroloop.plants import PlantReport
from hydroloop.plants.growth import Reached
from hydroloop.plants.standby import STANDBY_SOURCE
from hydroloop.studies.capacity_study import RIVER, CapacityStudy
from hydroloop.studies.design_check import DesignCheck
from hydroloop.studies.remedies import CONTACT
from hydroloop.units import format_quantity
from hydroloop.units.printing import System

LEAST_GAIN = 0.05
"""Fewer years are not told [a]."""
_ALL_GOT = 0.98  # a larger share of the water asked for holds nothing back from the sewers [-]


def verdict_sentences(study: CapacityStudy, system: System) -> list[str]:
    """The short answer: both plants by the rules, the season as it went, years, remedies."""
    said = (
        water_sentence(study, system),
        _wastewater_sentence(study, system),
        "" if all(one.is_met for one in study.standby) else standby_sentence(study, system),
        _season_sentence(study, system),
        first_sentence(study, system),
        _bought_sentence(study),
    )
    return [words for words in said if words]


def water_sentence(study: CapacityStudy, system: System) -> str:
    """Whether the water plant is big enough for its busiest day, by the rules."""
    water, out = study.water, study.check.out
    gone = "one unit" if out == 1 else f"{out} units"
    units = f"with {gone} of each step out of service" if out else "with all units"
    enough = "is big enough" if water.is_enough else "is too small"
    enough = f", as assumed here, {enough}" if study.assumed else f" {enough}"
    asked, able = (
        format_quantity(flow, "flow", system) for flow in (water.demand, water.firm_capacity)
    )
    return (
        f"By published design rules, {units}, {possessive(study.place)} water plant{enough} for "
        f"its busiest day: {asked} asked for against a firm capacity of {able}"
        f"{_share_words(water.load)}. {_limiting(water)}{_assumed_words(study)}"
        f"{_river_sentence(study, system)}"
    )


def _assumed_words(study: CapacityStudy) -> str:
    """That a size which decides was not given, so that no real plant is judged."""
    return " Its sizes are assumed, not given: no verdict on a real plant." if study.assumed else ""


def _share_words(load: float) -> str:
    return f", that is {100.0 * load:.0f} %" if math.isfinite(load) else ""


def _limiting(report: PlantReport) -> str:
    """What the plant runs into first."""
    one = report.firm_limited_by
    step = one.process.replace("_", " ")
    if one.out and not one.units:
        return f"No unit of {step} is left."
    if one.is_contact:
        return f"Its first limit is chlorine contact in the {step}, in the coldest water."
    if one.standard is None:
        return "Its first limit is its rated capacity."
    rule = f" ({one.standard.printed}: {one.standard.source})"
    return f"Its first limit is the {one.what} of {step}{rule}."


def _river_sentence(study: CapacityStudy, system: System) -> str:
    """That the river would not fill the plant on its driest day, where it would not."""
    river = next((one for one in study.reached if one.limit == RIVER), None)
    if river is None or river.flow >= min(study.water.demand, study.water.firm_capacity):
        return ""
    met = "" if study.check.short_days else " In this season the two did not fall together."
    return (
        f" The river is the tighter limit: on its driest day it yields "
        f"{format_quantity(river.flow, 'flow', system)}, less than the busiest day asks for.{met}"
    )


def _wastewater_sentence(study: CapacityStudy, system: System) -> str:
    works, load = study.wastewater, study.wastewater.load_of_all
    comes, able = (format_quantity(flow, "flow", system) for flow in (works.demand, works.capacity))
    part = f"{100.0 * load:.0f} % of" if math.isfinite(load) else "more than"
    return (
        f"Its wastewater plant gets {comes} on average, {part} the {able} that the same kind of "
        f"rules allow all its units with the peak hours of {study.sewers.people:,.0f} people"
        f"{_held_back(study.check)}.{_lost_sentence(study, system)}"
    )


def _held_back(check: DesignCheck) -> str:
    """That less came to the sewers because the taps ran short."""
    if check.got >= _ALL_GOT:
        return ""
    return f"; it would be more, but taps got only {percent(check.got)} of the water asked for"


def standby_sentence(study: CapacityStudy, system: System) -> str:
    """What the wastewater plant treats of its design flow with the largest unit of a step out."""
    built = format_quantity(study.check.design_flow, "flow", system)
    short = [one.process.replace("_", " ") for one in study.standby if not one.is_met]
    treat = "treats" if len(short) == 1 else "treat"
    words = (
        f"Of the {built} that the wastewater plant is built for, with the largest unit of each "
        "step out, every step still treats the share that a published rule names"
        if not short
        else f"With the largest unit out, {joined(short)} {treat} less of the {built} that the "
        "wastewater plant is built for than a published rule names"
    )
    today = "; that says nothing of the larger flow of today" if study.check.is_over_built else ""
    return f"{words} ({STANDBY_SOURCE}){today}."


def _lost_sentence(study: CapacityStudy, system: System) -> str:
    """What overflowed or passed aeration by, and how long that went on."""
    sewers = study.sewers
    words = ""
    if sewers.overflow_hours:
        words += f" Sewers overflowed {lost_time(sewers.overflow_hours, sewers)} of the season."
    if sewers.bypass_hours:
        most = format_quantity(sewers.full_treatment, "flow", system)
        words += (
            f" {sentence(lost_time(sewers.bypass_hours, sewers))} more came than the {most} that "
            "can get the full treatment, and the rest went round aeration."
        )
    return words


def _season_sentence(study: CapacityStudy, system: System) -> str:
    """How the season went, beside what the rules say, and why the two differ where they do."""
    check = study.check
    short = (
        f"{study.place} got {percent(check.got)} of the water it asked for, and ran short on "
        f"{number_of(check.short_days, 'day')}"
        if check.short_days
        else f"nobody in {study.place} ran short of water"
    )
    spilled = check.sewers.overflow or check.sewers.bypass
    said = f"In the season as it went (hydroloop run) {short}" + (
        "." if spilled else f"{', but' if check.short_days else ' and'} no sewage went untreated."
    )
    if check.is_over and check.went_well:
        most = format_quantity(check.sewers.full_treatment, "flow", system)
        return (
            f"{said} Both are right: the rules ask for room to spare, for a unit out of service "
            "and for water to stay long enough in each basin; a season goes wrong only when tanks "
            f"run empty, or more sewage comes than the {most} that can get the full treatment."
        )
    if check.short_days and check.water.is_enough:
        return f"{said} The plant is not why: there was too little water to fill it."
    return said


def first_sentence(study: CapacityStudy, system: System) -> str:
    """When the first limit of the supply and of wastewater is passed, and by which growth."""
    supply, sewage = study.reached[0], study.sewage_reached[0]
    growth, years = growth_words(study), len(study.demand) - 1
    if math.isinf(supply.years) and math.isinf(sewage.years):
        return (
            f"{growth}, no limit of supply or wastewater is reached within {years} years"
            f"{_falling(study, system)}."
        )
    told = _when(supply, "the first limit of the supply", study.first_year, system)
    also = _when(sewage, "that of wastewater", study.first_year, system)
    if math.isinf(supply.years):
        told = f"no limit of the supply is reached within {years} years"
    if math.isinf(sewage.years):
        also = f"none of wastewater is reached within {years} years"
    return f"{growth}, {told}; {also}."


def growth_words(study: CapacityStudy) -> str:
    """How fast the town is taken to grow."""
    rates = study.rates
    people, jobs = (
        f"{'growing' if rate >= 0.0 else 'falling'} by {abs(100.0 * rate):.3g} % a year"
        for rate in (float(rates.people), float(rates.jobs))
    )
    said = [f"people {people}", *([f"jobs {jobs}"] if jobs != people else [])]
    if rates.use_falls:
        said.append(f"use in each home falling by {100.0 * float(rates.use_falls):.3g} %")
    ranged = any(".growth." in key for key in study.ranged)
    return f"With {joined(said)}{', the middle of the range' if ranged else ''}"


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
    step = one.limit.split(": ")[-1].removesuffix(CONTACT)
    named = f"{what}, {step} at {format_quantity(one.flow, 'flow', system)},"
    if one.years <= 0.0:
        return f"{named} is reached already" + (
            ""
            if math.isinf(one.below)
            else f" (a falling demand is below it again from {first_year + math.ceil(one.below)})"
        )
    return f"{named} is first passed in {year_words(one.years, first_year)}{_band(one, first_year)}"


def year_words(years: float, first_year: int) -> str:
    """The first year in which a limit is passed."""
    if math.isinf(years):
        return "not in sight"
    return "now" if years <= 0.0 else str(first_year + math.ceil(years))


def _band(one: Reached, first_year: int) -> str:
    early, late = year_words(one.early, first_year), year_words(one.late, first_year)
    return "" if early == late else f" (by the ranges of the inputs: {early} to {late})"


def _bought_sentence(study: CapacityStudy) -> str:
    """What puts off each first limit for longest; empty where none is in sight."""
    told = [
        _best(what, gains)
        for what, limits, gains in (
            ("the supply", study.reached, study.bought),
            ("wastewater", study.sewage_reached, study.sewage_bought),
        )
        if not math.isinf(limits[0].years)
    ]
    if not told:
        return ""
    return f"What puts off the first limit most: {'; '.join(told)}."


def _best(what: str, gains: Sequence[tuple[str, float]]) -> str:
    name, years = max(gains, key=lambda pair: pair[1], default=("", 0.0))
    if years < LEAST_GAIN:
        return f"of {what}, none of the remedies that were tried"
    gained = gain_words(years)
    return f"of {what}, {name} ({f'+{gained} years' if math.isfinite(years) else gained})"


def gain_words(years: float) -> str:
    """The years that a remedy buys."""
    if math.isinf(years):
        return "beyond the years looked at"
    return "none" if years < LEAST_GAIN else f"{years:.1f}"
