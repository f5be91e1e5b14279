"""A measure over a grid of two keys, as a map of values for each town."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.colors import ListedColormap
from matplotlib.patches import Rectangle

from hydroloop.charts.colours import INK, LINE, MARK, WALL, shade
from hydroloop.charts.picture import HEIGHT, WIDTH, Picture, house_style, write
from hydroloop.charts.varied import Drawn, Varied
from hydroloop.errors import AskError, Problem
from hydroloop.units.printing import figures

MOST_TOWNS = 6
"""Maps that one picture has room for."""
_COLOURS = ListedColormap([shade(k / 255.0) for k in range(256)])
_RIGHT, _SCALE = 11.6, 12.0
_WIDEST = 2.6  # room for the values of the key that goes down [in]
_GAP = 0.3
_NOTHING = 1e-9  # what rounding leaves of nothing, as it is shown


class _Frame(NamedTuple):
    """Where one map stands [in]."""

    left: float
    low: float
    wide: float
    high: float


@house_style
def heat_map(
    values: np.ndarray,
    towns: Sequence[str],
    down: Varied,
    across: Varied,
    measure: Drawn,
    *,
    caption: str,
) -> Picture:
    """A measure, shape (down, across, town), over two keys: a cell for each run, the deeper the
    more, on one scale for at most six towns; NaN where it is not known."""
    if not 0 < len(towns) <= MOST_TOWNS or not np.isfinite(values).any():
        raise AskError(
            Problem(
                "heat_map",
                f"{len(towns)} towns cannot be drawn.",
                f"Give 1 to {MOST_TOWNS}, with values.",
            )
        )
    title = f"{measure.words[:1].upper()}{measure.words[1:]} by {down.words} and {across.words}"
    picture = Picture(title, caption)
    values = np.where(np.abs(values) <= _NOTHING, 0.0, values)
    values, down = _rising(values, down, 0)
    values, across = _rising(values, across, 1)
    ends = float(np.nanmin(values)), float(np.nanmax(values))
    left = 0.75 + min(_WIDEST, max(map(picture.text_width, _texts(picture, down, _WIDEST))))
    frames = _frames(len(towns), left, picture.floor + 0.95, HEIGHT - 0.85)
    for number, (town, frame) in enumerate(zip(towns, frames, strict=True)):
        _draw_map(picture, frame, values[..., number], ends)
        axes = picture.axes[-1]
        axes.set_gid(town)
        _frame_now(axes, down, across)
        write(
            picture.sheet,
            (frame.left + frame.wide / 2, frame.low + frame.high + 0.2),
            town,
            size=15,
            weight="bold",
            va="center_baseline",
        )
        lowest = frame.low == min(one.low for one in frames if one.left == frame.left)
        _mark(picture, axes.xaxis, across, frame.wide, show=lowest)
        _mark(picture, axes.yaxis, down, frame.high, show=frame.left == left)
    write(picture.sheet, ((left + _RIGHT) / 2, picture.floor + 0.25), across.label, size=15)
    write(
        picture.sheet,
        (0.35, (frames[0].low + frames[0].high + frames[-1].low) / 2),
        down.label,
        size=15,
        rotation=90,
    )
    _draw_scale(picture, measure, ends, (frames[-1].low, frames[0].low + frames[0].high))
    return picture


def _rising(values: np.ndarray, key: Varied, axis: int) -> tuple[np.ndarray, Varied]:
    """Numbers in rising order, so that a map reads like a graph; words as they were given."""
    if not key.is_number:
        return values, key
    order = np.argsort(np.array(key.values, dtype=float), kind="stable")
    return np.take(values, order, axis), replace(
        key, values=tuple(float(key.values[place]) for place in order)
    )


def _frames(count: int, left: float, low: float, high: float) -> list[_Frame]:
    """Maps side by side, in two rows from four on."""
    rows = 1 if count <= 3 else 2
    columns = math.ceil(count / rows)
    wide = (_RIGHT - left - (columns - 1) * _GAP) / columns
    tall = (high - low) / rows - 0.4
    return [
        _Frame(
            left + (number % columns) * (wide + _GAP),
            high - (number // columns + 1) * (tall + 0.4),
            wide,
            tall,
        )
        for number in range(count)
    ]


def _draw_map(
    picture: Picture, frame: _Frame, values: np.ndarray, ends: tuple[float, float]
) -> None:
    """Cells, with their values where they fit."""
    axes = picture.add_axes(
        (frame.left / WIDTH, frame.low / HEIGHT, frame.wide / WIDTH, frame.high / HEIGHT)
    )
    top = ends[1] if ends[1] > ends[0] else ends[0] + 1.0
    rows, columns = values.shape
    axes.pcolormesh(
        np.arange(columns + 1),
        np.arange(rows + 1),
        values,
        cmap=_COLOURS,
        vmin=ends[0],
        vmax=top,
        edgecolors=LINE,
        lw=0.6,
    )
    axes.set_facecolor(WALL)  # a cell without a value
    axes.tick_params(length=0, labelsize=14)
    texts = {
        at: figures(value) if math.isfinite(value) else "–" for at, value in np.ndenumerate(values)
    }
    widest = max(picture.text_width(text) for text in texts.values())
    if widest + 0.12 > frame.wide / columns or frame.high / rows < 0.32:
        return
    for (row, column), text in texts.items():
        value = float(values[row, column])
        ground = shade((value - ends[0]) / (top - ends[0])) if math.isfinite(value) else WALL
        write(axes, (column + 0.5, row + 0.5), text, on=ground)


def _frame_now(axes: Axes, down: Varied, across: Varied) -> None:
    """A frame round the cell of the scenario as it is, where that was run."""
    row, column = down.place_now, across.place_now
    if row is not None and column is not None:
        axes.add_patch(
            Rectangle(
                (column, row),
                1,
                1,
                fill=False,
                edgecolor=MARK,
                lw=4,
                zorder=6,
                clip_on=False,
                gid="now",
            )
        )


def _mark(picture: Picture, axis: object, key: Varied, room: float, *, show: bool) -> None:
    """Values of a key at the middles of its cells, as many as there is room for."""
    upright = axis.axis_name == "y"  # type: ignore[attr-defined]
    texts = _texts(picture, key, _WIDEST if upright else max(0.8, room / len(key.values)))
    each = 0.3 if upright else max(map(picture.text_width, texts)) + 0.15
    every = max(1, math.ceil(each * len(texts) / room))
    places = range(0, len(texts), every)
    shown = [texts[place] for place in places] if show else []
    axis.set_ticks([place + 0.5 for place in places], shown)  # type: ignore[attr-defined]


def _texts(picture: Picture, key: Varied, room: float) -> list[str]:
    """Values of a key, words cut to the room there is."""
    return [picture.cut(key.text(place), room) for place in range(len(key.values))]


def _draw_scale(
    picture: Picture, measure: Drawn, ends: tuple[float, float], span: tuple[float, float]
) -> None:
    """The scale of colours, with its ends."""
    low, high = span[0] + 0.35, span[1] - 0.35
    axes: Axes = picture.add_axes(
        (_SCALE / WIDTH, low / HEIGHT, 0.4 / WIDTH, (high - low) / HEIGHT)
    )
    axes.pcolormesh([0, 1], np.linspace(0, 1, 257), np.arange(256)[:, None] / 255.0, cmap=_COLOURS)
    axes.set(xticks=[], yticks=[])
    for spine in axes.spines.values():
        spine.set(color=INK, lw=0.8)
    unit = f" {measure.unit}" if measure.unit else ""
    for y, value, away in ((low - 0.2, ends[0], -0.12), (high + 0.2, ends[1], 0.12)):
        said = f"{figures(value)}{unit}"
        if picture.text_width(said) > 2.0 * (_SCALE - _RIGHT):  # it would reach into the maps
            said, y = said.replace(" ", "\n", 1), y + away
        write(picture.sheet, (_SCALE + 0.2, y), said, va="center_baseline")
