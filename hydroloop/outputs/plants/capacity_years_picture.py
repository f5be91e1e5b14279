"""Capacity over the years as a picture, with its caption."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from hydroloop import charts
from hydroloop.charts.capacity_years import Course
from hydroloop.charts.words import joined
from hydroloop.outputs.plants.capacity_words import growth_words
from hydroloop.plants.cautions import SHORT as CAPTION_CAUTION
from hydroloop.plants.growth import Reached
from hydroloop.studies.capacity_study import CapacityStudy
from hydroloop.units.printing import System


def capacity_years_picture(study: CapacityStudy, system: System) -> charts.Picture:
    """Both plants of a town over the years, and the years that remedies buy."""
    supply = _course("Water, busiest day", study.demand, study.demand_band, study.reached)
    sewage = _course("Wastewater, average", study.sewage, study.sewage_band, study.sewage_reached)
    courses = [
        replace(supply, remedies=study.bought),
        replace(sewage, whose="the wastewater plant", remedies=study.sewage_bought),
    ]
    told = [_told(course, study.first_year) for course in courses]
    band = " The band holds 9 of 10 runs over the ranges of the inputs." if study.ranged else ""
    return charts.capacity_years(
        study.place,
        study.first_year,
        courses,
        units=system,
        caption=f"{growth_words(study)}, {joined(told)}.{band} {CAPTION_CAUTION}",
    )


def _course(words: str, flow: np.ndarray, band: np.ndarray, limits: Sequence[Reached]) -> Course:
    first = min(limits, key=lambda one: one.flow)
    return Course(words, flow, band, first.limit, first.flow, first.years, first.below)


def _told(course: Course, first_year: int) -> str:
    what = course.words.split(",")[0].lower()
    last = first_year + len(course.flow) - 1
    if not math.isfinite(course.crossing):
        return f"{what} stays below the lowest limit until {last}"
    if course.crossing <= 0.0:
        return f"{what} is past the lowest limit already" + (
            ""
            if math.isinf(course.below)
            else f" and falls below it in {first_year + math.ceil(course.below)}"
        )
    return f"{what} first passes the lowest limit in {first_year + math.ceil(course.crossing)}"
