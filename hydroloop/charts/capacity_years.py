"""Capacity over the years: demand and its band against the lowest limits, and what remedies buy."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import TypeAlias

import numpy as np
from matplotlib.patches import Rectangle
from matplotlib.ticker import FuncFormatter, MaxNLocator

from hydroloop.charts.colours import BAR, INK, LINE, MARK, WALL
from hydroloop.charts.picture import HEIGHT, SMALLEST, WIDTH, Picture, house_style, write
from hydroloop.charts.words import printed, two_figures
from hydroloop.errors import AskError, Problem
from hydroloop.units import display_unit
from hydroloop.units.printing import System, figures

_EDGE, _LEFT, _WIDE, _GAP = 0.35, 0.95, 5.3, 1.3
_MOST_LINES = 8  # of remedies, of both plants together
_LINE, _NEXT = 0.31, 0.24  # height of a remedy of one line, and of each further one [in]
_WORDS, _BAR = 7.4, 4.4  # most room of the words of a remedy, and length of the longest bar [in]


@dataclass(frozen=True)
class Course:
    """One plant over the years."""

    words: str  # what is asked of it, and of which plant
    flow: np.ndarray  # flow of each year [m3/d], shape (year,)
    band: np.ndarray  # what 5 and 95 % of the members stay below [m3/d], shape (2, year)
    limit: str  # what it meets first
    able: float  # flow at which that is reached [m3/d]
    crossing: float  # years until then; infinite if not within those drawn [a]
    below: float = np.inf  # years until what was past it is below it for good [a]
    whose: str = "the water supply"  # what remedies buy years for
    remedies: Sequence[tuple[str, float]] = ()  # what could be done, and the years it buys [a]


Lines: TypeAlias = list[tuple[list[str], float]]  # lines of words, years [a]
Remedies: TypeAlias = tuple[str, Lines]  # what stands above them


@house_style
def capacity_years(
    town: str,
    first_year: int,
    courses: Sequence[Course],
    *,
    caption: str,
    units: System = "us",
) -> Picture:
    """Capacity against demand over the years for one or two plants: each year's flow with its band,
    a broken line for the lowest limit, the first year past it; below, the years [a] that each
    remedy buys each plant."""
    if not 0 < len(courses) <= 2:
        raise AskError(
            Problem("capacity", f"{len(courses)} plants cannot be drawn.", "Give one or two.")
        )
    picture = Picture(f"Capacity against demand over the years in {town}", caption)
    shown = _shown(picture, courses)
    rows = [0.41 + sum(_height(lines) for lines, _ in remedies) for _, remedies in shown]
    low = picture.floor + 0.1 + sum(rows)
    for number, course in enumerate(courses):
        left = _LEFT + number * (_WIDE + _GAP)
        _draw_course(picture, course, first_year, left, (low + 0.45, HEIGHT - 1.47), units)
    _draw_remedies(picture, shown, low - 0.15, first_year + len(courses[0].flow) - 1)
    return picture


def _shown(picture: Picture, courses: Sequence[Course]) -> list[Remedies]:
    """The remedies of each plant that buy anything, the best of them where there are too many."""
    found: list[tuple[str, Lines]] = []
    for course in courses:
        remedies = [
            (picture.wrapped(words, SMALLEST, _WORDS), years)
            for words, years in course.remedies
            if years > 0.05
        ]
        if remedies:
            found.append((course.whose, remedies))
    return [_best(whose, remedies, _MOST_LINES // len(found)) for whose, remedies in found]


def _best(whose: str, remedies: Lines, most: int) -> Remedies:
    """As many remedies as have room in so many lines; the words above them say so where some are
    left out."""
    count = bisect_right(list(accumulate(len(lines) for lines, _ in remedies)), most)
    left = len(remedies) - count
    rest = "the other buys" if left == 1 else "the others buy"
    part = f" ({count} of {len(remedies)} drawn; {rest} no more)" if left else ""
    return f"Years that each remedy buys {whose}{part}", remedies[:count]


def _height(lines: list[str]) -> float:
    return _LINE + _NEXT * (len(lines) - 1)


def _draw_course(
    picture: Picture,
    course: Course,
    first_year: int,
    left: float,
    ends: tuple[float, float],
    units: System,
) -> None:
    low, high = ends
    axes = picture.add_axes((left / WIDTH, low / HEIGHT, _WIDE / WIDTH, (high - low) / HEIGHT))
    years = first_year + np.arange(len(course.flow))
    unit = display_unit("flow", units, largest=float(course.flow.max()))
    flow, band, able = (
        unit.factor * np.asarray(one) for one in (course.flow, course.band, course.able)
    )
    # A limit far above would press the years flat: it is told, and not drawn.
    is_near = float(able) < 2.0 * float(max(flow.max(), band.max()))
    top = max(flow.max(), band.max(), float(able) if is_near else 0.0)
    axes.set(xlim=(years[0], years[-1]), ylim=(0.0, 1.28 * top))
    axes.spines[["top", "right"]].set_visible(False)
    axes.tick_params(labelsize=14, length=4)
    axes.tick_params(axis="x", pad=10)  # clear of the nought beside it
    axes.xaxis.set_major_locator(MaxNLocator(4, integer=True, steps=[1, 2, 5, 10]))
    axes.yaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: figures(value)))
    axes.grid(axis="y", color=WALL, lw=1.5, zorder=0)
    if np.ptp(band, axis=0).max() > 1e-9 * top:
        axes.fill_between(
            years, band[0], band[1], facecolor=BAR, edgecolor=LINE, lw=0.8, zorder=2, gid="band"
        )
    axes.plot(years, flow, color=LINE, lw=3.0, zorder=4, gid="flow")
    if is_near:
        axes.plot(
            years[[0, -1]], [able, able], color=MARK, lw=2.4, ls=(0, (5, 2)), zorder=5, gid="able"
        )
    name = printed(unit.name)
    write(
        picture.sheet,
        (left - 0.6, high + 0.54),
        f"{course.words}, {name}",
        size=16,
        ha="left",
        weight="bold",
        va="center_baseline",
    )
    if 0.0 < course.crossing < np.inf and is_near:
        # As in words: the first year past it, not the moment between two years.
        after = int(np.ceil(course.crossing))
        x, y = years[after], float(flow[after])
        axes.plot([x, x], [0.0, y], color=INK, lw=1.6, ls=(0, (1, 2)), zorder=3)
        axes.plot([x], [y], "o", color=INK, ms=11, zorder=6, gid="crossing")
    said = f"{course.limit}: {figures(float(able))}{_when(course, first_year)}"
    write(
        picture.sheet,
        (left - 0.6, high + 0.25),
        picture.cut(said, _WIDE + 0.9),
        ha="left",
        va="center_baseline",
    )


def _when(course: Course, first_year: int) -> str:
    if not np.isfinite(course.crossing):
        return f", not reached by {first_year + len(course.flow) - 1}"
    if course.crossing <= 0.0:
        return ", passed already" + (
            "" if np.isinf(course.below) else f", until {first_year + int(np.ceil(course.below))}"
        )
    return f", first passed in {first_year + int(np.ceil(course.crossing))}"


def _draw_remedies(picture: Picture, shown: Sequence[Remedies], top: float, last_year: int) -> None:
    """A bar of years for each remedy, to one scale; words where no year is counted."""
    every = [remedy for _, remedies in shown for remedy in remedies]
    scale = _BAR / max([1.0, *(years for _, years in every if np.isfinite(years))])
    widest = max((picture.text_width(line) for lines, _ in every for line in lines), default=0.0)
    for head, remedies in shown:
        write(
            picture.sheet,
            (_EDGE, top),
            head,
            size=16,
            ha="left",
            weight="bold",
            va="center_baseline",
        )
        y = top - 0.33
        for lines, years in remedies:
            _draw_remedy(picture, lines, (_EDGE + widest, y), years, scale, last_year)
            y -= _height(lines)
        top = y - 0.08


def _draw_remedy(
    picture: Picture,
    lines: list[str],
    at: tuple[float, float],
    years: float,
    scale: float,
    last_year: int,
) -> None:
    x, y = at[0], at[1] - 0.5 * (_height(lines) - _LINE)
    write(picture.sheet, (x, y), "\n".join(lines), ha="right", va="center_baseline")
    x += 0.15
    told = f"limit not reached by {last_year}"
    if np.isfinite(years):
        told, wide = two_figures(round(years, 1)), years * scale
        picture.sheet.add_patch(
            Rectangle((x, y - 0.1), wide, 0.2, facecolor=BAR, edgecolor=LINE, lw=1.2, gid="remedy")
        )
        x += wide + 0.1
    write(picture.sheet, (x, y), told, ha="left", va="center_baseline")
