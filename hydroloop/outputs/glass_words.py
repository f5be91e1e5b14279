"""One glass of tap water, in words."""

from __future__ import annotations

import math

import numpy as np

from hydroloop.charts.asking import mean_member
from hydroloop.charts.days_ago import UNDATED, last_use_of
from hydroloop.charts.words import date_words, joined, percent, place_words, use_words
from hydroloop.gates import USES
from hydroloop.outputs.answer import mean_uses_sentence, town_sentences
from hydroloop.outputs.result import Result
from hydroloop.outputs.table import as_lines, known
from hydroloop.outputs.wording import big, wrap

_BAR = 40  # letters of a full bar
_SHOWN = 0.0005


def glass_lines(result: Result, town: str) -> list[str]:
    """The glass of a town in words: layers, uses, toilets, time since the last use, molecules.

    Parameters
    ----------
    result : Result
        A finished run; the day is that of its table of measures.
    town : str
        Name of the town.

    Returns
    -------
    list of str
        Lines of text.
    """
    day = result.glass_day(town)
    if np.isnat(day):
        return [f"No tap water reached the homes of {place_words(town)}."]
    used = float(result.on_day("used_share", town, day))
    lines = [f"A glass of tap water in {place_words(town)}, {date_words(day)}", "",
             *_layers(result, town, day), ""]
    said = [town_sentences(result, town, day)]
    if used >= _SHOWN:
        said += [mean_uses_sentence(float(result.on_day("mean_uses", town, day)), used,
                                    result.use),
                 *_toilets(result, town, day), *_last_use(result, town, day, used)]
    said += _molecules(result, town)
    return lines + [line for words in said for line in wrap(words, "  ")]


def _layers(result: Result, town: str, day: np.datetime64) -> list[str]:
    """One bar for each number of uses, as a glass laid on its side."""
    shares = [float(share) for share in result.on_day("use_share", town, day).values]
    last = len(shares) - 1
    named = [(use_words(times, last) if times else f"never {result.use.within}", share)
             for times, share in enumerate(shares)]
    named.append(("past unknown", float(result.on_day("unknown_share", town, day))))
    return as_lines([[name, percent(share), ("#" * round(_BAR * share)).ljust(_BAR)]
                     for name, share in named if share > _SHOWN])


def _toilets(result: Result, town: str, day: np.datetime64) -> list[str]:
    if "toilet_share" not in result.table or result.use is USES["toilet"]:
        return []
    share = float(result.on_day("toilet_share", town, day))
    where = " on this map" if "used_before" in result.record else ""
    return [f"{percent(share)} of it has flushed a toilet{where}."] if math.isfinite(share) else []


def _last_use(result: Result, town: str, day: np.datetime64, used: float) -> list[str]:
    """The bars beside the glass in words, and the median; the same numbers as in the picture."""
    time = result.table["time"].values
    step = int(np.searchsorted(time, day, side="right")) - 1
    ago = last_use_of(mean_member(result.table).sel(town=town), step, used)
    if ago is None:
        return []
    whole = sum(share for _, share in ago.bars)
    parts = [(percent(share / whole), words) for words, share in ago.bars]
    dated, undated = ([one for one in parts if (one[1] in UNDATED) == is_so]
                      for is_so in (False, True))
    said = []
    if dated:
        (first, words), *rest = dated
        listed = joined([f"{first} was last {result.use.within} {words}", *map(" ".join, rest)])
        said.append(f"Of the used part, {listed}.")
    if undated:
        where = joined([f"{words} for {share}" for share, words in undated])
        said.append(f"The last use was {where} of {'it' if dated else 'the used part'}: how long "
                    "ago is not known.")
    if math.isfinite(ago.median):
        part = "it" if not undated else "the used part" if ago.is_known else (
            "what was used within the season")
        said.append(f"Half of {part} was {result.use.within} {_within(ago.median)}.")
    return [" ".join(said)]


def _within(days: float) -> str:
    if days < 0.5:
        return "on the same day"
    return f"within the last {days:.0f} {'day' if round(days) == 1 else 'days'}"


def _molecules(result: Result, town: str) -> list[str]:
    whole = result.value("molecules_in_a_glass")
    month = result.value("molecules_in_homes_last_month", town=town)
    if not math.isfinite(whole):
        return []
    said = f"A glass of 250 mL holds {big(whole)} molecules of water"
    if not math.isfinite(month) or month < 1.0:
        return [f"{said}."]
    return [f"{said}; {big(month)} of them were {result.use.within} within the last 30 days."]


def glass_facts(result: Result, town: str) -> dict[str, object]:
    """The glass of a town as plain values, for JSON.

    Parameters
    ----------
    result : Result
        A finished run.
    town : str
        Name of the town.

    Returns
    -------
    dict
        Shares [-], days [d], molecules [-]; None where there is no value.
    """
    day = result.glass_day(town)
    daily = ("used_share", "mean_uses", "unknown_share", "toilet_share", "return_ratio")
    of_glass = ("last_use_median", "within_7", "within_30", "within_90",
                "molecules_in_homes_last_month")
    facts: dict[str, object] = {"scenario": result.scenario.title, "town": town,
                                "date": str(day)[:10]}
    if np.isnat(day):
        return facts
    facts["use_share"] = [float(share) for share in result.on_day("use_share", town, day).values]
    for name in daily:
        if name in result.table:
            facts[name] = known(result.on_day(name, town, day))
    facts |= {name: known(result.value(name, town=town)) for name in of_glass}
    facts["molecules_in_a_glass"] = known(result.value("molecules_in_a_glass"))
    return facts
