"""Axes of the season's picture: panels one below the other with one time axis."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any, NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.dates import date2num
from matplotlib.patches import Rectangle

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
    axes = picture.add_axes(
        (LEFT / WIDTH, low / HEIGHT, (RIGHT - LEFT) / WIDTH, (high - low) / HEIGHT)
    )
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
        marks.append(
            Mark(
                float(date2num(month.astype("datetime64[D]"))),
                words if now == year else f"{words}\n{now}",
            )
        )
        year = now
    return marks


def name_beside(
    picture: Picture,
    heights: Sequence[float],
    words: Sequence[str],
    ends: tuple[float, float],
    samples: Sequence[Mapping[str, Any]],
) -> None:
    """Labels right of a panel, as near as may be to the heights they belong to [in], each after a
    sample of its area (with a `facecolor`) or line: threads would meet in a point where areas are
    thin."""
    order = np.argsort(heights, kind="stable")
    places = spread([heights[row] for row in order], _ROW, *ends)
    for row, y in zip(order, map(float, places), strict=True):
        if "facecolor" in samples[row]:
            picture.sheet.add_patch(
                Rectangle(
                    (RIGHT + 0.08, y - 0.09),
                    0.26,
                    0.18,
                    lw=1.0,
                    **{"edgecolor": LINE, **samples[row]},
                )
            )
        else:
            picture.sheet.plot(
                [RIGHT + 0.04, RIGHT + 0.21, RIGHT + 0.38], [y] * 3, markevery=[1], **samples[row]
            )
        write(picture.sheet, (RIGHT + 0.46, y), words[row], ha="left", va="center_baseline")
