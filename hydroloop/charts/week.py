"""A week by the hour: demand with its peaks, the plant's even flow, and the tanks between them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.dates import date2num
from matplotlib.ticker import FuncFormatter, MaxNLocator

from hydroloop.charts.colours import ADDED, BAR, FAINT, GROUND, INK, LINE, MARK, RIVER, TAP
from hydroloop.charts.picture import HEIGHT, Picture, house_style, write
from hydroloop.charts.season_axes import LEFT, name_beside, panel
from hydroloop.charts.words import month_words, printed, span_words
from hydroloop.errors import AskError, Problem
from hydroloop.units import DisplayUnit, display_unit, format_quantity
from hydroloop.units.printing import System, figures

_FILLS = (GROUND, TAP, ADDED, BAR)
_HATCHES = ("..", None, "//", "\\\\")


@house_style
def week(
    town: str,
    time: np.ndarray,
    taken: Mapping[str, np.ndarray],
    made: np.ndarray,
    level: np.ndarray,
    *,
    full: float,
    able: float,
    caption: str,
    units: System = "us",
) -> Picture:
    """A week by the hour: areas for what is taken from the mains (from below, shape (time) [m3/d]),
    a line for what is made, and below the water in the tanks, shape (edge) [m3]. `full` [m3] and
    `able` [m3/d] are the most they can hold and that can be made."""
    demand = np.sum(list(taken.values()), axis=0)
    if not len(time) or not np.any(demand > 0.0):
        raise AskError(Problem("week", "there is no demand to show.", "Choose another town."))
    picture = Picture(f"{town} by the hour, {span_words(time)}", caption)
    days = date2num(np.append(time, time[-1] + np.timedelta64(1, "h")))
    low = picture.floor + 0.45
    _draw_tanks(picture, days, level, (low, low + 1.35), full=full, units=units)
    _draw_flows(picture, days, taken, made, (low + 1.85, HEIGHT - 1.0), able=able, units=units)
    return picture


def _draw_flows(
    picture: Picture,
    days: np.ndarray,
    taken: Mapping[str, np.ndarray],
    made: np.ndarray,
    ends: tuple[float, float],
    *,
    able: float,
    units: System,
) -> None:
    """Areas of demand, one on the other, and the plant's line across them."""
    axes = panel(picture, *ends, (days[0], days[-1]))
    tops = np.cumsum(list(taken.values()), axis=0)
    most = max(float(tops[-1].max()), float(made.max()))
    limit = 1.3 * most
    unit = display_unit("flow", units, largest=most)
    _scale(axes, limit, unit)
    _mark_days(axes, days, 0.86 * limit)
    beside: list[tuple[float, str, Mapping[str, Any]]] = []
    for number, (who, layer) in enumerate(taken.items()):
        if layer.max() <= 1e-9 * most:
            continue
        top = tops[number]
        axes.stairs(
            top,
            days,
            baseline=top - layer,
            fill=True,
            facecolor=_FILLS[number % 4],
            hatch=_HATCHES[number % 4],
            edgecolor=LINE,
            lw=0.0,
            zorder=2,
        )
        axes.stairs(top, days, color=LINE, lw=0.8, zorder=3)
        beside.append(
            (
                float(top[-1] - layer[-1] / 2),
                who,
                {"facecolor": _FILLS[number % 4], "hatch": _HATCHES[number % 4]},
            )
        )
    axes.stairs(made, days, baseline=None, color=MARK, lw=3.2, zorder=6, gid="made")
    beside.append((float(made[-1]), "into the tanks", {"color": MARK, "lw": 3.2}))
    if able < 0.85 * limit:
        axes.plot([days[0], days[-1]], [able, able], color=INK, lw=1.6, ls=(0, (6, 3)), zorder=5)
        beside.append((able, "most that can come in", {"color": INK, "lw": 1.6, "ls": (0, (6, 3))}))
    inches = (ends[1] - ends[0]) / limit
    heights, words, samples = zip(*beside, strict=True)
    name_beside(
        picture,
        [ends[0] + height * inches for height in heights],
        words,
        (ends[0] + 0.1, ends[1] - 0.1),
        samples,
    )
    _name_peak(axes, days, tops[-1], limit)
    write(
        picture.sheet,
        (LEFT, ends[1] + 0.14),
        f"Taken from the mains and into the tanks, {printed(unit.name)}",
        ha="left",
        weight="bold",
    )


def _name_peak(axes: Axes, days: np.ndarray, demand: np.ndarray, limit: float) -> None:
    """The hour of most demand, named above everything."""
    hour = int(demand.argmax())
    day = slice(hour // 24 * 24, hour // 24 * 24 + 24)
    x = 0.5 * (days[hour] + days[hour + 1])
    across = (x - days[0]) / (days[-1] - days[0])
    side = "left" if across < 0.3 else "right" if across > 0.7 else "center"
    axes.plot([x, x], [demand[hour], 0.88 * limit], color=LINE, lw=1.2, zorder=7)
    words = (
        f"peak hour {hour % 24:02d}:00: {demand[hour] / demand[day].mean():.1f} times that "
        "day's mean"
    )
    write(axes, (x, 0.94 * limit), words, ha=side, weight="bold")


def _draw_tanks(
    picture: Picture,
    days: np.ndarray,
    level: np.ndarray,
    ends: tuple[float, float],
    *,
    full: float,
    units: System,
) -> None:
    """Water in the tanks, with the line at which they are full."""
    axes = panel(picture, *ends, (days[0], days[-1]))
    limit = 1.12 * full
    unit = display_unit("volume", units, largest=full)
    _scale(axes, limit, unit)
    _mark_days(axes, days, limit)
    axes.fill_between(days, level, color=RIVER, lw=0.0, zorder=2)
    axes.plot(days, level, color=LINE, lw=2.0, zorder=4, gid="level")
    axes.plot([days[0], days[-1]], [full, full], color=INK, lw=1.6, ls=(0, (6, 3)), zorder=5)
    inches = (ends[1] - ends[0]) / limit
    name_beside(
        picture,
        [ends[0] + height * inches for height in (full, float(level[-1]))],
        [f"full: {_volume(full, units)}", "in the tanks"],
        (ends[0] + 0.1, ends[1] - 0.1),
        [{"color": INK, "lw": 1.6, "ls": (0, (6, 3))}, {"facecolor": RIVER}],
    )
    write(
        picture.sheet,
        (LEFT, ends[1] + 0.14),
        f"In the storage tanks, {printed(unit.name)}",
        ha="left",
        weight="bold",
    )
    noons = days[12::24]
    axes.tick_params(axis="x", length=0, pad=5)
    axes.set_xticks(
        noons, [month_words(np.datetime64(int(noon), "D"), with_day=True) for noon in noons]
    )


def _scale(axes: Axes, limit: float, unit: DisplayUnit) -> None:
    """An upright axis from nothing to the limit, marked in round numbers of the shown unit."""
    axes.set_ylim(0.0, limit)
    marks = MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]).tick_values(0.0, 0.9 * limit * unit.factor)
    axes.set_yticks([mark / unit.factor for mark in marks if mark <= limit * unit.factor])
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: figures(value * unit.factor)))


def _mark_days(axes: Axes, days: np.ndarray, high: float) -> None:
    """A faint line at each midnight."""
    for midnight in days[24:-1:24]:
        axes.plot([midnight, midnight], [0.0, high], color=FAINT, lw=0.9, ls=(0, (1, 2)), zorder=4)


def _volume(volume: float, units: System) -> str:
    return printed(format_quantity(volume, "volume", units))
