"""Printing quantities, in American or metric units, as people say them."""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

from hydroloop.errors import AskError, Problem
from hydroloop.units.words import DIMENSIONS, WORDS, dimension_named

System = Literal["us", "metric"]


class DisplayUnit(NamedTuple):
    """A unit for showing held numbers: ``shown = held * factor + offset``.

    Attributes
    ----------
    name : str
        As printed beside the number: ``"Mgal/day"``.
    factor : float
        Shown units in one held unit.
    offset : float
        Added after the factor; only temperatures have one.
    """

    name: str
    factor: float
    offset: float = 0.0


# For each dimension the units in which it is shown, each from this size on, in that unit.
_SHOWN: dict[tuple[str, str], tuple[tuple[str, float], ...]] = {
    ("flow", "us"): (("Mgal/day", 0.1), ("gal/day", 0.0)),
    ("flow", "metric"): (("ML/day", 1.0), ("m3/day", 1.0), ("L/day", 0.0)),
    ("river_flow", "us"): (("ft3/s", 0.0),),
    ("river_flow", "metric"): (("m3/s", 0.01), ("L/s", 0.0)),
    ("volume", "us"): (("Mgal", 0.1), ("gal", 0.0)),
    ("volume", "metric"): (("ML", 1.0), ("m3", 1.0), ("L", 0.0)),
    ("stored_volume", "us"): (("acre-ft", 0.0),),
    ("stored_volume", "metric"): (("million m3", 0.1), ("m3", 0.0)),
    ("length", "us"): (("mi", 0.2), ("ft", 0.0)),
    ("length", "metric"): (("km", 1.0), ("m", 0.0)),
    ("short_length", "us"): (("ft", 0.0),),
    ("short_length", "metric"): (("m", 0.0),),
    ("area", "us"): (("mi2", 1.0), ("acre", 0.0)),
    ("area", "metric"): (("km2", 1.0), ("ha", 0.0)),
    ("small_area", "us"): (("ft2", 0.0),),
    ("small_area", "metric"): (("m2", 0.0),),
    ("depth", "us"): (("in", 0.0),),
    ("depth", "metric"): (("mm", 0.0),),
    ("share", ""): (("%", 0.0),),
    ("growth", ""): (("%", 0.0),),
    ("duration", ""): (("days", 2.0), ("hours", 2.0), ("min", 2.0), ("s", 0.0)),
    ("per_person", "us"): (("gal/person/day", 0.0),),
    ("per_person", "metric"): (("L/person/day", 0.0),),
    ("speed", "us"): (("ft/s", 0.0),),
    ("speed", "metric"): (("m/s", 0.0),),
    ("surface_rate", "us"): (("gal/ft2/day", 0.0),),
    ("surface_rate", "metric"): (("m/day", 0.0),),
    ("weir_load", "us"): (("gal/ft/day", 0.0),),
    ("weir_load", "metric"): (("m3/m/day", 0.0),),
    ("mass", "us"): (("lb", 0.0),),
    ("mass", "metric"): (("kg", 1.0), ("g", 0.0)),
    ("mass_flow", "us"): (("lb/day", 0.0),),
    ("mass_flow", "metric"): (("kg/day", 1.0), ("g/day", 0.0)),
    ("concentration", ""): (("mg/L", 0.0),),
    ("ct", ""): (("mg min/L", 0.0),),
    ("angle", ""): (("deg", 0.0),),
    ("elevation", "us"): (("ft", 0.0),),
    ("elevation", "metric"): (("m", 0.0),),
    ("count", ""): (("people", 0.0),),
    ("temperature", "us"): (("°F", 0.0),),
    ("temperature", "metric"): (("°C", 0.0),),
}


def display_unit(
    dimension: str, system: System = "us", *, largest: float | None = None
) -> DisplayUnit:
    """The unit in which numbers of a dimension are shown, for a table or the axis of a chart.

    Parameters
    ----------
    dimension : str
        One of `DIMENSIONS`.
    system : str
        ``"us"`` or ``"metric"``.
    largest : float, optional
        Largest number to be shown, in the held unit; the unit that suits it is taken, else the
        first of the dimension.

    Returns
    -------
    DisplayUnit
        Name, factor and offset.

    Raises
    ------
    AskError
        There is no such dimension or system.

    Examples
    --------
    >>> display_unit("flow", "metric").name
    'ML/day'
    >>> display_unit("river_flow", "us").name
    'ft3/s'
    """
    dimension_named(dimension)
    if system not in ("us", "metric"):
        raise AskError(
            Problem("system", f"there are no units {system!r}.", "There are us and metric.")
        )
    steps = _SHOWN.get((dimension, "")) or _SHOWN[dimension, system]
    chosen = steps[0][0]
    if largest is not None and largest != 0:
        for chosen, least in steps:
            # Compared as printed, so that 0.9996 ML is 1 ML and not 1,000 m3.
            if _rounded(abs(largest) * _factor(chosen, dimension)) >= least:
                break
    if dimension == "temperature":
        return DisplayUnit("°F", 1.8, 32.0) if system == "us" else DisplayUnit("°C", 1.0)
    return DisplayUnit(chosen, _factor(chosen, dimension))


def _factor(name: str, dimension: str) -> float:
    """Shown units in one held unit."""
    size = 1.0
    first, *below = name.replace("acre-ft", "acre_ft").split("/")
    for word in first.split():
        size *= _size(word)
    for word in below:
        size /= _size(word)
    return DIMENSIONS[dimension].factor / size


def _size(word: str) -> float:
    power = int(word[-1]) if word[-1].isdigit() else 1
    return WORDS[word.rstrip("23")][0] ** power


def format_quantity(value: float, dimension: str, system: System = "us") -> str:
    """A held number with its unit, in three significant figures, as people say it.

    Parameters
    ----------
    value : float
        In the held unit of the dimension.
    dimension : str
        One of `DIMENSIONS`.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    str
        Number and unit.

    Raises
    ------
    AskError
        There is no such dimension or system.

    Examples
    --------
    >>> format_quantity(12000, "flow", "metric"), format_quantity(0.164, "share")
    ('12 ML/day', '16.4 %')
    >>> format_quantity(856338.6, "river_flow", "us")
    '350 ft3/s'
    """
    if not math.isfinite(value):
        return "unknown"
    unit = display_unit(dimension, system, largest=value)
    shown = value * unit.factor + unit.offset
    if dimension == "count":
        return f"{round(shown):,} {'person' if round(shown) == 1 else unit.name}"
    text = figures(shown)
    name = unit.name.rstrip("s") if text == "1" and unit.name in ("days", "hours") else unit.name
    return f"{text} {name}"


def _rounded(value: float) -> float:
    return float(f"{value:.3g}")


def figures(value: float) -> str:
    """A number in three significant figures, thousands grouped, no trailing zeros."""
    rounded = _rounded(value)
    if rounded == 0:
        return "0"
    if not 1e-4 <= abs(rounded) < 1e15:
        return f"{rounded:.3g}"
    places = max(0, 2 - math.floor(math.log10(abs(rounded))))
    text = f"{rounded:,.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
