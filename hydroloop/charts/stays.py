"""How long water stays in each part, from minutes to years, on one scale."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from hydroloop.charts.colours import BAR, INK, LINE, MARK
from hydroloop.charts.picture import HEIGHT, WIDTH, Picture, house_style, write
from hydroloop.charts.words import time_words
from hydroloop.errors import AskError, Problem

_TICKS = {
    "1 min": 1 / 1440,
    "10 min": 1 / 144,
    "1 hour": 1 / 24,
    "1 day": 1.0,
    "1 month": 30.4,
    "1 year": 365.25,
    "10 years": 3652.5,
    "100 years": 36525.0,
}
_MOST = 26
_LEFT, _RIGHT = 3.6, 1.4


class Stay(NamedTuple):
    """One part.

    Attributes
    ----------
    part : str
        What it is called.
    days : float
        Turnover time [d].
    is_town : bool
        Whether it is one of the town's works, and not of the river or the ground.
    """

    part: str
    days: float
    is_town: bool


def stay_words(days: float) -> str:
    """A length of time from minutes to years.

    Examples
    --------
    >>> stay_words(0.01), stay_words(3652.5)
    ('14 min', '10 years')
    """
    return time_words(days) if days < 700 else f"{days / 365.25:.0f} years"


@house_style
def stays(parts: Sequence[Stay], place: str, *, caption: str) -> Picture:
    """Turnover times of a town's works, its river and its ground on one scale.

    A bar for each part, shortest first; each mark of the scale is a leap of ten times and more.
    What is in a part is mixed: some water leaves at once, some stays much longer.

    Parameters
    ----------
    parts : sequence of Stay
        Parts, at most twenty-six.
    place : str
        The town in words.
    caption : str
        The same in words.

    Returns
    -------
    Picture
        A matplotlib figure with `title` and `caption`.

    Raises
    ------
    AskError
        There is nothing to draw, or too much.

    Examples
    --------
    >>> stays([Stay("rapid mix", 0.001, True), Stay("aquifer", 4000.0, False)], "Larkmill",
    ...       caption=".").title
    'How long water stays on its way through Larkmill'
    """
    shown = sorted((one for one in parts if one.days > 0.0), key=lambda one: one.days)
    if not 0 < len(shown) <= _MOST:
        raise AskError(
            Problem("stays", f"{len(shown)} parts cannot be drawn.", f"Give 1 to {_MOST}.")
        )
    picture = Picture(f"How long water stays on its way through {place}", caption)
    low, high = picture.floor + 0.5, HEIGHT - 0.75
    axes = picture.add_axes(
        (_LEFT / WIDTH, low / HEIGHT, (WIDTH - _LEFT - _RIGHT) / WIDTH, (high - low) / HEIGHT)
    )
    least = min(min(_TICKS.values()), 0.7 * shown[0].days)
    most = max(365.25, 1.5 * shown[-1].days)
    axes.set(xscale="log", xlim=(least, most), ylim=(len(shown) - 0.4, -0.6))
    marks = {words: days for words, days in _TICKS.items() if least <= days <= most}
    axes.set_xticks(list(marks.values()), list(marks), fontsize=14)
    axes.minorticks_off()
    axes.set_yticks([])
    axes.grid(axis="x", color="#d5dbde", linewidth=0.8)
    axes.set_axisbelow(True)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    height = (high - low) / len(shown)
    for row, one in enumerate(shown):
        axes.barh(
            row,
            one.days - least,
            left=least,
            height=0.62,
            color=BAR if one.is_town else "#ffffff",
            edgecolor=LINE if one.is_town else MARK,
            hatch=None if one.is_town else "//",
            linewidth=1.0,
        )
        axes.annotate(
            stay_words(one.days),
            (one.days, row),
            xytext=(5, 0),
            textcoords="offset points",
            va="center",
            fontsize=14,
            color=INK,
        )
        write(
            picture.sheet,
            (_LEFT - 0.12, high - (row + 0.6 - 0.1) * height),
            picture.cut(one.part, _LEFT - 0.3),
            ha="right",
        )
    return picture
