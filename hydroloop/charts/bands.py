"""Bands of a town's measures over many runs, and what they depend on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle
from matplotlib.ticker import FuncFormatter, MaxNLocator

from hydroloop.charts.colours import ADDED, BAR, FAINT, INK, LINE, MARK, WALL
from hydroloop.charts.picture import HEIGHT, WIDTH, Picture, house_style, write
from hydroloop.charts.varied import Drawn
from hydroloop.charts.words import printed
from hydroloop.errors import AskError, Problem
from hydroloop.units.printing import figures

MOST_ROWS = 5
"""Measures that one picture has room for."""
_WORDS, _LEFT, _RIGHT = 0.25, 3.6, 7.95
_HANGS, _LONG = 8.4, 4.6
_TOP = HEIGHT - 1.25


@dataclass(frozen=True)
class Band:
    """The band of one measure."""

    drawn: Drawn  # words and unit of the measure
    # what 5, 25, 50, 75 and 95 % of the runs stay below, as shown
    levels: tuple[float, float, float, float, float]
    # inputs and their rank correlations with the measure, the strongest first [-]
    hangs: tuple[tuple[str, float], ...] = ()
    # what stands there where it depends on none
    else_said: str = "nothing that stands out from chance"


@house_style
def bands(town: str, rows: Sequence[Band], *, caption: str) -> Picture:
    """Bands of a town's measures (at most five) over many runs: the broad bar holds the middle half
    of the runs, the thin one nine tenths, the mark is the median."""
    if not 0 < len(rows) <= MOST_ROWS:
        raise AskError(
            Problem("bands", f"{len(rows)} measures cannot be drawn.", f"Give 1 to {MOST_ROWS}.")
        )
    picture = Picture(f"How sure is it? Bands for {town}", caption)
    _draw_key(picture, _TOP + 0.28)
    write(
        picture.sheet,
        (_WORDS, _TOP + 0.28),
        "middle run (9 of 10 runs)",
        size=16,
        ha="left",
        weight="bold",
        va="center_baseline",
    )
    write(
        picture.sheet,
        (_HANGS, _TOP + 0.28),
        "with more of this: less ← → more",
        size=16,
        ha="left",
        weight="bold",
        va="center_baseline",
    )
    high = min(1.5, (_TOP - picture.floor - 0.1) / len(rows))
    for number, row in enumerate(rows):
        top = _TOP - number * high
        _name(picture, row, top - 0.42 * high)
        _draw_band(picture, row, top, high)
        _draw_hangs(picture, row, top, high)
    return picture


def _draw_key(picture: Picture, y: float) -> None:
    """What the bars stand for."""
    x = _LEFT
    for words, wide, thick, fill in (
        ("9 of 10 runs lie here", 0.5, 0.14, WALL),
        ("half", 0.3, 0.26, BAR),
        ("middle", 0.06, 0.3, MARK),
    ):
        picture.sheet.add_patch(
            Rectangle((x, y - thick / 2), wide, thick, facecolor=fill, edgecolor=LINE, lw=1.2)
        )
        write(picture.sheet, (x + wide + 0.08, y), words, ha="left", va="center_baseline")
        x += wide + 0.23 + picture.text_width(words)


def _name(picture: Picture, row: Band, middle: float) -> None:
    """The measure, and its median with the ends of the band."""
    unit = printed(row.drawn.unit)
    low, _, median, _, high = (figures(level) for level in row.levels)
    band = (
        f"{median} {unit}".rstrip()
        if low == high
        else f"{median} ({low} to {high}) {unit}".rstrip()
    )
    room = _LEFT - _WORDS - 0.3
    lines = [*picture.wrapped(row.drawn.words, 15.0, room), band]
    if picture.text_width(band, 15.0) > room:
        lines[-1:] = [f"{median} {unit}".rstrip(), f"({low} to {high})"]
    write(picture.sheet, (_WORDS, middle), "\n".join(lines), size=15, ha="left")


def _draw_band(picture: Picture, row: Band, top: float, high: float) -> None:
    """Its own scale, the bars on it, the mark of the median."""
    axes: Axes = picture.add_axes(
        (
            _LEFT / WIDTH,
            (top - high + 0.42) / HEIGHT,
            (_RIGHT - _LEFT) / WIDTH,
            (high - 0.5) / HEIGHT,
        )
    )
    low, lower, median, upper, highest = row.levels
    wide = highest - low or max(0.1 * abs(median), 1e-3)
    # No scale goes below nothing, or above all of it.
    left = low - 0.12 * wide if low < 0.0 else max(low - 0.12 * wide, -0.02 * wide)
    right = highest + 0.12 * wide
    if row.drawn.unit == "%":
        right = min(right, 100.0 + 0.02 * wide)
    axes.set(xlim=(left, right), ylim=(0, 1), yticks=[])
    axes.spines[["top", "right", "left"]].set_visible(False)
    axes.tick_params(labelsize=14, length=4)
    axes.xaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: _mark(value)))
    for start, end, thick, fill, gid in (
        (low, highest, 0.34, WALL, "nine tenths"),
        (lower, upper, 0.72, BAR, "middle half"),
    ):
        axes.add_patch(
            Rectangle(
                (start, 0.5 - thick / 2),
                end - start,
                thick,
                facecolor=fill,
                edgecolor=LINE,
                lw=1.2,
                zorder=3,
                gid=gid,
            )
        )
    axes.plot(
        [median, median],
        [0.06, 0.94],
        color=MARK,
        lw=4,
        zorder=4,
        gid="median",
        solid_capstyle="butt",
    )


def _mark(value: float) -> str:
    """A round number of a scale in all its figures: on a narrow one three are alike."""
    return f"{round(value, 12) + 0.0:,.12g}"


def _draw_hangs(picture: Picture, row: Band, top: float, high: float) -> None:
    """The two inputs that matter most, each with its bar from the middle: right is more."""
    middle = _HANGS + _LONG / 2
    if not row.hangs:
        write(picture.sheet, (_HANGS, top - 0.42 * high), row.else_said, ha="left")
        return
    for place, (words, size) in enumerate(row.hangs[:2]):
        y = top - 0.1 - place * min(0.55, (high - 0.12) / 2)
        said = picture.cut(words, WIDTH - _HANGS - 0.85)
        write(picture.sheet, (_HANGS, y), said, ha="left", va="center_baseline")
        y -= 0.24
        picture.sheet.plot([_HANGS, _HANGS + _LONG], [y, y], color=FAINT, lw=1, zorder=2)
        picture.sheet.plot([middle, middle], [y - 0.09, y + 0.09], color=INK, lw=1.4, zorder=4)
        picture.sheet.add_patch(
            Rectangle(
                (middle, y - 0.065),
                size * _LONG / 2,
                0.13,
                facecolor=ADDED,
                edgecolor=LINE,
                lw=1.2,
                zorder=3,
                gid="hangs",
            )
        )
