"""The answer in sentences: how much of a town's tap water was used before, and how sure that is."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from hydroloop.charts.because_words import LITTLE, adding_up, because_sentence, parts_sentence
from hydroloop.charts.words import (
    date_words,
    joined,
    percent,
    place_words,
    river_words,
    two_figures,
    use_words,
)
from hydroloop.gates import Use
from hydroloop.glossary import term
from hydroloop.outputs.run.place import river_of
from hydroloop.outputs.run.result import Result
from hydroloop.placenames import possessive
from hydroloop.tracing.warm_up import UNSETTLED
from hydroloop.units import display_unit

_ROUNDING = 1e-9
_MUCH_MORE = 1.1  # a day with less than this over the season's share is not worth a sentence


def three_meanings(use: Use) -> dict[str, str]:
    """What the three numbers mean that are all called percent."""
    said = {
        "used_share": f"share of the water that was {use.within} at least once before",
        "mean_uses": "water used twice counts twice",
        "return_ratio": "all return flows upstream over the river flow at the intake, which "
        'studies call "de facto reuse": counts water again each time it is taken again, so it '
        "can pass 100 %",
    }
    return {term(name).with_symbol: words for name, words in said.items()}


def town_sentences(result: Result, town: str, date: np.datetime64 | None = None) -> str:
    """What was in a town's tap water over the season, and on a day: by default the one on which
    most was used before."""
    name = place_words(town, result.names)
    date = result.most_used_day(town) if date is None else date
    if np.isnat(date):
        return f"No tap water reached the homes of {name}."
    shares = result.on_day("use_share", town, date).values
    use, used = result.use, float(shares[1:].sum())
    season = result.value("season_used_share", town=town)
    whole = f"Over the whole season it was {percent(season)}."
    unknown = float(result.on_day("unknown_share", town, date))
    if used < LITTLE:
        return _unused(f"{possessive(name)} tap water", used, unknown, use)
    by_use = _by_use(shares)
    said = (
        f"On {date_words(date)}, {percent(used)} of {possessive(name)} tap water had been "
        f"{use.through} before{by_use}."
    )
    past = f" The past of another {percent(unknown)} is not known." if unknown >= LITTLE else ""
    return " ".join(filter(None, [said, _last_on(result, town, date), whole])) + past


def _last_on(result: Result, town: str, date: np.datetime64) -> str:
    """Where the used part of a day's tap water was used last, if the table tells."""
    if "used_share_by_way" not in result.table:
        return ""
    parts = result.on_day("used_share_by_way", town, date)
    return parts_sentence(parts, town, result.gate, result.names)


def _by_use(shares: np.ndarray) -> str:
    """How the used share is made up: ``: 31 % once and 9 % twice``."""
    last = len(shares) - 1
    parts = [(use, float(shares[use])) for use in range(1, last + 1) if shares[use] >= LITTLE]
    if len(parts) < 2:
        most = 1 + int(shares[1:].argmax())
        nearly = "" if shares[most] > shares[1:].sum() - _ROUNDING else "nearly "
        return f", {nearly}all of it {use_words(most, last)}"
    numbers = adding_up([share for _, share in parts], float(shares[1:].sum()))
    told = [f"{number} %" if number != "0" else "under 1 %" for number in numbers]
    if len(parts) - told.count("under 1 %") == 1:
        told = [percent(share) for _, share in parts]
        told[max(range(len(parts)), key=lambda k: parts[k][1])] = "nearly all of it"
        lead = ", "
    else:
        lead = ": "
    return lead + joined(
        [f"{part} {use_words(use, last)}" for part, (use, _) in zip(told, parts, strict=True)]
    )


def _unused(water: str, used: float, unknown: float, use: Use) -> str:
    """That hardly any or none was used before, as far as its past is known."""
    none = "Hardly any" if used > _ROUNDING else "None"
    if unknown < LITTLE:
        return f"{none} of {water} had been {use.through} before."
    if unknown > 1.0 - LITTLE:
        return f"The past of {water} is not known: it was already there when the record began."
    return (
        f"{none} of {water} is known to have been {use.through} before; the past of "
        f"{percent(unknown)} is not known."
    )


def season_sentences(result: Result, town: str, *, brief: bool = False) -> str:
    """How much of a town's tap water was used before, why, and unless brief on which day most."""
    name, season = place_words(town, result.names), result.value("season_used_share", town=town)
    day = result.most_used_day(town)
    if np.isnat(day) or math.isnan(season):
        return f"No tap water reached the homes of {name}."
    unknown = result.value("season_unknown_share", town=town)
    if not season >= LITTLE:
        return _unused(f"{possessive(name)} tap water", season, unknown, result.use) + (
            "" if brief else _from_above(result, town)
        )
    said = (
        f"{name}: {percent(season)} of the season's tap water had been {result.use.through} before."
    )
    if because := because_sentence(result.table, town):
        said += f" {because}"
    most = float(result.on_day("use_share", town, day)[1:].sum())
    if most > _MUCH_MORE * season and not brief:
        said += f" The most on one day was {percent(most)}, on {date_words(day)}."
    return said + (
        f" The past of another {percent(unknown)} is not known." if unknown >= LITTLE else ""
    )


def others_sentence(result: Result, towns: Sequence[str]) -> str:
    """What goes on after the sentences of the town with most used water, how much it was in others.

    As `In Larkmill it was 10 %, in Tamberly at least 1.5 % and in Quillford none.`"""
    alike: dict[str, list[str]] = {}
    for town in towns:
        alike.setdefault(_other_share(result, town), []).append(place_words(town, result.names))
    (first, names), *more = alike.items()
    if not more and first == "none":
        return f"In {joined(names)} none had."
    said = [f"In {joined(names)} it was {first}", *(f"in {joined(on)} {one}" for one, on in more)]
    return f"{joined(said)}."


def _other_share(result: Result, town: str) -> str:
    season = result.value("season_used_share", town=town)
    unknown = result.value("season_unknown_share", town=town)
    if season < LITTLE:
        return "not known" if unknown >= LITTLE else "hardly any" if season > _ROUNDING else "none"
    return f"at least {percent(season)}" if unknown >= LITTLE else percent(season)


def _from_above(result: Result, town: str) -> str:
    """That a river's water counts as new where it comes onto the map, of a town that drinks it."""
    river = river_of(result.scenario, town)
    if (
        not river
        or result.scenario.river[river].used_before != 0.0
        or result.value("season_unknown_share", town=town) >= LITTLE
    ):
        return ""
    return (
        f" That is on this map: what {river_words(river, result.names)} brings from above "
        f"counts as new (river.{river}.used_before)."
    )


def account_sentence(result: Result) -> str:
    """How well the account closes, and whether what was there at first has settled."""
    gap = float(abs(result.table["balance"].sel(term="gap")).max())
    closes = f"Every drop is accounted for: the largest gap is {_little_water(gap, result)}."
    if not result.table.attrs.get("warm_up_change", 0.0) > UNSETTLED:
        return closes
    return (
        f"{closes} Some of what was there on the first day has not settled, however "
        f"often the first year was repeated (season.warm_up): it only goes round "
        f"{result.use.often}, or hardly moves. What depends on it cannot be told, and is left "
        "out."
    )


def _little_water(volume: float, result: Result) -> str:
    """A gap as a bound, a power of ten of the smallest unit."""
    unit, factor = (
        ("L", 1e3)
        if result.system == "metric"
        else ("gal", display_unit("volume", "us", largest=volume).factor)
    )
    if volume == 0.0:
        return f"0 {unit}"
    power = math.floor(math.log10(volume * factor)) + 1
    return f"under {10.0**power:.{max(0, -power)}f} {unit}"


def mean_uses_sentence(uses: float, used: float, use: Use) -> str:
    """Mean uses, and what they do not mean; `uses` is nan where it cannot be told."""
    if not math.isfinite(uses):
        return f"How often its water has been {use.often} on average cannot be told."
    number = two_figures(uses)
    times = "time" if number == "1" else "times"
    said = f"On average its water has been {use.often} {number} {times}"
    if uses >= 0.9 and used < 1.0:
        return f"{said}; still, {percent(1.0 - used)} of it never was."
    return f"{said}."
