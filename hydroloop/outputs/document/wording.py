"""Wording of answers that no chart needs: very big numbers, and counts with their noun."""

from __future__ import annotations

import math
import textwrap
from datetime import date

import numpy as np

from hydroloop.charts.words import date_words
from hydroloop.units.printing import figures

WIDTH = 96
"""Letters in a line on screen."""

_GROUPS = (("thousand", 3), ("million", 6), ("billion", 9), ("trillion", 12))


def big(count: float) -> str:
    """A very big number in words and figures.

    Parameters
    ----------
    count : float
        Number of things [-].

    Returns
    -------
    str
        ``8.4 trillion trillion (8.4e24)``.

    Examples
    --------
    >>> big(8.36e24), big(2.1e5), big(0.0)
    ('8.4 trillion trillion (8.4e24)', '210 thousand', '0')
    """
    if not math.isfinite(count):
        return "an unknown number"
    if count < 1000:
        return f"{count:.0f}"
    words, left = [], float(f"{count:.2g}")
    while left >= 1000:
        word, power = next(group for group in reversed(_GROUPS) if left >= 10 ** group[1])
        words.append(word)
        left /= 10.0**power
    figures = f"{left:.2g}" if left < 100 else f"{left:.0f}"
    spoken = " ".join([figures, *reversed(words)])
    return spoken if count < 1e15 else f"{spoken} ({count:.1e})".replace("e+", "e")


def season_span(start: date, end: date) -> str:
    """First and last day in words."""
    return f"{date_words(start)} to {date_words(end)}"


def number_of(count: int, word: str) -> str:
    """A count with its noun, in the plural where it must be.

    Examples
    --------
    >>> number_of(1, "town"), number_of(2, "river")
    ('1 town', '2 rivers')
    """
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def wrap(words: str, indent: str = "", *, first: str = "", width: int = WIDTH) -> list[str]:
    """A paragraph as lines; no number is cut from its percent sign.

    Parameters
    ----------
    words : str
        The paragraph.
    indent, first : str
        What stands before its lines, and before the first.
    width : int
        Letters in a line.

    Returns
    -------
    list of str
        Lines of text.
    """
    lines = textwrap.wrap(words.replace(" %", "\N{NO-BREAK SPACE}%"), width,
                          initial_indent=first, subsequent_indent=indent)
    return [line.replace("\N{NO-BREAK SPACE}%", " %") for line in lines]


def figure(value: float, *, signed: bool = False) -> str:
    """A number in three figures; a dash where it is not known.

    Examples
    --------
    >>> figure(0.06384), figure(2.5, signed=True), figure(12345.6), figure(float("nan"))
    ('0.0638', '+2.5', '12,300', '-')
    """
    if not math.isfinite(value):
        return "-"
    if abs(value) <= 1e-9:
        return "0"
    return ("+" if signed and value > 0 else "") + figures(value)


def amount(value: float, unit: str) -> str:
    """A shown number with its unit.

    Examples
    --------
    >>> amount(7.324, "%"), amount(1.0, "days"), amount(0.5, "")
    ('7.32 %', '1 day', '0.5')
    """
    text = figure(value)
    if unit == "days" and text == "1":
        return "1 day"
    return f"{text} {unit}".rstrip()


def sentence(words: str) -> str:
    """Words with a capital at their head."""
    return words[:1].upper() + words[1:]


def varies(values: np.ndarray) -> bool:
    """Whether numbers differ by more than rounding.

    Examples
    --------
    >>> varies(np.array([0.1, 0.1 + 1e-15])), varies(np.array([0.1, 0.2, np.nan]))
    (False, True)
    """
    there = values[np.isfinite(values)]
    return bool(there.size and np.ptp(there) > 1e-9 * max(1e-3, np.abs(there).max()))


def still_words(words: str, values: np.ndarray, factor: float, unit: str) -> str:
    """A measure that has one value in every run and town, in words; empty where it has more.

    Examples
    --------
    >>> still_words("reliability", np.array([[1.0, 1.0], [1.0, 1.0]]), 100.0, "%")
    'reliability (100 %)'
    >>> still_words("reliability", np.array([1.0, 0.9]), 100.0, "%")
    ''
    >>> still_words("river under its minimum", np.array([0.0, np.nan]), 1.0, "days")
    'river under its minimum (0 days, where there is one)'
    """
    there = values[np.isfinite(values)]
    if not there.size or varies(values):
        return ""
    where = "" if there.size == values.size else ", where there is one"
    plain = words.replace(", season", " of the season")
    return f"{plain} ({amount(factor * float(there[0]), unit)}{where})"
