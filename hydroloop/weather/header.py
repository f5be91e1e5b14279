"""What a column's heading says: which quantity, and in which unit.

``rain [mm]``, ``precipitation (in)``, ``temp_max_c`` and ``wind speed at 10m [km/h]`` are all
understood; a heading without a unit is not guessed.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass

from hydroloop.errors import InputError
from hydroloop.units import parse
from hydroloop.weather.evaporation import wind_at_2m_m_per_s

_WORDS = {
    "rain": "rain rainfall precipitation precip prcp",
    "temperature": "t temp temperature tmin tmax tmean tavg",
    "humidity": "humidity rh",
    "wind": "wind windspeed",
    "sunshine": "sunshine sun",
    "radiation": "radiation solar shortwave srad",
    "flow": "flow discharge streamflow inflow runoff",
    "date": "date day time datetime timestamp",
}
_QUANTITY = {word: quantity for quantity, words in _WORDS.items() for word in words.split()}
_STATISTIC = {
    **dict.fromkeys(("min", "minimum", "lowest", "tmin"), "min"),
    **dict.fromkeys(("max", "maximum", "highest", "tmax"), "max"),
    **dict.fromkeys(("mean", "avg", "average", "tmean", "tavg"), "mean"),
}
_FILLERS = frozenset(
    (
        "air",
        "daily",
        "relative",
        "speed",
        "hours",
        "duration",
        "incoming",
        "global",
        "total",
        "sum",
        "river",
        "at",
        "of",
        "the",
    )
)
_HEIGHT = re.compile(r"(\d{1,2})m")
_NAMES = {
    ("rain", ""): "rain_mm",
    ("temperature", "min"): "tmin_c",
    ("temperature", "max"): "tmax_c",
    ("temperature", "mean"): "tmean_c",
    ("temperature", ""): "tmean_c",
    ("humidity", "min"): "humidity_min",
    ("humidity", "max"): "humidity_max",
    ("humidity", "mean"): "humidity",
    ("humidity", ""): "humidity",
    ("wind", "mean"): "wind_m_per_s",
    ("wind", ""): "wind_m_per_s",
    ("sunshine", ""): "sunshine_h",
    ("radiation", ""): "radiation_mj_per_m2",
    ("radiation", "mean"): "radiation_mj_per_m2",
    ("flow", "mean"): "flow",
    ("flow", ""): "flow",
    ("date", ""): "date",
}
ALLOWED_UNITS = {
    "rain": ("mm", "cm", "in"),
    "temperature": ("C", "F", "K"),
    "humidity": ("%", "-"),
    "wind": ("m/s", "km/h", "mph", "knot"),
    "sunshine": ("h", "min"),
    "radiation": ("MJ/m2/day", "W/m2", "kWh/m2/day"),
    "flow": ("m3/s", "m3/day", "L/s", "ML/day", "cfs", "Mgal/day"),
}
_RADIATION = {
    "mj/m2/day": (1.0, 0),
    "mj/m2/d": (1.0, 0),
    "w/m2": (0.0864, 0),
    "kwh/m2/day": (3.6, 0),
    "kwh/m2/d": (3.6, 0),
    "mj/m2": (1.0, -1),
    "kwh/m2": (3.6, -1),
}
_HUMIDITY = {"%": 0.01, "percent": 0.01, "pct": 0.01, "-": 1.0, "1": 1.0}
_SUNSHINE = {"h": 1.0, "hr": 1.0, "hour": 1.0, "hours": 1.0, "min": 1 / 60, "minutes": 1 / 60}
_TEMPERATURE = {
    **dict.fromkeys(("c", "°c", "degc", "deg c", "celsius"), (1.0, 0.0)),
    **dict.fromkeys(("f", "°f", "degf", "deg f", "fahrenheit"), (1 / 1.8, -32.0 / 1.8)),
    **dict.fromkeys(("k", "kelvin"), (1.0, -273.15)),
}
_PRETTY = str.maketrans({"²": "2", "³": "3", "º": "°", "·": " "})


@dataclass(frozen=True)
class Unit:
    """How a number under a heading becomes the unit held inside.

    Attributes
    ----------
    factor, offset : float
        Held value is the number times `factor` plus `offset`.
    per_step : int
        Power of the step's length in days that the value is multiplied with besides: 1 for a depth
        per day that is held per step, -1 for energy per step that is held per day.
    """

    factor: float
    offset: float = 0.0
    per_step: int = 0


@dataclass(frozen=True)
class Heading:
    """A heading that was understood.

    Attributes
    ----------
    text : str
        As written in the file.
    label : str
        The name without its unit, as written.
    quantity : str
        rain, temperature, humidity, wind, sunshine, radiation, flow or date; empty if unknown.
    name : str
        Name of the column inside, as in `COLUMNS`; empty where the quantity is not known.
    unit : Unit or None
        None where no unit, or none that fits, is given.
    unit_text : str
        The unit as written; empty if there is none.
    """

    text: str
    label: str
    quantity: str
    name: str
    unit: Unit | None
    unit_text: str


def read_heading(text: str) -> Heading:
    """Quantity and unit that a heading names. Words first, then the unit in brackets or after the
    last underscores. Nothing is guessed: no unit means no unit."""
    clean = text.strip().translate(_PRETTY)
    bracketed = re.fullmatch(r"(.*?)\s*[\[(]([^\])]*)[\])]\s*", clean, re.DOTALL)
    if bracketed:
        return _heading(text, bracketed[1], bracketed[2].strip())
    words = re.split(r"[_\s]+", clean)
    for cut in range(len(words) - 1, 0, -1):
        label, unit = "_".join(words[:cut]), _suffix(words[cut:])
        quantity, _, _ = _identify(label)
        # Without brackets a unit is only taken as one behind a known name, or where it is a flow.
        if (quantity and _unit(quantity, unit)) or (not quantity and _unit("flow", unit)):
            return _heading(text, label, unit)
    return _heading(text, clean, "")


def _heading(text: str, label: str, unit_text: str) -> Heading:
    quantity, statistic, height_m = _identify(label)
    name = _NAMES.get((quantity, statistic), "")
    if not name:
        quantity = ""
    unit = _unit(quantity or "flow", unit_text) if unit_text and quantity != "date" else None
    if not quantity and unit:
        quantity, name = "flow", "flow"
    if unit and quantity == "wind" and height_m:
        unit = Unit(unit.factor * float(wind_at_2m_m_per_s(1.0, height_m)))
    return Heading(text.strip(), label.strip(" _"), quantity, name, unit, unit_text)


def _identify(label: str) -> tuple[str, str, float]:
    """Quantity, statistic and height [m] that a name says; empty where a word is not known."""
    quantities, statistics, height = set(), set(), 0.0
    for word in re.split(r"[^a-z0-9]+", label.lower()):
        tall = _HEIGHT.fullmatch(word)
        if word in _QUANTITY:
            quantities.add(_QUANTITY[word])
        elif tall and float(tall[1]) >= 1.0:
            height = float(tall[1])
        elif word and word not in _STATISTIC and word not in _FILLERS:
            return "", "", 0.0
        if word in _STATISTIC:
            statistics.add(_STATISTIC[word])
    if len(quantities) != 1 or len(statistics) > 1:
        return "", "", 0.0
    return quantities.pop(), statistics.pop() if statistics else "", height


def _suffix(words: list[str]) -> str:
    """Unit spelled with underscores: m3_per_s, ft3_s, percent."""
    if "per" in words:
        return "_".join(words).replace("_per_", "/")
    return "/".join(words)


def _unit(quantity: str, text: str) -> Unit | None:
    reader = _READERS.get(quantity)
    return reader(" ".join(text.split())) if reader and text else None


def _factor(dimension: str, text: str) -> float | None:
    try:
        return parse(f"1 {text}", dimension).value
    except InputError:
        return None


def _rain(text: str) -> Unit | None:
    rate = re.fullmatch(r"(.+?)\s*(?:/|per)\s*(?:d|day)", text)
    factor = _factor("depth", rate[1] if rate else text)
    return None if factor is None else Unit(factor, per_step=1 if rate else 0)


def _temperature(text: str) -> Unit | None:
    found = _TEMPERATURE.get(text.lower())
    return Unit(*found) if found else None


def _humidity(text: str) -> Unit | None:
    found = _HUMIDITY.get(text.lower())
    return Unit(found) if found else None


def _sunshine(text: str) -> Unit | None:
    found = _SUNSHINE.get(text.lower())
    return Unit(found) if found else None


def _radiation(text: str) -> Unit | None:
    found = _RADIATION.get(text.lower().replace(" ", "").replace("^", ""))
    return Unit(found[0], per_step=found[1]) if found else None


def _wind(text: str) -> Unit | None:
    factor = _factor("speed", text)
    return None if factor is None else Unit(factor)


def _flow(text: str) -> Unit | None:
    factor = _factor("flow", text)
    return None if factor is None else Unit(factor)


_READERS: dict[str, Callable[[str], Unit | None]] = {
    "rain": _rain,
    "temperature": _temperature,
    "humidity": _humidity,
    "wind": _wind,
    "sunshine": _sunshine,
    "radiation": _radiation,
    "flow": _flow,
}
