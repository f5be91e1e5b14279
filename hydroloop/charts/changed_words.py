"""What was changed before a run, in words: keys that differ, with what stands for them now."""

from __future__ import annotations

import re
from collections.abc import Sequence

from hydroloop.charts.words import joined, key_words, place_words
from hydroloop.placenames import Names, possessive, stage_words
from hydroloop.units import one_line

NOT_SET = "not set"
"""What stands for a key of a table that a scenario does without."""

_MOST_PLACES, _LONGEST = 4, 40
_SCALE, _AS_WRITTEN = ".scale", (NOT_SET, "default", "1")


def changed_sentence(
    rows: Sequence[Sequence[str]], names: Names, first: str = "Changed", *, most: int = 4
) -> str:
    """Keys that differ (key, before, after) in a sentence: `Changed: people of Larkmill 30,000, not
    20,000; inflow of the Wren times 0.5.`; the same change in several places is told once."""
    alike: dict[tuple[str, str], list[Sequence[str]]] = {}
    for row in rows:
        kind, *rest = row[0].split(".")
        star = ".".join([kind, "*", *rest[1:]]) if len(rest) > 1 else row[0]
        alike.setdefault((star, row[2]), []).append(row)
    said = list(
        dict.fromkeys(
            _change_words(names, *same[0])
            if len(same) == 1 or after == "-"
            else _same_words(star, same, names)
            for (star, after), same in alike.items()
        )
    )
    more = [f"{len(said) - most} more"] if len(said) > most else []
    return f"{first}: {'; '.join([*said[:most], *more])}."


def changed_line(rows: Sequence[Sequence[str]], names: Names) -> str:
    """The same as the line below a picture's title; nothing where nothing was changed."""
    said = changed_sentence(rows, names, most=3) if rows else ""
    return said.removesuffix(".").replace("m3", "m³").replace("ft3", "ft³")


def _same_words(star: str, rows: Sequence[Sequence[str]], names: Names) -> str:
    """The same change in several places."""
    kind, keys = star.split(".")[0], [row[0].split(".")[1] for row in rows]
    called = [stage_words(key) if kind == "stage" else place_words(key, names) for key in keys]
    places = joined(called) if len(called) <= _MOST_PLACES else f"{len(called)} {kind}s"
    if kind == "stage" and len(called) <= _MOST_PLACES:
        places = f"the stages {places}"
    words = _change_words(names, star, NOT_SET, rows[0][2])
    every = f"every {kind}"
    return words.replace(possessive(every), possessive(places)).replace(every, places)


def _change_words(names: Names, key: str, before: str, after: str) -> str:
    if "-" in (before, after):  # a place that one of the two does not have
        place = key_words(".".join(key.split(".")[:2]), names)
        return f"{place} {'taken out' if after == '-' else 'added'}"
    unit = " people" if key.endswith(".people") else ""
    before, after = (_value(text, unit) for text in (before, after))
    if key == "dry_season.method":
        return f"dry season: {after.replace('_', ' ')}"
    if key.endswith(_SCALE):
        was = "" if before in _AS_WRITTEN else f", not {before}"
        return f"{key_words(key.removesuffix(_SCALE), names)} times {after}{was}"
    was = {NOT_SET: "", "default": ", not the default"}.get(before, f", not {before}")
    return f"{key_words(key, names)} {after}{was}"


def _value(text: str, unit: str) -> str:
    short = one_line(text.removesuffix(" (default)").removesuffix(unit), _LONGEST)
    return f"{int(short):,}" if short.isdigit() else re.sub(r"^(\d+)\.0$", r"\1", short)
