"""Axes of the season's picture: panels one below the other with one time axis."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.dates import date2num

from hydroloop.charts.colours import LINE
from hydroloop.charts.picture import HEIGHT, WIDTH, Picture, write
from hydroloop.charts.spreading import spread
from hydroloop.charts.words import month_words

LEFT, RIGHT = 1.15, 9.75
"""Where the time axis begins and ends [in]."""
_ROW = 0.29


class Mark(NamedTuple):
    """A tick of the time axis: when, and what is written there."""

    at: float
    words: str


def panel(picture: Picture, low: float, high: float, days: tuple[float, float]) -> Axes:
    """Axes between two heights [in] over the time from the first to the last day."""
    axes = picture.add_axes((LEFT / WIDTH, low / HEIGHT, (RIGHT - LEFT) / WIDTH,
                             (high - low) / HEIGHT))  # fmt: skip
    axes.set_xlim(days)
    axes.tick_params(labelsize=14, length=4)
    axes.spines[["top", "right"]].set_visible(False)
    axes.set_xticks([])
    return axes


def name_months(axes: Axes, time: np.ndarray) -> None:
    """Months along the lowest panel, days where the season is short."""
    marks = time_marks(time)
    axes.tick_params(axis="x", pad=9)
    axes.set_xticks([mark.at for mark in marks], [mark.words for mark in marks])


def time_marks(time: np.ndarray) -> list[Mark]:
    """Ticks of the time axis, at most a dozen; the year stands at the first and at January."""
    days = np.unique(time.astype("datetime64[D]"))
    starts = np.unique(days.astype("datetime64[M]"))[0 if days[0].astype(object).day == 1 else 1 :]
    if len(starts) < 3:
        wide = -(-len(days) // 7)
        return [Mark(float(date2num(day)), month_words(day, with_day=True)) for day in days[::wide]]
    every = -(-len(starts) // 12)
    marks, year = [], ""
    for month in starts[::every]:
        words, now = month_words(month), str(month)[:4]
        marks.append(Mark(float(date2num(month.astype("datetime64[D]"))),
                          words if now == year else f"{words}\n{now}"))  # fmt: skip
        year = now
    return marks


def name_beside(picture: Picture, heights: list[float], words: list[str],
                ends: tuple[float, float]) -> None:
    """Labels right of a panel, joined by lines to the heights they belong to [in]."""
    order = np.argsort(heights, kind="stable")
    wanted = [heights[row] for row in order]
    for row, y, height in zip(order, spread(wanted, _ROW, *ends), wanted, strict=True):
        picture.sheet.plot([RIGHT + 0.03, RIGHT + 0.1, RIGHT + 0.3, RIGHT + 0.36],
                           [height, height, y, y], lw=1.2, color=LINE)  # fmt: skip
        write(picture.sheet, (RIGHT + 0.42, float(y)), words[row], ha="left", va="center_baseline")
