"""A picture: a figure of one width with a title above and its caption in words below."""

from __future__ import annotations

import re
import threading
from collections.abc import Callable
from functools import wraps
from itertools import accumulate
from typing import Any, ParamSpec, TypeVar

import matplotlib.style
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.text import Text

from hydroloop.charts.colours import INK, PAPER, ink_on

WIDTH, HEIGHT, DPI = 40.0 / 3.0, 7.5, 150  # a 16:9 slide in inches
SMALLEST = 14.0
"""Least size of letters: on a slide of this size the back row reads them [pt]."""

_MARGIN = 0.25
_STYLE = {
    "font.family": "DejaVu Sans",
    "font.size": SMALLEST,
    "text.color": INK,
    "text.parse_math": False,  # a "$" in a name is a dollar
    "axes.labelcolor": INK,
    "axes.edgecolor": INK,
    "xtick.color": INK,
    "ytick.color": INK,
    "hatch.linewidth": 0.8,
    "svg.fonttype": "none",
    "svg.hashsalt": "hydroloop",
}

_DRAWING = threading.RLock()

P = ParamSpec("P")
T = TypeVar("T")


def house_style(draw: Callable[P, T]) -> Callable[P, T]:
    """Let a function draw or save in the house style, whatever style the user has set.
    The style is set for the whole program while it lasts, so threads draw one after the other."""

    @wraps(draw)
    def styled(*args: P.args, **kwargs: P.kwargs) -> T:
        with _DRAWING, matplotlib.style.context(["default", _STYLE]):
            return draw(*args, **kwargs)

    return styled


class Picture(Figure):
    """A figure that knows its title and its caption, which `save` writes into the file too. `under`
    is a line below the title on what was changed; `sheet` has axes in inches from the lower left
    corner, and may be drawn on above `floor` [in], where the caption ends."""

    def __init__(self, title: str, caption: str):
        super().__init__(figsize=(WIDTH, HEIGHT), dpi=DPI, facecolor=PAPER)
        FigureCanvasAgg(self)
        self.title, self.caption, self.under = title, caption, ""
        self.sheet: Axes = self.add_axes((0.0, 0.0, 1.0, 1.0))
        self.height = HEIGHT
        self.sheet.set(xlim=(0, WIDTH), ylim=(0, HEIGHT))
        self.sheet.axis("off")
        self._write_title()
        self.floor = self._write_caption()

    def _write_title(self) -> None:
        room, size, line = WIDTH - 2 * _MARGIN, 25.0, self.title
        while size > SMALLEST and self.text_width(line, size, "bold") > room:
            size -= 1.0
        while self.text_width(line, size, "bold") > room:
            line = line[:-2] + "…"
        self._heading = write(
            self.sheet,
            (_MARGIN, HEIGHT - 0.17),
            line,
            size=size,
            weight="bold",
            ha="left",
            va="top",
        )

    def lower(self, height: float) -> None:
        """Cut the sheet to what is needed [in], before anything is drawn on it."""
        self.height = min(height, HEIGHT)
        self.set_size_inches(WIDTH, self.height)
        self.sheet.set_ylim(0, self.height)
        self._heading.set_y(self.height - 0.17)

    @house_style
    def say_changed(self, words: str) -> None:
        """Say below the title, once, what was changed; nothing if `words` is empty."""
        if not words or self.under:
            return
        self.under = self.cut(words, WIDTH - 2 * _MARGIN)
        self._heading.set(y=self.height - 0.12, fontsize=min(21.0, self._heading.get_fontsize()))
        write(
            self.sheet,
            (_MARGIN, self.height - 0.59),
            self.under,
            ha="left",
            style="italic",
            va="center_baseline",
        )

    @property
    def alternative(self) -> str:
        """The picture for those who cannot see it: title, what was changed, caption."""
        said = (self.title, self.under, self.caption)
        return " ".join(
            words if words.endswith((".", "?", "…")) else f"{words}." for words in said if words
        )

    def _write_caption(self) -> float:
        size = 15.0
        lines = self.wrapped(self.caption, size, WIDTH - 2 * _MARGIN)
        if len(lines) > 3:
            size = SMALLEST
            lines = self.wrapped(self.caption, size, WIDTH - 2 * _MARGIN)
        write(self.sheet, (_MARGIN, 0.12), "\n".join(lines), size=size, ha="left", va="bottom")
        return 0.12 + len(lines) * size * 1.22 / 72 + 0.12

    def text_width(self, words: str, size: float = SMALLEST, weight: str = "normal") -> float:
        """Width of one line of text [in]."""
        font = FontProperties(family="DejaVu Sans", size=size, weight=weight)
        renderer = self.canvas.get_renderer()  # type: ignore[attr-defined]
        return float(renderer.get_text_width_height_descent(words, font, False)[0]) / DPI

    def cut(self, words: str, room: float, size: float = SMALLEST) -> str:
        """One line of text that is no wider than `room` [in], cut where it must be."""
        while len(words) > 2 and self.text_width(words, size) > room:
            words = words[:-2] + "…"
        return words

    def wrapped(self, words: str, size: float, width: float, weight: str = "normal") -> list[str]:
        """Text in lines that are no wider than `width` [in]."""

        def fits(count: int) -> bool:
            line = " ".join(left[:count])
            return count < 2 or self.text_width(line, size, weight) <= width

        # A number stays with what follows it: its unit.
        lines, left = [], re.split(r"(?<!\d) ", words)
        # Measuring takes long, so that each line is begun with a guess by its letters.
        letters = width * max(1, len(words)) / max(1e-6, self.text_width(words, size, weight))
        while left:
            ends = accumulate(len(word) + 1 for word in left)
            count = max(1, sum(end <= letters for end in ends))
            while count < len(left) and fits(count + 1):
                count += 1
            while not fits(count):
                count -= 1
            lines.append(" ".join(left[:count]))
            left = left[count:]
        return lines


def write(
    axes: Axes,
    at: tuple[float, float],
    words: str,
    *,
    on: str = PAPER,
    size: float = SMALLEST,
    **how: Any,
) -> Text:
    """Text, on top of all else, in the ink that can be read on its ground; `at` is in the
    coordinates of the axes unless `how` has a transform."""
    how = {"ha": "center", "va": "center", "zorder": 20, "linespacing": 1.2, **how}
    return axes.text(*at, words, fontsize=size, color=ink_on(on), **how)
