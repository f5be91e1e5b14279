"""Types of the schema: a text with a unit on the outside, a float inside.

The name of a type says what it is; the unit in which it is held is that of `units.DIMENSIONS`.
"""

from __future__ import annotations

import datetime as dt
import math
import re
from typing import Annotated, Any, get_args

from pydantic import BeforeValidator, Field, PlainValidator, ValidationInfo, WithJsonSchema
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError

from hydroloop import units
from hydroloop.errors import InputError

# Keys that are called "a capacity", "an area" in a message; others are called "this key".
_NOUNS = frozenset(
    (
        "capacity",
        "permit",
        "length",
        "width",
        "volume",
        "area",
        "catchment",
        "inflow",
        "speed",
        "release",
        "storage",
        "recession",
        "elevation",
        "latitude",
        "cell",
        "depression",
        "tank",
        "travel_time",
        "minimum_flow",
        "reference_flow",
        "soil_depth",
        "use_per_person",
        "area_per_person",
        "step",
        "baseflow",
        "infiltration",
        "clearwell",
    )
)
_PLACES = frozenset(("at", "joins_at"))


_NUMBER = r"[-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?"
LONGEST_QUANTITY = 120
"""Characters of a quantity: no pattern runs long on so few."""
_NUMBERS = re.compile(rf"\s*({_NUMBER})\s*(?:\bto\b|\u2013)\s*({_NUMBER})\s*")


class Plain:
    """Marks a field as a number without a unit, or a range of such."""


class Held:
    """Marks a field as a quantity of one dimension."""

    def __init__(self, dimension: str):
        self.dimension = dimension


def called(name: str) -> str:
    """A key as a noun with its article; `this key` for a name that is no noun in the singular."""
    if name not in _NOUNS:
        return "this key"
    return ("an " if name[0] in "aeio" else "a ") + name.replace("_", " ")


def read(value: Any, dimension: str, name: str = "") -> units.Quantity:
    """Turn what stands in the file into a quantity in its held unit: a text with a unit; a plain
    number only for a share, for people, or for zero."""
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        example = units.DIMENSIONS[dimension].examples[0]
        raise units.refusal(f"{shown(value)} is not a quantity.", f'Write for example "{example}".')
    text = value if isinstance(value, str) else _plain(value)
    if name in _PLACES and text.lstrip().startswith(("-", "\u2212")):
        raise units.refusal(
            f'"{text}" lies above the head of the river.',
            "Distances count down from the head, which is at 0 km.",
        )
    return units.parse(text, dimension, name=called(name))


def _plain(value: float) -> str:
    if isinstance(value, int):
        if abs(value) >= 10**15:
            raise units.refusal("the number is far too large.", "Check the number.")
        return str(value)
    if not math.isfinite(value):
        raise units.refusal(f"{value} is not a number that can be used.", "Write a finite number.")
    return repr(value)


def shown(value: Any) -> str:
    """A value as it would stand in the file, short enough for one line."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "a table"
    if isinstance(value, list):
        return "a list"
    if isinstance(value, str):
        return units.quoted(value)
    return units.quoted(str(value))[1:-1] if not isinstance(value, int) else _short(value)


def _short(value: int) -> str:
    return str(value) if abs(value) < 10**20 else "a very large number"


def _reader(dimension: str) -> Any:
    def validate(value: Any, info: ValidationInfo) -> float:
        try:
            return read(value, dimension, info.field_name or "").value
        except InputError as error:
            problem = error.problems[0]
            raise PydanticCustomError(
                "quantity", "{what}", {"what": problem.what, "cure": problem.cure}
            ) from None

    return validate


def ends_of(value: Any) -> tuple[float, float] | None:
    """Ends of a number without a unit or of a range, `"0.7 to 0.9"`; else None."""
    if isinstance(value, int | float) and not isinstance(value, bool):
        return value, value
    is_short = isinstance(value, str) and len(value) <= LONGEST_QUANTITY
    found = _NUMBERS.fullmatch(value) if is_short else None
    return (float(found[1]), float(found[2])) if found else None


def _middle(value: Any) -> Any:
    """The middle of a range; anything else as it is, for pydantic to judge."""
    ends = ends_of(value) if isinstance(value, str) else None
    if ends is None:
        return value
    if ends[0] > ends[1]:
        raise PydanticCustomError(
            "quantity",
            "{what}",
            {"what": f"{shown(value)} runs backwards.", "cure": "Write the smaller value first."},
        )
    return (ends[0] + ends[1]) / 2.0


def _schema(dimension: str) -> WithJsonSchema:
    spec = units.DIMENSIONS[dimension]
    return WithJsonSchema(
        {
            "type": ["string", "number"] if dimension in units.WITHOUT_UNIT else "string",
            "description": spec.phrase,
            "examples": list(spec.examples),
        }
    )


def _day(value: Any) -> Any:
    """Take a date in quotes as well as a bare one."""
    if isinstance(value, str):
        try:
            return dt.date.fromisoformat(value.strip())
        except ValueError:
            return value
    return value


Day = Annotated[dt.date, BeforeValidator(_day)]

Flow = Annotated[float, PlainValidator(_reader("flow")), _schema("flow"), Held("flow")]
RiverFlow = Annotated[
    float, PlainValidator(_reader("river_flow")), _schema("river_flow"), Held("river_flow")
]
StoredVolume = Annotated[
    float, PlainValidator(_reader("stored_volume")), _schema("stored_volume"), Held("stored_volume")
]
Volume = Annotated[float, PlainValidator(_reader("volume")), _schema("volume"), Held("volume")]
Length = Annotated[float, PlainValidator(_reader("length")), _schema("length"), Held("length")]
ShortLength = Annotated[
    float, PlainValidator(_reader("short_length")), _schema("short_length"), Held("short_length")
]
Area = Annotated[float, PlainValidator(_reader("area")), _schema("area"), Held("area")]
SmallArea = Annotated[
    float, PlainValidator(_reader("small_area")), _schema("small_area"), Held("small_area")
]
Depth = Annotated[float, PlainValidator(_reader("depth")), _schema("depth"), Held("depth")]
Share = Annotated[float, PlainValidator(_reader("share")), _schema("share"), Held("share")]
YearlyGrowth = Annotated[
    float, PlainValidator(_reader("growth")), _schema("growth"), Held("growth")
]
Duration = Annotated[
    float, PlainValidator(_reader("duration")), _schema("duration"), Held("duration")
]
PerPerson = Annotated[
    float, PlainValidator(_reader("per_person")), _schema("per_person"), Held("per_person")
]
Speed = Annotated[float, PlainValidator(_reader("speed")), _schema("speed"), Held("speed")]
Angle = Annotated[float, PlainValidator(_reader("angle")), _schema("angle"), Held("angle")]
Elevation = Annotated[
    float, PlainValidator(_reader("elevation")), _schema("elevation"), Held("elevation")
]
Temperature = Annotated[
    float, PlainValidator(_reader("temperature")), _schema("temperature"), Held("temperature")
]
Number = Annotated[float, BeforeValidator(_middle), Plain()]
Count = Annotated[float, PlainValidator(_reader("count")), _schema("count"), Held("count")]
Months = Annotated[list[RiverFlow], Field(min_length=12, max_length=12)]


def dimension_of(field: FieldInfo) -> str:
    """Dimension of a field (in `units.DIMENSIONS`), empty where it is no quantity."""
    for mark in field.metadata:
        if isinstance(mark, Held):
            return mark.dimension
    return _mark_in(field.annotation)


def is_plain(field: FieldInfo) -> bool:
    """Whether a field is a number without a unit that may be a range."""
    return any(isinstance(mark, Plain) for mark in field.metadata)


def _mark_in(annotation: Any) -> str:
    for mark in getattr(annotation, "__metadata__", ()):
        if isinstance(mark, Held):
            return mark.dimension
    for inner in get_args(annotation):
        if found := _mark_in(inner):
            return found
    return ""
