"""Capacity against demand: how much each step of a plant can carry, and what is asked of it."""

from __future__ import annotations

from collections.abc import Sequence

from matplotlib.patches import Rectangle

from hydroloop.charts.colours import ADDED, BAR, INK, LINE, MARK, PAPER
from hydroloop.charts.picture import HEIGHT, WIDTH, Picture, house_style, write
from hydroloop.charts.words import printed
from hydroloop.errors import AskError, Problem
from hydroloop.units import DisplayUnit, display_unit
from hydroloop.units.printing import System, figures

_LEFT, _WIDE = 4.7, 6.4
_TOP = HEIGHT - 1.75
_MOST = 7  # limits that there is room for


@house_style
def capacity(
    town: str,
    limits: Sequence[tuple[str, float]],
    demands: Sequence[tuple[str, float]],
    *,
    caption: str,
    units: System = "us",
) -> Picture:
    """Capacity of each step against demand: a bar for each limit, the lowest first, and an upright
    line for each of one or two demands, the smaller first [m3/d]. The caption says how many of the
    highest limits there is no room for."""
    if not limits or not demands:
        raise AskError(
            Problem(
                "capacity",
                "there is nothing to hold against each other.",
                "Give at least one limit and one demand.",
            )
        )
    left = len(limits) - _MOST
    more = "" if left <= 0 else f" Of {len(limits)} limits the lowest {_MOST} are drawn."
    picture = Picture(f"Capacity against demand in {town}", f"{caption}{more}")
    shown = sorted(limits, key=lambda limit: limit[1])[:_MOST]
    # A limit far away would press all others together: its bar ends at the edge, marked as longer.
    furthest = 1.9 * max(flow for _, flow in demands)
    scale = _WIDE / min(furthest, max(*(flow for _, flow in shown), demands[-1][1] * 1.05))
    unit = display_unit("flow", units, largest=demands[-1][1])
    row = min(0.85, (_TOP - picture.floor - 0.1) / len(shown))
    for number, (words, flow) in enumerate(shown):
        y = _TOP - (number + 0.5) * row
        short = flow < demands[0][1]
        length = min(flow * scale, _WIDE)
        write(picture.sheet, (_LEFT - 0.15, y), words, size=15, ha="right", va="center")
        picture.sheet.add_patch(
            Rectangle(
                (_LEFT, y - 0.3 * row),
                length,
                0.6 * row,
                facecolor=ADDED if short else BAR,
                edgecolor=LINE,
                lw=1.2,
                zorder=3,
                hatch="//" if short else None,
                gid="bar",
            )
        )
        beyond = " →" if flow * scale > _WIDE else ""
        # A label stands right of a line that is close to its bar; a patch of paper lets it stand
        # before one that crosses it.
        beside = [at * scale for _, at in demands[:2] if 0.0 <= at * scale - length < 0.3]
        write(
            picture.sheet,
            (_LEFT + max([length, *beside]) + 0.1, y),
            _words(flow, unit) + beyond,
            size=15,
            ha="left",
            va="center",
            bbox={"facecolor": PAPER, "edgecolor": "none", "pad": 1.5},
        )
    _draw_demands(picture, demands, scale, (_TOP, _TOP - len(shown) * row), unit)
    return picture


def _words(flow: float, unit: DisplayUnit) -> str:
    """A flow in the figures that the text beside the picture gives it."""
    return f"{figures(flow * unit.factor)} {printed(unit.name)}"


def _draw_demands(
    picture: Picture,
    demands: Sequence[tuple[str, float]],
    scale: float,
    span: tuple[float, float],
    unit: DisplayUnit,
) -> None:
    """Upright lines, labelled above on rows of their own so that they cannot meet: right of their
    lines, the first on the upper row; where one would leave the page all left, the last on the
    upper row."""
    rows = [(flow, f"{words}: {_words(flow, unit)}") for words, flow in demands[:2]]
    to_left = any(
        _LEFT + flow * scale + 0.08 + picture.text_width(label, 15, "bold") > WIDTH - 0.2
        for flow, label in rows
    )
    for number, (flow, label) in enumerate(rows):
        x = _LEFT + flow * scale
        top = span[0] + 0.12 + 0.36 * (number if to_left else len(rows) - 1 - number)
        picture.sheet.plot(
            [x, x],
            [span[1], top],
            color=(MARK, INK)[number],
            lw=2.4,
            zorder=5,
            ls="-" if number == 0 else (0, (4, 2)),
        )
        write(
            picture.sheet,
            (x - 0.08 if to_left else x + 0.08, top),
            label,
            size=15,
            ha="right" if to_left else "left",
            va="center",
            weight="bold",
        )
