"""Wording of answers that no chart needs: very big numbers, and counts with their noun."""

from __future__ import annotations

import math
import textwrap

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


def number_of(count: int, word: str) -> str:
    """A count with its noun, in the plural where it must be.

    Examples
    --------
    >>> number_of(1, "town"), number_of(2, "river")
    ('1 town', '2 rivers')
    """
    return f"{count} {word}" if count == 1 else f"{count} {word}s"


def wrap(words: str, indent: str = "", *, first: str = "") -> list[str]:
    """A paragraph as lines; no number is cut from its percent sign.

    Parameters
    ----------
    words : str
        The paragraph.
    indent, first : str
        What stands before its lines, and before the first.

    Returns
    -------
    list of str
        Lines of text.
    """
    lines = textwrap.wrap(words.replace(" %", "\N{NO-BREAK SPACE}%"), WIDTH,
                          initial_indent=first, subsequent_indent=indent)
    return [line.replace("\N{NO-BREAK SPACE}%", " %") for line in lines]
