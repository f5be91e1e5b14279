"""One glass of tap water, in words."""

from __future__ import annotations

import math

import numpy as np

from hydroloop.charts.words import date_words, joined, percent, place_words, use_words
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
    said = [town_sentences(result, town)]
    if used >= _SHOWN:
        said += [mean_uses_sentence(float(result.on_day("mean_uses", town, day)), used),
                 *_toilets(result, town, day), *_last_use(result, town)]
    said += _molecules(result, town)
    return lines + [line for words in said for line in wrap(words, "  ")]


def _layers(result: Result, town: str, day: np.datetime64) -> list[str]:
    """One bar for each number of uses, as a glass laid on its side."""
    shares = [float(share) for share in result.on_day("use_share", town, day).values]
    last = len(shares) - 1
    named = [(use_words(use, last), share) for use, share in enumerate(shares)]
    named.append(("past unknown", float(result.on_day("unknown_share", town, day))))
    return as_lines([[name, percent(share), ("#" * round(_BAR * share)).ljust(_BAR)]
                     for name, share in named if share > _SHOWN])


def _toilets(result: Result, town: str, day: np.datetime64) -> list[str]:
    if "toilet_share" not in result.table:
        return []
    share = float(result.on_day("toilet_share", town, day))
    return [f"{percent(share)} of it has flushed a toilet."] if math.isfinite(share) else []


def _last_use(result: Result, town: str) -> list[str]:
    median = result.value("last_use_median", town=town)
    above = result.value("last_use_before_record", town=town)
    said = [f"{percent(above)} of it was last in a home above the map; how long ago is not known."
            ] if above >= _SHOWN else []
    if not math.isfinite(median):
        return said
    within = [f"{percent(result.value(f'within_{days}', town=town))} within {days} days"
              for days in (7, 30, 90)]
    half = "on the same day" if median < 0.5 else (
        f"within the last {median:.0f} {'day' if round(median) == 1 else 'days'}")
    return [*said, "Of the part last used on the map, half was in a home "
            f"{half}: {joined(within)}."]


def _molecules(result: Result, town: str) -> list[str]:
    whole = result.value("molecules_in_a_glass")
    month = result.value("molecules_in_homes_last_month", town=town)
    if not math.isfinite(whole):
        return []
    said = f"A glass of 250 mL holds {big(whole)} molecules of water"
    if not math.isfinite(month) or month < 1.0:
        return [f"{said}."]
    return [f"{said}; {big(month)} of them were in a home within the last 30 days."]


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
