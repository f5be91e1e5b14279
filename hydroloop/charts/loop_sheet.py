"""What the loop is drawn with: bands to scale, boxes for stores, labels with numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from matplotlib.patches import FancyBboxPatch, Polygon

from hydroloop.charts.colours import LINE, PAPER
from hydroloop.charts.picture import Picture, write
from hydroloop.charts.ribbons import Point, ribbon
from hydroloop.charts.town_flows import TownFlows
from hydroloop.charts.words import flow_words, time_words
from hydroloop.units import DisplayUnit

WIDEST_BRANCH = 0.45
"""A branch that would be wider is drawn this wide, with a mark [in]."""
HALF_BOX = 0.43
"""Half the height of a store of two lines [in]."""
HEAD = 0.2
"""Length of the longest arrow head [in]."""
LEAST_SHOWN = 0.005
"""Smaller flows are left out, as a share of the loop's largest [-]."""


@dataclass
class Sheet:
    """The picture in the making."""

    picture: Picture  # figure to draw on
    flows: TownFlows  # what to draw
    inches: float  # width of a band of 1 m3/d [in]
    least: float  # smaller flows are left out [m3/d]
    unit: DisplayUnit  # unit of all labels
    # heights of the two rows of the loop [in]
    top: float
    bottom: float
    cuts: int = 0  # bands drawn narrower than to scale so far

    def width(self, rate: float) -> float:
        """Width of a band of the loop [in]."""
        return rate * self.inches

    def shows(self, rate: float) -> bool:
        """Whether a flow is large enough to be drawn."""
        return rate > self.least

    def rate(self, rate: float) -> str:
        """A flow with its unit."""
        return flow_words(rate, self.unit, largest=self.least / LEAST_SHOWN)

    def band(
        self,
        points: Sequence[Point],
        rate: float,
        colour: str,
        *,
        depth: float = 3.0,
        head: bool = False,
    ) -> None:
        """A band of the loop, to scale."""
        self._fill(points, self.width(rate), colour, depth, head)

    def branch(
        self,
        points: Sequence[Point],
        rate: float,
        colour: str,
        *,
        head: bool = True,
        depth: float = 2.0,
    ) -> float:
        """A band that leaves or joins the loop, struck where it is cut; returns its width [in]."""
        width = self.branch_width(rate)
        self._fill(points, width, colour, depth, head)
        if width < self.width(rate):
            self._mark(points, width, depth)
        return width

    def branch_width(self, rate: float) -> float:
        """Width of a branch as drawn [in]."""
        return min(self.width(rate), WIDEST_BRANCH)

    def box(self, left: float, middle: float, width: float, words: str, group: str) -> None:
        """A store, with its turnover time."""
        lines = [*words.split("\n"), time_words(self.flows.stay[group])]
        height = 2 * HALF_BOX if len(lines) == 2 else 2 * HALF_BOX + 0.16
        self.picture.sheet.add_patch(
            FancyBboxPatch(
                (left, middle - height / 2),
                width,
                height,
                boxstyle="round,pad=0,rounding_size=0.12",
                facecolor=PAPER,
                edgecolor=LINE,
                lw=2.0,
                zorder=6,
                gid="store",
            )
        )
        step = 0.25
        for row, line in enumerate(lines):
            y = middle + step * ((len(lines) - 1) / 2 - row)
            bold = "normal" if line[0].isdigit() else "bold"
            write(
                self.picture.sheet, (left + width / 2, y), line, weight=bold, va="center_baseline"
            )

    def on_band(self, x: float, y: float, rate: float, colour: str) -> None:
        """Number on a band, above it where the band is too thin to hold it."""
        width = self.width(rate)
        if width >= 0.31:
            write(self.picture.sheet, (x, y), self.rate(rate), on=colour, va="center_baseline")
        else:
            write(
                self.picture.sheet, (x, y + width / 2 + 0.16), self.rate(rate), va="center_baseline"
            )

    def note(self, x: float, y: float, words: str, **how: Any) -> None:
        """A label beside a branch."""
        write(self.picture.sheet, (x, y), words, **how)

    def _fill(
        self, points: Sequence[Point], width: float, colour: str, depth: float, head: bool
    ) -> None:
        length = min(HEAD, 0.12 + 0.25 * width) if head else 0.0
        outline = ribbon(points, width, head=length)
        self.picture.sheet.add_patch(
            Polygon(
                outline,
                closed=True,
                facecolor=colour,
                edgecolor=LINE,
                lw=1.0,
                joinstyle="round",
                zorder=depth,
                gid="band",
            )
        )

    def _mark(self, points: Sequence[Point], width: float, depth: float) -> None:
        """Two strokes across a band that is cut."""
        self.cuts += 1
        (x0, y0), (x1, y1) = points[0], points[1]
        along = abs(x1 - x0) > abs(y1 - y0)
        half = width / 2 + 0.05
        for shift in (-0.05, 0.05):
            x, y = 0.5 * (x0 + x1), 0.5 * (y0 + y1)
            ends = (
                ((x + shift - 0.05, x + shift + 0.05), (y - half, y + half))
                if along
                else ((x - half, x + half), (y + shift - 0.05, y + shift + 0.05))
            )
            self.picture.sheet.plot(*ends, color=LINE, lw=1.6, zorder=depth + 0.1)
