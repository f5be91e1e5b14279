"""Reading quantities: a number and a unit, or a range of them.

A strict pattern stands in front, and nothing that was typed is ever evaluated. A unit that is not
among the words of the trade is looked up in pint, one bare word at a time; pint is loaded only
then.
"""

from __future__ import annotations

import math
import re
from functools import lru_cache
from typing import Any, NamedTuple

from hydroloop.errors import InputError, Problem
from hydroloop.units.words import (
    DIMENSIONS,
    EACH,
    FAHRENHEIT,
    FLOW,
    FOLDED,
    KINDS,
    NONE,
    PEOPLE,
    REFUSED,
    SECOND,
    VOLUME,
    WITHOUT_UNIT,
    WORDS,
    Dimension,
    Powers,
    dimension_named,
)

_DIGITS = r"[+-]?(?:(?:\d{1,3}(?:,\d{3})+|\d+)(?:\.\d+)?|\.\d+)(?:[eE][+-]?\d{1,3})?(?![\d.,])"
_AMOUNT = re.compile(rf"({_DIGITS})\s*(.*)", re.DOTALL)
_UNIT_WORD = re.compile(r"([A-Za-z_%°]{1,24})(?:(?:\*\*|\^)?([1-3]))?")
_DECIMAL_COMMA = re.compile(r"[+-]?[\d.]*\d,\d")
_LATITUDE = re.compile(rf"({_DIGITS})\s*(?:deg(?:rees?)?\b|°)?\s*(N|S|north|south)")
_REWRITES = (
    (re.compile(r"\bac(?:res?)?[ -](?:ft|foot|feet)\b"), "acre_ft"),
    (re.compile(r"\b(?:cubic|cu\.?) ([A-Za-z]+)"), r"\g<1>^3"),
    (re.compile(r"\b(?:square|sq\.?) ([A-Za-z]+)"), r"\g<1>^2"),
    (re.compile(r"\s+per\s+|\s*/\s*"), "/"),
    (re.compile(r"\s*[*·]\s*(?![*\d])|(?<=[A-Za-z\d])\s+(?=[A-Za-z])"), " "),
)
_PRETTY = str.maketrans({"²": "2", "³": "3", "\u2212": "-", "\u00a0": " ", "\u202f": " "})
_LARGEST, _SMALLEST = 1e15, 1e-12


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
    AskError
        There is no such dimension.
    InputError
        The text is not a quantity of this dimension.

    Examples
    --------
    >>> parse("12 ML/day", "flow").value
    12000.0
    >>> parse("8 % to 14 %", "share").high
    0.14
    """
    dimension_named(dimension)
    if not isinstance(text, str):
        raise refusal(
            f"{text!r} is not written with a unit.",
            f"Write for example {_example(dimension)}, in quotes.",
        )
    return _parse(text, dimension, name)


def in_unit(value: Any, dimension: str, unit: str) -> Any:
    """A held number in another unit.

    The way out, as `parse` is the way in: what a function gives in its own unit, in any other.
    It does not round.

    Parameters
    ----------
    value : float or array
        In the held unit of the dimension.
    dimension : str
        One of `DIMENSIONS`.
    unit : str
        Any unit of the dimension: ``"gpd/ft2"``, ``"lb/day"``.

    Returns
    -------
    float or array
        The same in that unit.

    Raises
    ------
    AskError
        There is no such dimension.
    InputError
        The unit is none of this dimension.

    Examples
    --------
    >>> round(in_unit(25.0, "surface_rate", "gpd/ft2"), 1)
    613.6
    >>> in_unit(20.0, "temperature", "F")
    68.0
    """
    spec = dimension_named(dimension)
    if dimension == "temperature" and unit.lower() in FAHRENHEIT:
        return value * 9 / 5 + 32
    return value / _held(1.0, unit, f"1 {unit}", dimension, spec.phrase)


@lru_cache(maxsize=8192)
def _parse(text: str, dimension: str, name: str) -> Quantity:
    clean = text.translate(_PRETTY).strip()
    if not clean:
        raise refusal("the text is empty.", f"Write for example {_example(dimension)}.")
    if len(clean) > 120:
        raise refusal(f"{quoted(text)} is too long for a quantity.", "Write a number and a unit.")
    parts = re.split(r"\s+to\s+|\s*–\s*", clean)
    if len(parts) == 1:
        value = _one(clean, clean, dimension, name)
        return Quantity(value, value, value, text)
    if len(parts) > 2:
        raise refusal(f"{quoted(text)} has more than two ends.", 'Write a range as "8 % to 14 %".')
    return _range(parts[0], parts[1], dimension, name)._replace(text=text)


def _range(first: str, last: str, dimension: str, name: str) -> Quantity:
    whole = f"{first} to {last}"
    if re.fullmatch(_DIGITS, first) and (end := _AMOUNT.fullmatch(last)):
        first = f"{first} {end[2]}".strip()
    low, high = (_one(part, whole, dimension, name) for part in (first, last))
    if low > high:
        raise refusal(f"{quoted(whole)} runs backwards.", "Write the smaller value first.")
    return Quantity((low + high) / 2, low, high, whole)


def _one(part: str, whole: str, dimension: str, name: str) -> float:
    """Value of one end, checked for size and sign."""
    spec = DIMENSIONS[dimension]
    number, unit = _split(part, whole, dimension)
    value = _held(number, unit, whole, dimension, name)
    if not math.isfinite(value) or abs(value) > _LARGEST:
        raise refusal(f"{quoted(whole)} is far too large.", "Check the number.")
    if 0 < abs(value) < _SMALLEST:
        raise refusal(f"{quoted(whole)} is too small to count.", "Write 0 if it is nothing.")
    if value < 0 and not spec.signed:
        raise refusal(
            f"{quoted(whole)} is negative, but {name or spec.phrase} is zero or more.",
            "Leave out the minus sign.",
        )
    if dimension == "share" and value > 1:
        if not unit and number <= 100:
            raise refusal(
                f"{quoted(whole)} is more than the whole, and has no percent sign.",
                f'Write "{number:g} %".',
            )
        raise refusal(f"{quoted(whole)} is more than the whole.", "Write at most 100 %.")
    if dimension == "angle" and abs(value) > 90:
        raise refusal(f"{quoted(whole)} lies beyond the pole.", "Write -90 deg to 90 deg.")
    return value


def _split(part: str, whole: str, dimension: str) -> tuple[float, str]:
    latitude = _LATITUDE.fullmatch(part) if dimension == "angle" else None
    if latitude:
        if latitude[1][0] in "+-":
            raise refusal(f"{quoted(whole)} has a sign and a direction.", "Write one of them.")
        sign = -1.0 if latitude[2] in ("S", "south") else 1.0
        return sign * float(latitude[1].replace(",", "")), "deg"
    amount = _AMOUNT.fullmatch(part)
    if amount:
        return float(amount[1].replace(",", "")), amount[2].strip()
    if _DECIMAL_COMMA.match(part):
        raise refusal(
            f"{quoted(whole)}: a comma only groups thousands (1,200).",
            "Write a decimal point: 4.5.",
        )
    if _UNIT_WORD.match(part):
        raise refusal(
            f"{quoted(whole)} does not begin with a number.",
            f"Write for example {_example(dimension)}.",
        )
    raise refusal(
        f"{quoted(whole)} is not a number with a unit.", f"Write for example {_example(dimension)}."
    )


def _held(number: float, unit: str, whole: str, dimension: str, name: str) -> float:
    spec = DIMENSIONS[dimension]
    if not unit:
        if dimension in WITHOUT_UNIT or (number == 0 and not spec.signed):
            return number
        raise refusal(f"{quoted(whole)} has no unit.", f"Write for example {_example(dimension)}.")
    factor, powers = _unit(unit, whole, dimension)
    if dimension == "count" and powers == NONE and "%" not in unit:
        powers = PEOPLE
    if powers != spec.powers:
        raise _wrong_kind(whole, powers, spec, name)
    if dimension == "speed" and _is_by_area(unit):
        raise refusal(
            f"{quoted(whole)} is a flow for each area, but a speed is wanted.",
            f"Write for example {_example(dimension)}.",
        )
    if dimension == "temperature":
        return (number - 32) * 5 / 9 if unit.lower() in FAHRENHEIT else number
    return number * (factor / spec.factor)


def _is_by_area(unit: str) -> bool:
    """Whether a unit is written as a flow over an area: it has the powers of a speed."""
    match = _UNIT_WORD.match(unit)
    known = WORDS.get(match[1]) if match else None
    return known is not None and known[1][0] * int(match[2] or 1) > 1  # type: ignore[index]


def _unit(unit: str, whole: str, dimension: str) -> tuple[float, Powers]:
    """Factor and powers of a unit such as gal/person/day."""
    for pattern, replacement in _REWRITES:
        unit = pattern.sub(replacement, unit)
    pieces = re.split(r"([/ ])", unit)
    words, signs = pieces[::2], [" ", *pieces[1::2]]
    below = "".join(signs).partition("/")[2]
    if len(words) > 5 or " " in below:
        raise refusal(
            f"{quoted(whole)} has a unit that cannot be read safely.",
            f"Write for example {_example(dimension)}.",
        )
    factor, powers = 1.0, NONE
    for word, sign in zip(words, signs, strict=True):
        one, own = _word(word, whole, dimension)
        turn = -1 if sign == "/" else 1
        factor *= one**turn
        powers = tuple(a + turn * b for a, b in zip(powers, own, strict=True))  # type: ignore[assignment]
    return factor, powers


def _word(word: str, whole: str, dimension: str) -> tuple[float, Powers]:
    match = _UNIT_WORD.fullmatch(word)
    if not match:
        raise refusal(
            f"{quoted(whole)} is not a number with a unit.",
            f"Write for example {_example(dimension)}.",
        )
    stem, power = match[1], int(match[2] or 1)
    is_weighed = stem == "mg" and DIMENSIONS[dimension].powers[-1] != 0
    if stem in REFUSED and not is_weighed:
        raise refusal(f"{quoted(whole)}: {REFUSED[stem]}", "")
    known = WORDS.get(stem) or WORDS.get(FOLDED.get(stem.lower(), "")) or _from_pint(stem)
    if known is None:
        raise refusal(
            f'{quoted(whole)}: the unit "{stem}" is not known.',
            f"Write for example {_example(dimension)}.",
        )
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
    return float(unit.magnitude) * SECOND**time, (length, time, 0, 0, 0, 0)


@lru_cache(maxsize=1)
def _registry() -> Any:
    import pint

    return pint.UnitRegistry(cache_folder=None)


def _wrong_kind(whole: str, powers: Powers, spec: Dimension, name: str) -> InputError:
    kind = KINDS.get(powers, "none of the quantities used here")
    plainly = name in ("", spec.phrase)
    wanted = f"but {spec.phrase} is wanted" if plainly else f"but {name} is {spec.phrase}"
    if spec.powers == FLOW and powers == EACH:
        wanted += " for the whole town"
    example = (
        f'"{whole}/day"'
        if (powers, spec.powers) in ((VOLUME, FLOW), ((3, 0, -1, 0, 0, 0), EACH))
        else f'"{spec.examples[0]}"'
    )
    return refusal(f"{quoted(whole)} is {kind}, {wanted}.", f"Write for example {example}.")


def _example(dimension: str) -> str:
    return f'"{DIMENSIONS[dimension].examples[0]}"'


def quoted(text: str) -> str:
    """The text as given, in quotes, at most 60 characters and without control characters."""
    return f'"{one_line(text, 60)}"'


def one_line(text: str, most: int) -> str:
    """A text fit for one line of a message: cut off with dots, without control characters."""
    plain = "".join(c if c.isprintable() else " " for c in text)
    return plain if len(plain) <= most else plain[: most - 3] + "..."


def refusal(what: str, cure: str) -> InputError:
    """The error for one value that cannot be taken; who asks adds where it stands."""
    return InputError(Problem("quantity", what, cure))
