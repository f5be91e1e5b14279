"""What places are called: the name that a scenario file gives them, or else their key in words.

Keys are plain, so that they can stand in names of stores, in dotted keys and on a command line;
people read names. A scenario knows the names of its places; its record, and every table made of
it, carries them along.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from functools import lru_cache
from typing import TYPE_CHECKING

from hydroloop.units import one_line

if TYPE_CHECKING:
    import xarray as xr

LONGEST_NAME = 60
"""Letters of a place's name."""

Names = Mapping[str, str]
"""Names that were given to places, by key."""

NO_NAMES: Names = {}

_TOLD = "place_names"


def with_names(table: xr.Dataset, names: Names) -> xr.Dataset:
    """A record or a table that tells the names of its places."""
    if not names:
        return table
    return table.assign_attrs({_TOLD: json.dumps(dict(names), ensure_ascii=False)})


def names_of(table: xr.Dataset) -> Names:
    """The names that a record or a table tells; what is no table of names is passed over."""
    told = table.attrs.get(_TOLD)
    return _names_in(told) if isinstance(told, str) else NO_NAMES


@lru_cache(maxsize=100)
def _names_in(told: str) -> Names:
    try:
        names = json.loads(told)
    except ValueError:
        return NO_NAMES
    if not isinstance(names, dict):
        return NO_NAMES
    return {
        place: one_line(name, LONGEST_NAME)
        for place, name in names.items()
        if isinstance(name, str) and name.strip()
    }


def place_words(place: str, names: Names) -> str:
    """A place as it stands in a sentence: its name, or ``green_river`` as ``Green River``. What is
    no key, as ``above the map``, stays as it is."""
    return names.get(place) or (place if " " in place else place.replace("_", " ").title())


def possessive(name: str) -> str:
    """Whose something is.

    Examples
    --------
    >>> possessive("Larkmill"), possessive("Twin Falls"), possessive("St. Mary's")
    ("Larkmill's", "Twin Falls'", "St. Mary's")
    """
    if name.lower().endswith(("'s", "’s", "'", "’")):
        return name  # is one already: St. Mary's loop
    return f"{name}'" if name.lower().endswith("s") else f"{name}'s"


def river_words(river: str, names: Names) -> str:
    """A river in a sentence, with its article: ``the Wren``."""
    words = place_words(river, names)
    return f"the {words[4:]}" if words[:4].lower() == "the " and words[4:] else f"the {words}"


def stage_words(stage: str) -> str:
    """A drought stage in words: ``severe_drought`` as ``severe drought``."""
    return stage.replace("_", " ")


def reservoir_words(reservoir: str, names: Names) -> str:
    """A reservoir in a sentence: ``the Heronwater reservoir``."""
    words = river_words(reservoir, names)
    return words if words.lower().endswith((" reservoir", " lake")) else f"{words} reservoir"
