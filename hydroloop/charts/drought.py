"""A drought: the water that is watched, the stages it sets off, and what they cut."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.dates import date2num
from matplotlib.ticker import FuncFormatter, MaxNLocator

from hydroloop.charts.colours import ADDED, INK, LINE, MARK, STAGES, TAP
from hydroloop.charts.picture import HEIGHT, Picture, house_style, write
from hydroloop.charts.season_axes import LEFT, RIGHT, name_beside, name_months, panel
from hydroloop.charts.words import printed, span_words
from hydroloop.errors import AskError, Problem
from hydroloop.units import display_unit
from hydroloop.units.printing import System, figures

MOST_RUNS = 2
"""Runs that can be laid over each other."""
_LOOKS: tuple[dict[str, Any], ...] = (
    {"color": LINE, "lw": 2.4},
    {"color": MARK, "lw": 2.4, "ls": (0, (5, 2))},
)


@dataclass(frozen=True)
class Watched:
    """What the stages watch."""

    words: str  # what it is called
    unit: str  # unit of its level as it is shown
    # stages, the mildest first, and the mark below which each begins, as it is shown
    marks: tuple[tuple[str, float], ...]
    other_marks: tuple[float, ...] = ()  # those of the first of two runs, where they differ


@dataclass(frozen=True)
class DryRun:
    """One run of a drought."""

    name: str  # what it is called; empty where it is the only one
    level: np.ndarray  # level of what is watched, as it is shown, shape (time)
    stage: np.ndarray  # hardest stage in force: 0 for none, 1 for the mildest, shape (time)
    # delivered, cut by stages, and asked for in vain [m3/d], shape (time)
    used: np.ndarray
    cut: np.ndarray
    short: np.ndarray
    of: str = ""  # whose water that is, where it is of several towns together


@house_style
def drought(
    time: np.ndarray,
    watched: Watched,
    runs: Sequence[DryRun],
    *,
    caption: str,
    units: System = "us",
) -> Picture:
    """A drought and its stages: how far what is watched falls through the marks, when each stage
    was in force, how much use was cut, how much water was short all the same. One run, or two laid
    over each other."""
    if not watched.marks or not 0 < len(runs) <= MOST_RUNS:
        raise AskError(
            Problem(
                "drought",
                f"{len(watched.marks)} stages in {len(runs)} runs cannot be drawn.",
                f"Give stages, and 1 to {MOST_RUNS} runs.",
            )
        )
    picture = Picture(f"Drought: {watched.words} and its stages, {span_words(time)}", caption)
    days = date2num(np.append(time, time[-1] + (time[1] - time[0])))
    low, room = picture.floor + 0.62, 0.95 if len(runs) > 1 else 1.35
    most = max(float((run.used + run.cut + run.short).max()) for run in runs) or 1.0
    for number, run in reversed(list(enumerate(runs))):
        axes = _draw_use(picture, run, days, (low, low + room), most, units)
        if number == len(runs) - 1:
            name_months(axes, time)
        low += room + 0.2
    for run in reversed(runs):
        _draw_stages(picture, run, watched, days, (low, low + 0.26))
        low += 0.36
    _draw_level(picture, runs, watched, days, (low + 0.1, HEIGHT - 0.95))
    return picture


def _draw_level(
    picture: Picture,
    runs: Sequence[DryRun],
    watched: Watched,
    days: np.ndarray,
    ends: tuple[float, float],
) -> None:
    """What is watched, falling through the marks; below each mark lies the band of its stage."""
    axes = panel(picture, *ends, (days[0], days[-1]))
    most = max(
        *(float(run.level.max()) for run in runs),
        *(mark for _, mark in watched.marks),
        *watched.other_marks,
    )
    limit = 1.08 * most
    axes.set_ylim(0.0, limit)
    axes.yaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: _told(value, watched.unit)))
    heights: list[float] = []
    words: list[str] = []
    samples: list[dict[str, Any]] = []
    for number, (stage, mark) in enumerate(watched.marks):
        said = f"{stage}: below {_told(mark, watched.unit)}"
        if watched.other_marks:  # no band is that of both runs
            other = watched.other_marks[number]
            for at, look in zip((other, mark), _LOOKS, strict=True):
                axes.axhline(at, zorder=1, gid="mark", **{**look, "lw": 1.2})
            if other != mark:
                said = f"{stage}: {figures(mark)}, not {_told(other, watched.unit)}"
        else:
            colour = stage_colour(number + 1)
            axes.axhspan(0.0, mark, facecolor=colour, lw=0.0, zorder=number * 0.01, gid="band")
            axes.axhline(mark, color=INK, lw=0.8, zorder=1)
        heights.append(mark)
        words.append(said)
        samples.append({"facecolor": stage_colour(number + 1)})
    for number, (run, look) in enumerate(zip(runs, _LOOKS, strict=False)):
        axes.stairs(run.level, days, baseline=None, zorder=4, gid="level", **look)
        heights.append(-float(number))  # below the stages
        words.append(run.name or "level")
        samples.append(look)
    inches = (ends[1] - ends[0]) / limit
    name_beside(
        picture,
        [ends[0] + height * inches for height in heights],
        words,
        (ends[0] + 0.1, ends[1] - 0.1),
        samples,
    )


def _draw_stages(
    picture: Picture, run: DryRun, watched: Watched, days: np.ndarray, ends: tuple[float, float]
) -> None:
    """Which stage was in force, as one strip."""
    axes = panel(picture, *ends, (days[0], days[-1]))
    axes.set(ylim=(0, 1), yticks=[])
    for number in range(1, len(watched.marks) + 1):
        there = (run.stage == number).astype(float)
        if there.any():
            axes.stairs(
                there,
                days,
                fill=True,
                facecolor=stage_colour(number),
                edgecolor=LINE,
                lw=1.0,
                gid=watched.marks[number - 1][0],
            )
    name, none = f", {run.name}" if run.name else "", "" if run.stage.any() else ": none"
    write(
        picture.sheet,
        (RIGHT + 0.08, sum(ends) / 2),
        f"stage in force{name}{none}",
        ha="left",
        va="center_baseline",
    )


def _draw_use(
    picture: Picture,
    run: DryRun,
    days: np.ndarray,
    ends: tuple[float, float],
    most: float,
    units: System,
) -> Axes:
    """What was used, what stages cut from it, and what was asked for in vain."""
    axes = panel(picture, *ends, (days[0], days[-1]))
    parts = [
        ("delivered", run.used, TAP, None),
        ("cut by stages", run.cut, ADDED, "//"),
        ("short", run.short, MARK, None),
    ]
    tops = np.cumsum([values for _, values, *_ in parts], axis=0)
    unit = display_unit("flow", units, largest=most)
    axes.set_ylim(0.0, 1.1 * most)
    marks = MaxNLocator(2, steps=[1, 2, 5, 10]).tick_values(0.0, most * unit.factor)
    axes.set_yticks([mark / unit.factor for mark in marks if mark <= 1.1 * most * unit.factor])
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: figures(value * unit.factor)))
    heights: list[float] = []
    words: list[str] = []
    samples: list[dict[str, Any]] = []
    for (what, values, colour, hatch), top in zip(parts, tops, strict=True):
        if not values.any():
            continue
        axes.stairs(
            top,
            days,
            baseline=top - values,
            fill=True,
            facecolor=colour,
            edgecolor=LINE,
            hatch=hatch,
            lw=0.0,
            gid=what,
        )
        heights.append(ends[0] + (len(heights) + 0.5) * (ends[1] - ends[0]) / 3)
        words.append(f"{what} {run.of}".strip() if what == "delivered" else what)
        samples.append({"facecolor": colour, "hatch": hatch})
    axes.stairs(tops[0], days, color=LINE, lw=1.2)
    name_beside(picture, heights, words, (ends[0] + 0.1, ends[1] - 0.1), samples)
    name = f"{run.name},\n" if run.name else ""
    write(
        picture.sheet,
        (LEFT - 0.62, sum(ends) / 2),
        f"{name}{printed(unit.name)}",
        rotation=90,
    )
    return axes


def stage_colour(number: int) -> str:
    """Fill of a stage, 1 for the mildest."""
    return STAGES[min(number, len(STAGES)) - 1]


def _told(value: float, unit: str) -> str:
    return f"{figures(value)} {unit}"
