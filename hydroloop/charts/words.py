"""Numbers and names as the pictures say them."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from hydroloop.units import DisplayUnit, display_unit

_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip
_TIMES = ("never", "once", "twice", "three times", "four times", "five times", "six times")


def percent(share: float) -> str:
    """A share in percent, in as many digits as help.

    Examples
    --------
    >>> percent(0.614), percent(0.0274), percent(0.00001), percent(0.997), percent(1.0)
    ('61 %', '2.7 %', 'less than 0.1 %', '99.7 %', '100 %')
    """
    if not math.isfinite(share):
        return "an unknown share"
    value = 100.0 * share
    if value <= 0.0:
        return "0 %"
    if value < 0.05:
        return "less than 0.1 %"
    if 99.95 <= value < 100.0 - 1e-7:
        return "more than 99.9 %"
    if value < 9.95 or 99.5 <= value < 99.95:
        return f"{value:.1f}".removesuffix(".0") + " %"
    return f"{value:.0f} %"


def use_words(use: int, last: int) -> str:
    """A use class in words; `last` is the class that holds all that follow.

    Examples
    --------
    >>> use_words(0, 5), use_words(1, 5), use_words(5, 5)
    ('never used', 'once', 'five or more times')
    """
    times = _TIMES[use] if use < len(_TIMES) else f"{use} times"
    if use == 0:
        return "never used"
    if use < last:
        return times
    few = {1: "once or more", 2: "twice or more"}
    return few.get(use, times.replace(" times", " or more times"))


def date_words(date: object) -> str:
    """A date as people write it, the same in every locale.

    Examples
    --------
    >>> date_words("2031-08-15")
    '15 August 2031'
    """
    year, month, day = str(np.datetime64(str(date), "D")).split("-")
    return f"{int(day)} {_MONTHS[int(month) - 1]} {int(year)}"


def place_words(place: str) -> str:
    """A place of the record as it stands in a sentence.

    Examples
    --------
    >>> place_words("mill_valley")
    'Mill Valley'
    """
    return place.replace("_", " ").title()


def two_figures(value: float) -> str:
    """A number in two significant figures, whole numbers in full.

    Examples
    --------
    >>> two_figures(17.23), two_figures(0.0417), two_figures(132.0), two_figures(0.0)
    ('17', '0.042', '132', '0')
    """
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else "unknown"
    places = max(0, 1 - math.floor(math.log10(abs(float(f"{value:.2g}")))))
    text = f"{value:,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def time_words(days: float) -> str:
    """A length of time in minutes, hours or days.

    Examples
    --------
    >>> time_words(0.7), time_words(3.24), time_words(0.01)
    ('17 hours', '3.2 days', '14 min')
    """
    if not math.isfinite(days):
        return "an unknown time"
    unit = display_unit("duration", largest=days)
    if unit.name == "s":
        return "under 2 min"
    text = two_figures(days * unit.factor)
    return f"{text} {unit.name.rstrip('s') if text == '1' else unit.name}"


def flow_words(rate: float, unit: DisplayUnit, largest: float | None = None) -> str:
    """A flow in the unit that the whole picture uses.

    Beside a `largest` flow nothing is told more finely than to its third figure.

    Examples
    --------
    >>> unit = display_unit("flow", "metric")
    >>> flow_words(13100.0, unit), flow_words(51.2, unit, largest=13100.0)
    ('13.1 ML/day', '0.1 ML/day')
    """
    shown = rate * unit.factor
    number = f"{float(f'{shown:.3g}'):,.15g}" if shown >= 10 else two_figures(shown)
    if largest is not None and 0.0 < shown < largest * unit.factor:
        finest = max(0, 2 - math.floor(math.log10(largest * unit.factor)))
        number = min(number, f"{shown:,.{finest}f}".rstrip("0").rstrip(".") if finest
                     else f"{shown:,.0f}", key=len)
    return f"{number} {unit.name.replace('m3', 'm³').replace('ft3', 'ft³')}"


def joined(parts: list[str]) -> str:
    """Parts of a sentence joined by commas and a last "and".

    Examples
    --------
    >>> joined(["a", "b", "c"])
    'a, b and c'
    """
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]


def month_words(date: np.datetime64, *, with_day: bool = False) -> str:
    """A month, or a day of it, in few letters.

    Examples
    --------
    >>> month_words(np.datetime64("2031-08-15"), with_day=True)
    '15 Aug'
    """
    _, month, day = str(date.astype("datetime64[D]")).split("-")
    short = _MONTHS[int(month) - 1][:3]
    return f"{int(day)} {short}" if with_day else short


def span_words(time: np.ndarray) -> str:
    """From the first to the last day of a season.

    Examples
    --------
    >>> span_words(np.array(["2031-04-01", "2031-09-30"], dtype="datetime64[D]"))
    '1 April to 30 September 2031'
    """
    first, last = date_words(time[0]), date_words(time[-1])
    if first == last:
        return first
    return f"{first[:-5] if first[-4:] == last[-4:] else first} to {last}"


def changed_words(rows: Sequence[Sequence[str]]) -> str:
    """What was changed before a run, in a line; empty if nothing was.

    Examples
    --------
    >>> changed_words([("river.wren.inflow", "25 ft3/s", "15 ft3/s")])
    'Changed: inflow of the Wren 15 ft³/s, not 25 ft³/s'
    """
    told = [f"{key_words(key)} {_short(after)}, not {_short(before)}"
            for key, before, after in rows[:_MOST_CHANGES]]
    more = [f"{len(rows) - _MOST_CHANGES} more"] if len(rows) > _MOST_CHANGES else []
    return f"Changed: {'; '.join([*told, *more])}" if told else ""


def _short(value: str) -> str:
    text = " ".join(value.split()).replace("m3", "m³").replace("ft3", "ft³")
    return text if len(text) <= _LONGEST else f"{text[:_LONGEST - 1]}…"


_MOST_CHANGES, _LONGEST = 3, 30
_PLACES = {"town": "", "river": "the ", "reservoir": "reservoir ", "aquifer": "aquifer ",
           "stage": "stage "}

_LOOSE = {"above", "at", "before", "below", "by", "into", "to", "up"}  # so ended, a key is no noun


def key_words(key: str) -> str:
    """A key of the scenario as a picture names it.

    Examples
    --------
    >>> key_words("town.larkmill.people"), key_words("town.*.mains.real_losses")
    ('people of Larkmill', "real losses of every town's mains")
    >>> key_words("river.wren.inflow"), key_words("dry_season.years")
    ('inflow of the Wren', 'years of the dry season')
    """
    words = [word.replace("_", " ") for word in key.split(".")]
    last = f'"{words[-1]}"' if words[-1].split()[-1] in _LOOSE else words[-1]
    if words[0] not in _PLACES:
        return f"{last} of the {' '.join(words[:-1])}" if words[1:] else words[0]
    every = words[1:2] == ["*"]
    place = f"every {words[0]}" if every else _PLACES[words[0]] + place_words("".join(words[1:2]))
    if len(words) < 3:
        return place
    middle = "'s " + " ".join(words[2:-1]) if words[3:] else ""
    return f"{last} of {place}{middle}"
