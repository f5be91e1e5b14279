"""Units: the only place that knows any unit but those held inside.

A quantity is written as a number and a unit, ``"4.5 Mgal/day"``, or as a range, ``"8 % to 14 %"``.
A strict pattern stands in front: nothing that was typed is ever evaluated. The words of the trade
are in a table here, so that reading costs microseconds; a word that the table does not know is
looked up in pint, one word at a time, and pint is loaded only then.

Inside, numbers are held in the unit of their dimension (`DIMENSIONS`). Factors are exact: the
international foot and acre (NIST Handbook 44, Appendix C), the US gallon of 231 cubic inches.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import NamedTuple, NoReturn

from hydroloop.errors import InputError, Problem

Powers = tuple[int, int, int, int, int]
"""Powers of metre, day, person, degree of angle and degree of temperature."""

_NONE: Powers = (0, 0, 0, 0, 0)
_LENGTH: Powers = (1, 0, 0, 0, 0)
_AREA: Powers = (2, 0, 0, 0, 0)
_VOLUME: Powers = (3, 0, 0, 0, 0)
_TIME: Powers = (0, 1, 0, 0, 0)
_PEOPLE: Powers = (0, 0, 1, 0, 0)
_ANGLE: Powers = (0, 0, 0, 1, 0)
_WARMTH: Powers = (0, 0, 0, 0, 1)
_FLOW: Powers = (3, -1, 0, 0, 0)
_EACH: Powers = (3, -1, -1, 0, 0)
_SPEED: Powers = (1, -1, 0, 0, 0)

_SECOND = 1 / 86400  # in days: what is held per day stays exact
_FOOT = 0.3048
_ACRE = 43560 * _FOOT**2
_GALLON = 231 * 0.0254**3


class Quantity(NamedTuple):
    """A quantity as read, in the unit in which its dimension is held.

    Attributes
    ----------
    value : float
        The number itself, or the middle of a range.
    low, high : float
        Ends of the range; equal to `value` where there is none.
    text : str
        What was written.
    """

    value: float
    low: float
    high: float
    text: str


class Dimension(NamedTuple):
    """A kind of quantity: how it is held, called and written.

    Attributes
    ----------
    phrase : str
        Its name in a sentence: ``"a flow"``.
    held : str
        Unit in which it is held inside.
    factor : float
        Metres, days, people and degrees in one held unit.
    powers : tuple of int
        Powers of metre, day, person, degree of angle, degree of temperature.
    examples : tuple of str
        Ways to write it, American and metric.
    signed : bool
        Whether it may lie below zero.
    """

    phrase: str
    held: str
    factor: float
    powers: Powers
    examples: tuple[str, ...]
    signed: bool = False


DIMENSIONS = {
    "flow": Dimension("a flow", "m3/day", 1.0, _FLOW, (
        "4.5 Mgal/day", "12 ML/day", "300 gpm", "25 cfs", "0.7 m3/s")),
    "volume": Dimension("a volume", "m3", 1.0, _VOLUME, (
        "2 Mgal", "7.5 ML", "500 m3", "1,200 acre_ft")),
    "length": Dimension("a length", "km", 1e3, _LENGTH, ("12 mi", "20 km", "300 ft")),
    "area": Dimension("an area", "km2", 1e6, _AREA, ("8 mi2", "20 km2", "640 acre", "300 ha")),
    "small_area": Dimension("an area", "m2", 1.0, _AREA, ("430 ft2", "40 m2")),
    "depth": Dimension("a depth", "mm", 1e-3, _LENGTH, ("6 in", "150 mm")),
    "share": Dimension("a share", "of one", 1.0, _NONE, ("16 %", "0.16", "8 % to 14 %")),
    "duration": Dimension("a length of time", "days", 1.0, _TIME, (
        "30 s", "20 min", "4 hour", "2 day")),
    "per_person": Dimension("a flow for each person", "m3/person/day", 1.0, _EACH, (
        "58.6 gal/person/day", "220 L/person/day", "60 gpcd")),
    "speed": Dimension("a speed", "m/s", 86400.0, _SPEED, ("1.3 ft/s", "0.4 m/s")),
    "angle": Dimension("an angle", "deg", 1.0, _ANGLE, ("45 deg", "45 N", "33.5 S"), True),
    "elevation": Dimension("a height", "m", 1.0, _LENGTH, ("330 ft", "100 m"), True),
    "count": Dimension("a number of people", "people", 1.0, _PEOPLE, (
        "24000", "24,000 people")),
    "temperature": Dimension("a temperature", "C", 1.0, _WARMTH, ("68 F", "20 C"), True),
}
"""Every dimension that can be read, by name."""

_KINDS: dict[Powers, str] = {
    **{d.powers: d.phrase for d in DIMENSIONS.values() if d.phrase not in ("a depth", "a height")},
    _NONE: "a plain number",
    (3, 0, -1, 0, 0): "a volume for each person",
}

_TABLE: tuple[tuple[Powers, float, str], ...] = (
    (_LENGTH, 1.0, "m metre metres meter meters"),
    (_LENGTH, 1e3, "km kilometre kilometres kilometer kilometers"),
    (_LENGTH, 1e-2, "cm centimetre centimetres centimeter centimeters"),
    (_LENGTH, 1e-3, "mm millimetre millimetres millimeter millimeters"),
    (_LENGTH, _FOOT, "ft foot feet"),
    (_LENGTH, _FOOT / 12, "in inch inches"),
    (_LENGTH, 5280 * _FOOT, "mi mile miles"),
    (_AREA, 1e4, "ha hectare hectares"),
    (_AREA, _ACRE, "acre acres ac"),
    (_VOLUME, 1e-3, "L l litre litres liter liters"),
    (_VOLUME, 1e-6, "mL ml millilitre milliliter"),
    (_VOLUME, 1e3, "ML megalitre megalitres megaliter megaliters"),
    (_VOLUME, 1e6, "MCM GL"),
    (_VOLUME, _GALLON, "gal gallon gallons"),
    (_VOLUME, 1e3 * _GALLON, "kgal"),
    (_VOLUME, 1e6 * _GALLON, "Mgal MG"),
    (_VOLUME, 1e9 * _GALLON, "Bgal"),
    (_VOLUME, 100 * _FOOT**3, "ccf CCF hcf HCF"),
    (_VOLUME, _ACRE * _FOOT, "acre_ft acre_foot acre_feet acft AF af"),
    (_FLOW, 1e6 * _GALLON, "mgd MGD Mgd"),
    (_FLOW, 1e3, "MLD"),
    (_FLOW, _GALLON, "gpd GPD"),
    (_FLOW, _GALLON * 1440, "gpm GPM"),
    (_FLOW, _FOOT**3 * 86400, "cfs CFS"),
    (_FLOW, 86400.0, "cms CMS cumec cumecs"),
    (_EACH, _GALLON, "gpcd GPCD"),
    (_EACH, 1e-3, "lpcd Lpcd LPCD"),
    (_TIME, _SECOND, "s sec second seconds"),
    (_TIME, 1 / 1440, "min minute minutes"),
    (_TIME, 1 / 24, "h hr hrs hour hours"),
    (_TIME, 1.0, "d day days"),
    (_TIME, 7.0, "week weeks wk"),
    (_TIME, 365.25, "year years yr a"),
    (_SPEED, 5280 * _FOOT * 24, "mph"),
    (_SPEED, 24e3, "kph kmh"),
    (_PEOPLE, 1.0, "people person persons inhabitants capita cap"),
    (_ANGLE, 1.0, "deg degree degrees °"),
    (_WARMTH, 1.0, "C degC celsius °C"),
    (_WARMTH, 1.0, "F degF fahrenheit °F"),
    (_NONE, 0.01, "% percent"),
    (_NONE, 1e6, "million"),
    (_NONE, 1e3, "thousand"),
)
_WORDS: dict[str, tuple[float, Powers]] = {
    word: (factor, powers) for powers, factor, words in _TABLE for word in words.split()
}
_FAHRENHEIT = frozenset(("F", "degF", "fahrenheit", "°F"))
# Words that would be read quite otherwise, or in two ways, if they were let through.
_REFUSED = {
    "mg": "mg is a mass (milligrams); million gallons are written Mgal.",
    "Ml": "Ml can be megalitres or millilitres; write ML or mL.",
    "Mm": "Mm3 can be million cubic metres or cubic megametres; write 12e6 m3, or 12 MCM.",
    "M": "M alone is no unit; write m for metres, or Mgal, ML and so on.",
    "month": "Months differ in length; write days.",
    "months": "Months differ in length; write days.",
}
_FOLDED = {word.lower(): word for word in _WORDS} | {"mgal": "Mgal", "ml": "", "mg": "", "m": ""}

_DIGITS = r"[+-]?(?:(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d{1,3})?(?![\d.,])"
_AMOUNT = re.compile(rf"({_DIGITS})\s*(.*)", re.DOTALL)
_UNIT_WORD = re.compile(r"([A-Za-z_%°]{1,24})(?:(?:\*\*|\^)?([1-3]))?")
_DECIMAL_COMMA = re.compile(r"[+-]?[\d.]*\d,\d")
_LATITUDE = re.compile(rf"({_DIGITS})\s*(?:deg|degrees?|°)?\s*([NnSs])(?:orth|outh)?")
_REWRITES = (
    (re.compile(r"\bac(?:res?)?[ -](?:ft|foot|feet)\b"), "acre_ft"),
    (re.compile(r"\b(?:cubic|cu\.?) ([A-Za-z]+)"), r"\g<1>^3"),
    (re.compile(r"\b(?:square|sq\.?) ([A-Za-z]+)"), r"\g<1>^2"),
    (re.compile(r"\s+per\s+|\s*/\s*"), "/"),
    (re.compile(r"\s*[*·]\s*(?![*\d])|(?<=[A-Za-z\d])\s+(?=[A-Za-z])"), " "),
)
_PRETTY = str.maketrans({"²": "2", "³": "3", "\u2212": "-", "\u00a0": " ", "\u202f": " "})
_LARGEST, _SMALLEST = 1e15, 1e-12


def parse(text: str, dimension: str, *, name: str = "") -> Quantity:
    """Read a quantity with its unit.

    Takes American and metric units, and ranges. A quantity of another dimension, a number without
    unit, or anything that is not plainly a quantity is refused with a message that says what to
    write instead.

    Parameters
    ----------
    text : str
        Number and unit: ``"4.5 Mgal/day"``, ``"1,200 m3"``, ``"8 % to 14 %"``.
    dimension : str
        One of `DIMENSIONS`.
    name : str
        What the quantity is for, for the message: ``"a capacity"``.

    Returns
    -------
    Quantity
        Value, low and high in the held unit of the dimension.

    Raises
    ------
    InputError
        The text is not a quantity of this dimension.

    Examples
    --------
    >>> parse("12 ML/day", "flow").value
    12000.0
    >>> parse("8 % to 14 %", "share").high
    0.14
    """
    return _parse(text, dimension, name)


@lru_cache(maxsize=8192)
def _parse(text: str, dimension: str, name: str) -> Quantity:
    clean = text.translate(_PRETTY).strip()
    if not clean:
        _refuse("the text is empty.", f"Write for example {_example(dimension)}.")
    if len(clean) > 120:
        _refuse(f"{quoted(text)} is too long for a quantity.", "Write a number and a unit.")
    parts = re.split(r"\s+to\s+|\s*–\s*", clean)
    if len(parts) == 1:
        value = _one(clean, clean, dimension, name)
        return Quantity(value, value, value, text)
    if len(parts) > 2:
        _refuse(f"{quoted(text)} has more than two ends.", 'Write a range as "8 % to 14 %".')
    return _range(parts[0], parts[1], dimension, name)._replace(text=text)


def _range(first: str, last: str, dimension: str, name: str) -> Quantity:
    whole = f"{first} to {last}"
    if re.fullmatch(_DIGITS, first) and (end := _AMOUNT.fullmatch(last)):
        first = f"{first} {end[2]}".strip()
    low, high = (_one(part, whole, dimension, name) for part in (first, last))
    if low > high:
        _refuse(f"{quoted(whole)} runs backwards.", "Write the smaller value first.")
    return Quantity((low + high) / 2, low, high, whole)


def _one(part: str, whole: str, dimension: str, name: str) -> float:
    """Value of one end, checked for size and sign."""
    spec = DIMENSIONS[dimension]
    number, unit = _split(part, whole, dimension)
    value = _held(number, unit, whole, dimension, name)
    if not math.isfinite(value) or abs(value) > _LARGEST:
        _refuse(f"{quoted(whole)} is far too large.", "Check the number.")
    if 0 < abs(value) < _SMALLEST:
        _refuse(f"{quoted(whole)} is too small to count.", "Write 0 if it is nothing.")
    if value < 0 and not spec.signed:
        _refuse(f"{quoted(whole)} is negative, but {name or spec.phrase} is zero or more.",
                "Leave out the minus sign.")
    if dimension == "share" and value > 1:
        hint = f'Write "{number:g} %" if that is meant.' if not unit and number <= 100 else ""
        _refuse(f"{quoted(whole)} is more than the whole.", hint or "Write at most 100 %.")
    if dimension == "angle" and abs(value) > 90:
        _refuse(f"{quoted(whole)} lies beyond the pole.", "Write -90 deg to 90 deg.")
    return value


def _split(part: str, whole: str, dimension: str) -> tuple[float, str]:
    latitude = _LATITUDE.fullmatch(part) if dimension == "angle" else None
    if latitude:
        sign = -1.0 if latitude[2] in "Ss" else 1.0
        return sign * float(latitude[1].replace(",", "")), "deg"
    amount = _AMOUNT.fullmatch(part)
    if amount:
        return float(amount[1].replace(",", "")), amount[2].strip()
    if _DECIMAL_COMMA.match(part):
        _refuse(f"{quoted(whole)}: a comma only groups thousands (1,200).",
                "Write a decimal point: 4.5.")
    if _UNIT_WORD.match(part):
        _refuse(f"{quoted(whole)} does not begin with a number.",
                f"Write for example {_example(dimension)}.")
    _refuse(f"{quoted(whole)} is not a number with a unit.",
            f"Write for example {_example(dimension)}.")


def _held(number: float, unit: str, whole: str, dimension: str, name: str) -> float:
    spec = DIMENSIONS[dimension]
    if not unit:
        if dimension in ("share", "count") or (number == 0 and not spec.signed):
            return number
        _refuse(f"{quoted(whole)} has no unit.", f"Write for example {_example(dimension)}.")
    factor, powers = _unit(unit, whole, dimension)
    if dimension == "count" and powers == _NONE and "%" not in unit:
        powers = _PEOPLE
    if powers != spec.powers:
        _wrong_kind(whole, unit, powers, spec, name)
    if dimension == "temperature":
        return (number - 32) * 5 / 9 if unit in _FAHRENHEIT else number
    return number * (factor / spec.factor)


def _unit(unit: str, whole: str, dimension: str) -> tuple[float, Powers]:
    """Factor and powers of a unit such as gal/person/day."""
    for pattern, replacement in _REWRITES:
        unit = pattern.sub(replacement, unit)
    pieces = re.split(r"([/ ])", unit)
    words, signs = pieces[::2], [" ", *pieces[1::2]]
    below = "".join(signs).partition("/")[2]
    if len(words) > 5 or " " in below:
        _refuse(f"{quoted(whole)} has a unit that cannot be read safely.",
                f"Write for example {_example(dimension)}.")
    factor, powers = 1.0, _NONE
    for word, sign in zip(words, signs, strict=True):
        one, own = _word(word, whole, dimension)
        turn = -1 if sign == "/" else 1
        factor *= one**turn
        powers = tuple(a + turn * b for a, b in zip(powers, own, strict=True))  # type: ignore[assignment]
    return factor, powers


def _word(word: str, whole: str, dimension: str) -> tuple[float, Powers]:
    match = _UNIT_WORD.fullmatch(word)
    if not match:
        _refuse(f"{quoted(whole)} is not a number with a unit.",
                f"Write for example {_example(dimension)}.")
    stem, power = match[1], int(match[2] or 1)
    if stem in _REFUSED:
        _refuse(f"{quoted(whole)}: {_REFUSED[stem]}", "")
    known = _WORDS.get(stem) or _WORDS.get(_FOLDED.get(stem.lower(), "")) or _from_pint(stem)
    if known is None:
        _refuse(f'{quoted(whole)}: the unit "{stem}" is not known.',
                f"Write for example {_example(dimension)}.")
    factor, powers = known
    return factor**power, tuple(power * p for p in powers)  # type: ignore[return-value]


@lru_cache(maxsize=512)
def _from_pint(word: str) -> tuple[float, Powers] | None:
    """Look a rare unit up in pint; one bare word, never an expression."""
    if len(word) < 2 or not word.isascii() or not word.isalpha():
        return None
    import pint

    try:
        unit = _registry().Quantity(1.0, word).to_base_units()
    except (pint.errors.PintError, AttributeError, ValueError, TypeError):
        return None
    powers = dict(unit.dimensionality)
    length, time = int(powers.pop("[length]", 0)), int(powers.pop("[time]", 0))
    if powers or not (length or time):
        return None
    return float(unit.magnitude) * _SECOND**time, (length, time, 0, 0, 0)


@lru_cache(maxsize=1)
def _registry():  # type: ignore[no-untyped-def]
    import pint

    return pint.UnitRegistry(cache_folder=None)


def _wrong_kind(whole: str, unit: str, powers: Powers, spec: Dimension, name: str) -> NoReturn:
    kind = _KINDS.get(powers, "none of the quantities used here")
    wanted = f"but {name} is {spec.phrase}" if name else f"but {spec.phrase} is wanted"
    if spec.powers == _FLOW and powers == _EACH:
        wanted += " for the whole town"
    example = f'"{whole}/day"' if (powers, spec.powers) in (
        (_VOLUME, _FLOW), ((3, 0, -1, 0, 0), _EACH)) else f'"{spec.examples[0]}"'
    _refuse(f"{quoted(whole)} is {kind}, {wanted}.", f"Write for example {example}.")


def _example(dimension: str) -> str:
    return f'"{DIMENSIONS[dimension].examples[0]}"'


def quoted(text: str) -> str:
    """The text as given, short enough for one line and without control characters.

    Parameters
    ----------
    text : str
        Anything that was typed.

    Returns
    -------
    str
        In quotes, at most 60 characters.
    """
    plain = "".join(c if c.isprintable() else " " for c in text)
    return f'"{plain if len(plain) <= 60 else plain[:57] + "..."}"'


def refusal(what: str, cure: str) -> InputError:
    """The error for one value that cannot be taken; who asks adds where it stands.

    Parameters
    ----------
    what : str
        What is wrong with it.
    cure : str
        What to write instead.

    Returns
    -------
    InputError
        To be raised.
    """
    return InputError(Problem("", what, cure))


def _refuse(what: str, cure: str) -> NoReturn:
    raise refusal(what, cure)
