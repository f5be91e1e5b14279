"""Wording of answers that no chart needs: very big numbers, and counts with their noun."""

from __future__ import annotations

import math
import textwrap
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from hydroloop.charts.words import date_words
from hydroloop.units.printing import figures

WIDTH = 96
"""Letters in a line on screen."""

_GROUPS = (("thousand", 3), ("million", 6), ("billion", 9), ("trillion", 12))


def big(count: float) -> str:
    """A very big number in words and figures: `8.4 trillion trillion (8.4e24)`."""
    if not math.isfinite(count):
        return "an unknown number"
    if count < 1000:
        return f"{count:.0f}"
    one, words = group_of(count)
    left = float(f"{count:.2g}") / one
    figures = f"{left:.2g}" if left < 100 else f"{left:.0f}"
    spoken = f"{figures} {words}"
    return spoken if count < 1e15 else f"{spoken} ({count:.1e})".replace("e+", "e")


def group_of(count: float) -> tuple[float, str]:
    """By what a big number is divided to be told, and that in words: 1e24, `trillion trillion`."""
    words, one = list[str](), 1.0
    rounded = float(f"{count:.2g}") if count >= 1000 else count
    while rounded / one >= 1000:
        word, power = next(group for group in reversed(_GROUPS) if rounded / one >= 10 ** group[1])
        words.insert(0, word)
        one *= 10.0**power
    return one, " ".join(words)


def season_span(start: date, end: date) -> str:
    """First and last day in words."""
    return f"{date_words(start)} to {date_words(end)}"


def number_of(count: int, word: str) -> str:
    """A count with its noun, in the plural where it must be."""
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def wrap(words: str, indent: str = "", *, first: str = "", width: int = WIDTH) -> list[str]:
    """A paragraph as lines; no number is cut from its percent sign."""
    lines = textwrap.wrap(
        words.replace(" %", "\N{NO-BREAK SPACE}%"),
        width,
        initial_indent=first,
        subsequent_indent=indent,
    )
    return [line.replace("\N{NO-BREAK SPACE}%", " %") for line in lines]


def figure(value: float, *, signed: bool = False) -> str:
    """A number in three figures; a dash where it is not known."""
    if not math.isfinite(value):
        return "-"
    if abs(value) <= 1e-9:
        return "0"
    return ("+" if signed and value > 0 else "") + figures(value)


def amount(value: float, unit: str) -> str:
    """A shown number with its unit."""
    text = figure(value)
    if unit == "days" and text == "1":
        return "1 day"
    return f"{text} {unit}".rstrip()


def sentence(words: str) -> str:
    """Words with a capital at their head."""
    return words[:1].upper() + words[1:]


def varies(values: np.ndarray) -> bool:
    """Whether numbers differ by more than rounding."""
    there = values[np.isfinite(values)]
    return bool(there.size and np.ptp(there) > 1e-9 * max(1e-3, np.abs(there).max()))


def still_words(words: str, values: np.ndarray, factor: float, unit: str) -> str:
    """A measure that has one value in every run and town, in words, `reliability (100 %)`; empty
    where it has more."""
    there = values[np.isfinite(values)]
    if not there.size or varies(values):
        return ""
    where = "" if there.size == values.size else ", where there is one"
    plain = words.replace(", season", " of the season")
    return f"{plain} ({amount(factor * float(there[0]), unit)}{where})"


def dates_in_words(first: Any, last: Any) -> str:
    """One day, or a span of days, as short as it can be said.

    Examples
    --------
    >>> import pandas as pd
    >>> dates_in_words(pd.Timestamp("2031-05-02"), pd.Timestamp("2031-05-05 12:00"))
    '2 to 5 May 2031'
    """
    first, last = (pd.Timestamp(day) for day in (first, last))
    if first.date() == last.date():
        return date_words(last)
    if (first.year, first.month) == (last.year, last.month):
        return f"{first.day} to {date_words(last)}"
    begin = date_words(first)
    return f"{begin if first.year != last.year else begin.rsplit(' ', 1)[0]} to {date_words(last)}"
