"""A measure of every town as one key takes several values."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.ticker import FuncFormatter, MaxNLocator

from hydroloop.charts.colours import FAINT, LINES, WALL
from hydroloop.charts.picture import HEIGHT, WIDTH, Picture, house_style, write
from hydroloop.charts.season_axes import LEFT, RIGHT, name_beside
from hydroloop.charts.varied import Drawn, Varied
from hydroloop.errors import AskError, Problem
from hydroloop.units.printing import figures

MOST_TOWNS = 15
"""Lines that can be named beside one panel."""
_MARKERS, _DASHES = "osD^vP", ("-", (0, (6, 2)), (0, (2, 1.5)), (0, (6, 2, 1, 2)))


@house_style
def lines(
    values: np.ndarray, towns: Sequence[str], along: Varied, measure: Drawn, *, caption: str
) -> Picture:
    """A measure, shape (value, town), against a key: a line for each town, a mark for each run."""
    if len(values) < 2 or not 0 < len(towns) <= MOST_TOWNS:
        raise AskError(
            Problem(
                "lines",
                f"{len(values)} values for {len(towns)} towns cannot be drawn.",
                f"Give at least two values, and 1 to {MOST_TOWNS} towns.",
            )
        )
    picture = Picture(
        f"{measure.words[:1].upper()}{measure.words[1:]} against {along.words}", caption
    )
    low, high = picture.floor + 0.95, HEIGHT - 1.45
    axes = picture.add_axes(
        (LEFT / WIDTH, low / HEIGHT, (RIGHT - LEFT) / WIDTH, (high - low) / HEIGHT)
    )
    places = _places(along)
    order = np.argsort(places, kind="stable")
    limits = _limits(values)
    _draw_axes(picture, axes, along, places, limits)
    _draw_now(picture, axes, along, high)
    write(picture.sheet, (0.3, high + 0.55), measure.label, size=15, ha="left")
    write(picture.sheet, ((LEFT + RIGHT) / 2, picture.floor + 0.3), along.label, size=15)
    ends, names, looks = [], [], []
    for number, town in enumerate(towns):
        there = order[np.isfinite(values[order, number])]
        if not there.size:
            continue
        look: dict[str, Any] = {
            "color": LINES[number % len(LINES)],
            "ls": _DASHES[number % len(_DASHES)],
            "marker": _MARKERS[number % len(_MARKERS)],
            "lw": 2.6,
            "ms": 10,
        }
        axes.plot(
            places[there], values[there, number], gid=town, clip_on=False, zorder=3 + number, **look
        )
        looks.append(look)
        inches = (high - low) / (limits[1] - limits[0])
        ends.append(low + (float(values[there[-1], number]) - limits[0]) * inches)
        names.append(town)
    name_beside(picture, ends, names, (low, high), looks)
    return picture


def _places(along: Varied) -> np.ndarray:
    """Where the values stand: to scale, or side by side where they are words."""
    if along.is_number:
        return np.array(along.values, dtype=float)
    return np.arange(len(along.values), dtype=float)


def _draw_now(picture: Picture, axes: Axes, along: Varied, high: float) -> None:
    """A thread at the scenario's own value, where it lies among those that were run."""
    if not along.is_number or along.now is None:
        return
    left, right = axes.get_xlim()
    across = (along.now - left) / (right - left)
    if not 0.0 <= across <= 1.0:
        return
    axes.axvline(along.now, color=FAINT, lw=1.4, ls=(0, (3, 3)), zorder=1, gid="now")
    write(picture.sheet, (LEFT + across * (RIGHT - LEFT), high + 0.17), "now", va="center_baseline")


def _limits(values: np.ndarray) -> tuple[float, float]:
    """From zero where the values reach near it, else a little wider than they lie."""
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    if 0.0 <= low < 0.6 * high or high == low == 0.0:
        low = 0.0
    room = 0.08 * (high - low) or 0.1 * abs(high) or 1.0
    return (low if low == 0.0 else low - room), high + room


def _have_room(picture: Picture, places: np.ndarray, texts: Sequence[str]) -> bool:
    """Whether every run's own value can be written below it."""
    scale = (RIGHT - LEFT) / (1.08 * float(np.ptp(places)) or 1.0)
    closest = float(np.diff(np.sort(places)).min()) * scale
    return closest > max(map(picture.text_width, texts)) + 0.15


def _draw_axes(
    picture: Picture, axes: Axes, along: Varied, places: np.ndarray, limits: tuple[float, float]
) -> None:
    wide = float(np.ptp(places))
    axes.set(ylim=limits, xlim=(places.min() - 0.04 * wide, places.max() + 0.04 * wide))
    axes.spines[["top", "right"]].set_visible(False)
    axes.tick_params(labelsize=14, length=4)
    axes.grid(axis="y", color=WALL, lw=1.5, zorder=0)
    axes.yaxis.set_major_locator(MaxNLocator(5, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: figures(value)))
    texts = [along.text(place) for place in range(len(places))]
    if not along.is_number:
        axes.set_xlim(-0.5, wide + 0.5)
        room = (RIGHT - LEFT) / (wide + 1.0) - 0.15
        axes.set_xticks(places, [picture.cut(text, room) for text in texts])
        return
    if _have_room(picture, places, texts):
        axes.set_xticks(places, texts)
        return
    axes.xaxis.set_major_locator(MaxNLocator(6, steps=[1, 2, 2.5, 5, 10]))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: figures(value)))
