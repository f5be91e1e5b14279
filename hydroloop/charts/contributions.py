"""From one run to another: what each change adds, as steps that lead from value to value."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise, permutations

from matplotlib.patches import Rectangle

from hydroloop.charts.colours import ADDED, FAINT, INK, LINE, MARK, PAPER, WHOLE
from hydroloop.charts.picture import HEIGHT, WIDTH, Picture, house_style, write
from hydroloop.charts.varied import Drawn
from hydroloop.charts.words import printed
from hydroloop.errors import AskError, Problem
from hydroloop.units.printing import figures

MOST_TOWNS, MOST_CHANGES = 3, 6
"""What one picture has room for."""
WITHOUT, WITH = "without the change", "with the change"
"""What two runs of the same days are called: neither comes before the other."""
_WORDS, _LEFT = 0.25, 4.1
_TOP = HEIGHT - 1.55
_HIGHEST = 1.4  # a row, where there are few


@dataclass(frozen=True)
class Steps:
    """How a town's measure comes from one run to the other."""

    town: str  # name of the town
    before: float  # the measure in the first run, as it is shown
    parts: tuple[float, ...]  # what each change adds to it
    after: float  # the measure in the second run; before and parts add up to it


@house_style
def contributions(
    changes: Sequence[str], towns: Sequence[Steps], measure: Drawn, *, caption: str
) -> Picture:
    """What each change (at most six) adds to a measure of at most three towns, step by step from
    one run to the other. A step is its change's effect averaged over all orders. The steps stand as
    given, or else in an order in which what cannot be negative is not drawn below zero."""
    _check(changes, towns)
    order = _order(len(changes), towns, 100.0 if measure.unit == "%" else math.inf)
    changes = [changes[place] for place in order]
    towns = [_in_order(one, order) for one in towns]
    picture = Picture(f"What each change adds to the {measure.words}", caption)
    rows = [WITHOUT, *changes, WITH]
    high = min(_HIGHEST, (_TOP - picture.floor - 0.15) / len(rows))
    for number, words in enumerate(rows):
        lines = picture.wrapped(words, 14.0, _LEFT - _WORDS - 0.35)
        shown = lines if len(lines) * 0.26 < high else [lines[0][:-1] + "…"]
        write(
            picture.sheet,
            (_WORDS, _TOP - (number + 0.5) * high),
            "\n".join(shown),
            ha="left",
            weight="bold" if words in (WITHOUT, WITH) else "normal",
        )
    wide = (WIDTH - _LEFT - 0.2) / len(towns)
    unit = f" {printed(measure.unit)}" if measure.unit else ""
    texts = [_texts(steps, unit) for steps in towns]
    ends = [end for steps in towns for end in _ends(_levels(steps))]
    room = wide - 0.5 - max(picture.text_width(text) for own in texts for text in own)
    scale = room / ((max(ends) - min(ends)) or 1.0)
    for number, (steps, own) in enumerate(zip(towns, texts, strict=True)):
        left = _LEFT + number * wide - min(ends) * scale  # where nothing is
        _draw_steps(picture, steps, own, left=left, scale=scale, high=high)
        write(
            picture.sheet,
            (_LEFT + number * wide, _TOP + 0.45),
            steps.town,
            size=16,
            ha="left",
            weight="bold",
            va="center_baseline",
        )
        picture.sheet.plot([left, left], [_TOP, _TOP - len(rows) * high], color=INK, lw=1.4)
        write(picture.sheet, (left, _TOP + 0.14), "0", va="center_baseline")
    return picture


def _check(changes: Sequence[str], towns: Sequence[Steps]) -> None:
    if not 0 < len(changes) <= MOST_CHANGES or not 0 < len(towns) <= MOST_TOWNS:
        raise AskError(
            Problem(
                "contributions",
                f"{len(changes)} changes in {len(towns)} towns cannot be drawn.",
                f"Give 1 to {MOST_CHANGES} changes, and 1 to {MOST_TOWNS} towns.",
            )
        )
    for steps in towns:
        size = max(abs(steps.before), abs(steps.after), *map(abs, steps.parts), 1e-12)
        if len(steps.parts) != len(changes) or not (  # also where a value is not known
            abs(steps.before + sum(steps.parts) - steps.after) <= 1e-9 * size
        ):
            raise AskError(
                Problem(
                    "contributions",
                    f"the steps of {steps.town} do not add up.",
                    "Give a part for each change.",
                )
            )


def _order(count: int, towns: Sequence[Steps], most: float) -> Sequence[int]:
    """The first order of the changes in which no level leaves what the measure can be, from zero to
    `most`, or the runs have: the one that leaves it least."""

    def outside(order: Sequence[int]) -> float:
        left = 0.0
        for one in towns:
            at = _levels(_in_order(one, order))
            least, largest = min(0.0, at[0], at[-1]), max(most, at[0], at[-1])
            left += max(0.0, least - min(at)) + max(0.0, max(at) - largest)
        return left if left > 1e-9 else 0.0

    return min(permutations(range(count)), key=outside)


def _in_order(steps: Steps, order: Sequence[int]) -> Steps:
    return replace(steps, parts=tuple(steps.parts[place] for place in order))


def _levels(steps: Steps) -> list[float]:
    """The measure before the first change, and after each."""
    return [steps.before, *(steps.before + add for add in accumulate(steps.parts))]


def _texts(steps: Steps, unit: str) -> list[str]:
    """What stands beside each bar."""
    size = max(map(abs, _levels(steps)))
    first, last = (f"{figures(value)}{unit}" for value in (steps.before, steps.after))
    own = " points" if unit == " %" else unit  # what is added to a share is no share
    return [first, *(_signed(part, size, own) for part in steps.parts), last]


def _draw_steps(
    picture: Picture, steps: Steps, texts: Sequence[str], *, left: float, scale: float, high: float
) -> None:
    """Bars of both runs from zero, and between them the steps, each from where the last ended; the
    runs' bars are the darkest, so that a whole is not taken for what is added to it."""
    at = _levels(steps)
    bars = [(0.0, steps.before), *pairwise(at), (0.0, steps.after)]
    for number, ((start, end), words) in enumerate(zip(bars, texts, strict=True)):
        y = _TOP - (number + 0.5) * high
        is_end = number in (0, len(bars) - 1)
        fill = WHOLE if is_end else ADDED if end >= start else PAPER
        picture.sheet.add_patch(
            Rectangle(
                (left + min(start, end) * scale, y - 0.3 * high),
                abs(end - start) * scale,
                0.6 * high,
                facecolor=fill,
                edgecolor=LINE if end >= start else MARK,
                lw=1.4,
                zorder=3,
                hatch=None if end >= start else "//",
                gid="end" if is_end else "step",
            )
        )
        write(
            picture.sheet,
            (left + max(start, end, 0.0) * scale + 0.1, y),
            words,
            ha="left",
            weight="bold" if is_end else "normal",
        )
        if number < len(bars) - 1:  # a thread from where this bar ends to the next
            x = left + end * scale
            picture.sheet.plot([x, x], [y - 0.3 * high, y - 0.7 * high], color=FAINT, lw=1.4)


def _signed(part: float, size: float, unit: str) -> str:
    """A step with its sign, no finer than the whole: to the third figure of its `size`."""
    if abs(part) <= 1e-9 * size:
        return "0"
    places = max(0, 2 - math.floor(math.log10(size)))
    if abs(part) < 0.5 * 10.0**-places:
        return "about 0"
    text = f"{part:+,.{places}f}"
    text = text.rstrip("0").rstrip(".") if places else text
    return text + (unit.removesuffix("s") if text in ("+1", "-1") else unit)


def _ends(at: Sequence[float]) -> tuple[float, float]:
    """From zero to what lies furthest from it."""
    return min(0.0, *at), max(0.0, *at)
