"""What the schema says of a key, in the units asked for: its default, usual range and bounds."""

from __future__ import annotations

import re

from hydroloop.errors import InputError
from hydroloop.scenario.explain import NAME
from hydroloop.scenario.tree import find
from hydroloop.units import format_quantity, parse
from hydroloop.units.printing import System

_QUANTITY = r"-?\d[\d.,]*(?:e-?\d+)? ?[^\s;,]*(?:/[^\s;,]+)*"
_SPAN = re.compile(rf"({_QUANTITY})(?: to ({_QUANTITY}))?")


def in_units(text: str, key: str, system: System) -> str:
    """A quantity, or one to another, of a key in the units asked for; anything else as it is."""
    here, found = find(key.replace(NAME, "any").split(".")), _SPAN.fullmatch(text)
    if here is None or here.dimension in ("", "duration") or found is None:
        return text
    unit = found[0].rpartition(" ")[2]
    ends = [
        end if " " in end or end.endswith("%") else f"{end} {unit}" for end in found.groups() if end
    ]
    try:
        shown = [
            format_quantity(parse(end, here.dimension).value, here.dimension, system)
            for end in ends
        ]
    except InputError:  # a plain number
        return text
    return " to ".join(shown)
