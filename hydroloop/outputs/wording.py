"""Wording: names, dates, shares and big numbers as they stand in a sentence."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import pandas as pd

from hydroloop.units import format_quantity


def proper(name: str) -> str:
    """A name of the scenario as it stands in a sentence: ``mill_valley`` as ``Mill Valley``."""
    return name.replace("_", " ").replace("-", " ").title()


def day(date: Any, *, year: bool = True) -> str:
    """A date in words.

    Parameters
    ----------
    date : datetime-like
        Any date that pandas reads.
    year : bool
        Whether the year is said.

    Returns
    -------
    str
        ``15 August 2031``.

    Examples
    --------
    >>> day("2031-08-15"), day("2031-08-15", year=False)
    ('15 August 2031', '15 August')
    """
    moment = pd.Timestamp(date)
    return f"{moment.day} {moment:%B %Y}" if year else f"{moment.day} {moment:%B}"


def listed(words: Iterable[str], last: str = "and") -> str:
    """Words in a row: ``a, b and c``."""
    words = list(words)
    if len(words) < 2:
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"


def share(value: float) -> str:
    """A share in words: whole percents, with decimals only where it is small.

    Parameters
    ----------
    value : float
        Share [-].

    Returns
    -------
    str
        ``43 %``, ``4.3 %``, ``0.43 %``, ``less than 0.01 %``, ``nothing``, ``unknown``.

    Examples
    --------
    >>> share(0.4312), share(0.0431), share(0.00001), share(float("nan"))
    ('43 %', '4.3 %', 'less than 0.01 %', 'unknown')
    """
    if not math.isfinite(value):
        return "unknown"
    if value <= 0.0:
        return "nothing" if value == 0.0 else f"-{share(-value)}"
    if value < 0.0001:
        return "less than 0.01 %"
    if 0.995 <= value < 1.0:
        return "99 % or more" if value < 0.9995 else "nearly all"
    return f"{100.0 * value:.{_places(value)}f} %"


def _places(value: float) -> int:
    """Decimals of a percentage: two figures at least, never more than two decimals."""
    return 0 if value >= 0.0995 else 1 if value >= 0.00995 else 2


def parts(values: Sequence[float], whole: float) -> list[str]:
    """Shares that a reader can add up: rounded so that they make the whole as it is printed.

    Parameters
    ----------
    values : sequence of float
        Shares [-] that add up to `whole`.
    whole : float
        Their sum as `share` prints it [-].

    Returns
    -------
    list of str
        One percentage each, ``""`` for those that round to nothing.

    Examples
    --------
    >>> parts([0.304, 0.104, 0.024], 0.432)
    ['30 %', '10 %', '3 %']
    """
    places = _places(whole)
    unit = 100.0 * 10**places
    units = [value * unit for value in values]
    floors = [math.floor(value + 1e-9) for value in units]
    left = round(whole * unit) - sum(floors)
    by_rest = sorted(range(len(units)), key=lambda i: floors[i] - units[i])
    for i in by_rest[: max(left, 0)]:
        floors[i] += 1
    return [f"{count / 10**places:.{places}f} %" if count else "" for count in floors]


def times(count: int, *, most: bool = False) -> str:
    """How often: ``once``, ``twice``, ``three times``; with `most`, ``or more`` behind it."""
    words = {0: "never", 1: "once", 2: "twice", 3: "three times", 4: "four times", 5: "five times",
             6: "six times"}
    return words.get(count, f"{count} times") + (" or more" if most else "")


def days(value: float) -> str:
    """A length of time in words, from minutes to years: ``3.2 days``."""
    if not math.isfinite(value):
        return "unknown"
    if value >= 730.5:
        return f"{format_quantity(value / 365.25, 'count').split()[0]} years"
    return format_quantity(value, "duration")


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
