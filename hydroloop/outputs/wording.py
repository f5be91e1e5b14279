"""Wording of answers: shares that add up, and very big numbers; the rest is that of the charts."""

from __future__ import annotations

import math
from collections.abc import Sequence

_GROUPS = (("thousand", 3), ("million", 6), ("billion", 9), ("trillion", 12))


def adding_up(values: Sequence[float], whole: float) -> list[str]:
    """Shares that a reader can add up: rounded so that they make the whole as it is printed.

    Parameters
    ----------
    values : sequence of float
        Shares that add up to `whole` [-].
    whole : float
        Their sum [-].

    Returns
    -------
    list of str
        One percentage each, ``""`` for those that round to nothing.

    Examples
    --------
    >>> adding_up([0.304, 0.104, 0.024], 0.432)
    ['30 %', '10 %', '3 %']
    """
    places = 0 if 100.0 * whole >= 9.95 else 1
    unit = 100.0 * 10**places
    counts = [math.floor(value * unit + 1e-9) for value in values]
    left = max(round(whole * unit) - sum(counts), 0)
    by_rest = sorted(range(len(counts)), key=lambda i: counts[i] - values[i] * unit)
    for i in by_rest[:left]:
        counts[i] += 1
    texts = [f"{count / 10**places:.{places}f}" for count in counts]
    return [f"{text.removesuffix('.0')} %" if count else ""
            for text, count in zip(texts, counts, strict=True)]


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
