"""A class's plans: targets met against points spent, with the best trade-offs joined."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from matplotlib.ticker import MaxNLocator

from hydroloop.charts.colours import BAR, FAINT, INK, LINE, MARK
from hydroloop.charts.picture import HEIGHT, WIDTH, Picture, house_style, write
from hydroloop.charts.spreading import spread

_LEFT, _RIGHT = 1.05, 3.5
_MOST_NAMED = 18


class Mark(NamedTuple):
    """One plan on the board.

    Attributes
    ----------
    name : str
        What it is called.
    points, score : float
        What it costs, and the share of the targets that it meets by weight [-].
    is_best : bool
        Whether it is one of the best trade-offs.
    """

    name: str
    points: float
    score: float
    is_best: bool


@house_style
def board(marks: Sequence[Mark], budget: float, *, caption: str) -> Picture:
    """Targets met against points spent.

    A mark for each plan: high and to the left is best. A line joins the best trade-offs, which no
    other plan beats in both; plans beside each other on it are different answers to what matters.

    Parameters
    ----------
    marks : sequence of Mark
        Plans.
    budget : float
        Points that there are.
    caption : str
        The same in words.

    Returns
    -------
    Picture
        A matplotlib figure with `title` and `caption`.

    Examples
    --------
    >>> board([Mark("Heron", 40.0, 0.7, True)], 100.0, caption=".").title
    'Targets met against points spent'
    """
    picture = Picture("Targets met against points spent", caption)
    low, high = picture.floor + 0.85, HEIGHT - 0.75
    axes = picture.add_axes(
        (_LEFT / WIDTH, low / HEIGHT, (WIDTH - _LEFT - _RIGHT) / WIDTH, (high - low) / HEIGHT)
    )
    end = max([budget, *(one.points for one in marks)]) or 1.0
    axes.set(xlim=(-0.03 * end, 1.05 * end), ylim=(-5, 106))
    axes.set_xlabel("points spent", fontsize=15)
    axes.set_ylabel("targets met, by weight [%]", fontsize=15)
    axes.xaxis.set_major_locator(MaxNLocator(8))
    axes.set_yticks(range(0, 101, 20))
    axes.grid(color="#d5dbde", linewidth=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    axes.axvline(budget, color=FAINT, linestyle=(0, (4, 3)), linewidth=1.2)
    best = sorted((one for one in marks if one.is_best), key=lambda one: one.points)
    axes.plot(
        [one.points for one in best],
        [100 * one.score for one in best],
        color=MARK,
        linewidth=1.6,
        drawstyle="steps-post",
        zorder=2,
    )
    for one in marks:
        axes.plot(
            one.points,
            100 * one.score,
            marker="D" if one.is_best else "o",
            markersize=11 if one.is_best else 9,
            color=MARK if one.is_best else BAR,
            markeredgecolor=INK,
            linestyle="none",
            zorder=3,
        )
    _name(picture, marks, (low, high), end)
    return picture


def _name(picture: Picture, marks: Sequence[Mark], room: tuple[float, float], end: float) -> None:
    """Names beside the picture, each joined to its mark; of very many the best alone."""
    named = list(marks) if len(marks) <= _MOST_NAMED else [one for one in marks if one.is_best]
    low, high = room
    span = high - low

    def height(one: Mark) -> float:
        return low + (100 * one.score + 5) / 111 * span

    named = sorted(named, key=lambda one: (one.score, -one.points))[-_MOST_NAMED:]
    heights = spread([height(one) for one in named], 0.3, low, high)
    edge = WIDTH - _RIGHT
    for one, at in zip(named, np.asarray(heights), strict=True):
        x = _LEFT + (one.points / end + 0.03) / 1.08 * (edge - _LEFT)
        picture.sheet.plot(
            [x, edge + 0.1, edge + 0.3], [height(one), at, at], color=LINE, linewidth=0.5, zorder=1
        )
        write(
            picture.sheet,
            (edge + 0.35, float(at)),
            picture.cut(one.name, _RIGHT - 0.6),
            ha="left",
            va="center_baseline",
            weight="bold" if one.is_best else "normal",
        )
