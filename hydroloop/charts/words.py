"""Numbers and names as the pictures say them."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence

import numpy as np

from hydroloop.placenames import Names, possessive, stage_words
from hydroloop.placenames import place_words as place_words
from hydroloop.placenames import river_words as river_words
from hydroloop.units import DisplayUnit, display_unit

_MONTHS = (
    "January",
    "February",
    "March",
    "April",
    "May",
    "June",
    "July",
    "August",
    "September",
    "October",
    "November",
    "December",
)
_TIMES = ("never", "once", "twice", "three times", "four times", "five times", "six times")


def percent(share: float) -> str:
    """A share in percent, in as many digits as help: `61 %`, `2.7 %`, `less than 0.1 %`, `99.7
    %`."""
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
    """A use class in words; `last` is the class that holds all that follow."""
    times = _TIMES[use] if use < len(_TIMES) else f"{use} times"
    if use == 0:
        return "never used"
    if use < last:
        return times
    few = {1: "once or more", 2: "twice or more"}
    return few.get(use, times.replace(" times", " or more times"))


def date_words(date: object) -> str:
    """A date as people write it, the same in every locale."""
    year, month, day = str(np.datetime64(str(date), "D")).split("-")
    return f"{int(day)} {_MONTHS[int(month) - 1]} {int(year)}"


def two_figures(value: float) -> str:
    """A number in two significant figures, whole numbers in full."""
    if value == 0 or not math.isfinite(value):
        return "0" if value == 0 else "unknown"
    places = max(0, 1 - math.floor(math.log10(abs(float(f"{value:.2g}")))))
    text = f"{value:,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def time_words(days: float) -> str:
    """A length of time in minutes, hours or days."""
    if not math.isfinite(days):
        return "an unknown time"
    unit = display_unit("duration", largest=days)
    if unit.name == "s":
        return "under 2 min"
    text = two_figures(days * unit.factor)
    return f"{text} {unit.name.rstrip('s') if text == '1' else unit.name}"


def flow_words(rate: float, unit: DisplayUnit, largest: float | None = None) -> str:
    """A flow in the unit that the whole picture uses; beside a `largest` flow nothing is told more
    finely than to its third figure."""
    shown = rate * unit.factor
    number = f"{float(f'{shown:.3g}'):,.15g}" if shown >= 10 else two_figures(shown)
    if largest is not None and 0.0 < shown < largest * unit.factor:
        finest = max(0, 2 - math.floor(math.log10(largest * unit.factor)))
        number = min(
            number,
            f"{shown:,.{finest}f}".rstrip("0").rstrip(".") if finest else f"{shown:,.0f}",
            key=len,
        )
    return f"{number} {printed(unit.name)}"


def printed(unit: str) -> str:
    """A unit with its powers raised."""
    return re.sub(r"(?<=[a-z])[23]\b", lambda power: "²³"[int(power[0]) - 2], unit)


def joined(parts: list[str]) -> str:
    """Parts of a sentence joined by commas and a last "and"."""
    return parts[0] if len(parts) == 1 else ", ".join(parts[:-1]) + " and " + parts[-1]


def month_words(date: np.datetime64, *, with_day: bool = False) -> str:
    """A month, or a day of it, in few letters."""
    _, month, day = str(date.astype("datetime64[D]")).split("-")
    short = _MONTHS[int(month) - 1][:3]
    return f"{int(day)} {short}" if with_day else short


def span_words(time: np.ndarray) -> str:
    """From the first to the last day of a season."""
    first, last = date_words(time[0]), date_words(time[-1])
    if first == last:
        return first
    return f"{first[:-5] if first[-4:] == last[-4:] else first} to {last}"


_PLACES = {
    "town": "",
    "river": "",
    "reservoir": "reservoir ",
    "aquifer": "aquifer ",
    "stage": "stage ",
}
_LOOSE = {"above", "at", "before", "below", "by", "into", "to", "up"}  # so ended, a key is no noun
_NOUNS = {
    "storage_below": "storage mark",
    "storage_above": "upper storage mark",
    "flow_below": "flow mark",
    "flow_above": "upper flow mark",
    "at": "place",
    "used_before": "share used above the map",
}
_WHOLE = {
    "dry_season.rain_scale": "share of the usual rain",
    "dry_season.flow_scale": "share of the usual inflow",
    "dry_season.method": "kind of dry season",
    "season.count_as": "what counts as a use",
    "weather.rain_scale": "share of the usual rain",
}


def _place(kind: str, name: str, names: Names) -> str:
    if kind == "river":
        return river_words(name, names)
    return _PLACES[kind] + (stage_words(name) if kind == "stage" else place_words(name, names))


def key_words(key: str, names: Names) -> str:
    """A key of the scenario as a picture names it: `people of Larkmill`, `real losses of every
    town's mains`."""
    if key in _WHOLE:
        return _WHOLE[key]
    *front, end = key.split(".")
    words = [word.replace("_", " ") for word in (*front, _NOUNS.get(end, end))]
    last = f'"{words[-1]}"' if words[-1].split()[-1] in _LOOSE else words[-1]
    if words[0] not in _PLACES:
        return f"{last} of the {' '.join(words[:-1])}" if words[1:] else words[0]
    every = words[1:2] == ["*"]
    place = f"every {words[0]}" if every else _place(words[0], "".join(key.split(".")[1:2]), names)
    if len(words) < 3:
        return place
    if not words[3:]:
        return f"{last} of {place}"
    return f"{last} of {possessive(place)} {' '.join(words[2:-1])}"


def whole_numbers(parts: np.ndarray, whole: int) -> list[int]:
    """Parts of a whole as whole numbers that add up to it, rounded where that costs least.

    Examples
    --------
    >>> whole_numbers(np.array([0.774, 0.112, 0.108, 0.006]), 100)
    [77, 11, 11, 1]
    """
    return raised(parts / max(parts.sum(), 1e-300) * whole, whole)


def raised(parts: Sequence[float] | np.ndarray, total: int) -> list[int]:
    """Numbers rounded down, but for those that lose most by it, so that they add up to a total."""
    parts = np.asarray(parts)
    found = np.floor(parts + 1e-9).astype(int)
    found[np.argsort(found - parts, kind="stable")[: max(total - int(found.sum()), 0)]] += 1
    return [int(one) for one in found]
