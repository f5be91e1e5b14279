"""What places are called: the name that a scenario file gives them, or else their key in words.

Keys are plain, so that they can stand in names of stores, in dotted keys and on a command line;
people read names. The scenario or the record that was opened last says what its keys are called.
"""

from __future__ import annotations

import json
from collections.abc import Mapping

from hydroloop.units import one_line

LONGEST_NAME = 60
"""Letters of a place's name."""

NAMES = "place_names"
"""Attribute of a record that tells names by key, as JSON."""

_GIVEN: dict[str, str] = {}


def call_places(names: Mapping[str, str | None]) -> None:
    """Call places, by key, as they are called from here on; None for the key itself in words."""
    for place, name in names.items():
        if name is None:
            _GIVEN.pop(place, None)
        else:
            _GIVEN[place] = name


def call_as_told(told: object) -> None:
    """Call places as a record tells it; what is no table of names is passed over."""
    try:
        names = json.loads(told) if isinstance(told, str) else None
    except ValueError:
        return
    if isinstance(names, dict):
        call_places({place: one_line(name, LONGEST_NAME) for place, name in names.items()
                     if isinstance(name, str) and name.strip()})


def given_names(places: Mapping[str, object]) -> dict[str, str]:
    """The names that were given to some places, by key."""
    return {place: _GIVEN[place] for place in places if place in _GIVEN}


def all_given_names() -> dict[str, str]:
    """All names that are given now, for another process."""
    return dict(_GIVEN)


def place_words(place: str) -> str:
    """A place as it stands in a sentence: its name, or ``green_river`` as ``Green River``."""
    return _GIVEN.get(place) or place.replace("_", " ").title()


def river_words(river: str) -> str:
    """A river in a sentence, with its article: ``the Wren``."""
    words = place_words(river)
    return f"the {words[4:]}" if words[:4].lower() == "the " and words[4:] else f"the {words}"


def stage_words(stage: str) -> str:
    """A drought stage in words: ``severe_drought`` as ``severe drought``."""
    return stage.replace("_", " ")


def reservoir_words(reservoir: str) -> str:
    """A reservoir in a sentence: ``the Heronwater reservoir``."""
    words = river_words(reservoir)
    return words if words.lower().endswith((" reservoir", " lake")) else f"{words} reservoir"
