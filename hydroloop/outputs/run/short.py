"""The short answer of a run: what a teacher with ten minutes reads, the town that matters first."""

from __future__ import annotations

import math
from collections.abc import Sequence

from hydroloop.charts.because_words import LITTLE
from hydroloop.outputs.document import Block, Paragraph
from hydroloop.outputs.run.answer import account_sentence, others_sentence, season_sentences
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.shortage_cause import cause_of_shortage
from hydroloop.outputs.run.trouble import (
    LEADS,
    low_river_sentence,
    shortage_sentences,
    stage_sentences,
    untreated_sentences,
)

_MOST_WITH_DAY = 1  # sentences on trouble beside which the most-used day still has room


def short_answer(result: Result) -> list[Block]:
    """A shortage or cut that matters, how much of each town's water was used, other trouble."""
    short = result.shortages
    drought = [*shortage_sentences(short, result), *stage_sentences(result)]
    if low := low_river_sentence(result):
        drought.append(low)
    if short and (why := cause_of_shortage(result, short[0])):
        drought[0] = f"{drought[0]} {why}"
    leads = in_trouble(result)
    spilled = untreated_sentences(result, brief=bool(short))
    has_room = len(drought) + len(spilled) <= _MOST_WITH_DAY
    used = (
        _in_brief(result, has_day=has_room)
        if leads
        else _town_by_town(result, by_used_share(result))
    )
    fine = _fine(bool(short), bool(spilled))
    account = " ".join(one for one in (fine, account_sentence(result)) if one)
    said = [*(drought if leads else []), *used, *([] if leads else drought), *spilled, account]
    if result.scenario.ranges:
        its = "its range" if len(result.scenario.ranges) == 1 else "their ranges"
        said.append(f"Taken at the middle of {its}: {', '.join(result.scenario.ranges)}.")
    return [Paragraph(words) for words in said]


def _town_by_town(result: Result, towns: Sequence[str], *, brief: bool = False) -> list[str]:
    return [season_sentences(result, town, brief=brief) for town in towns]


def _in_brief(result: Result, *, has_day: bool) -> list[str]:
    """The town with most used water in full, and the others in a sentence after it."""
    first, *others = by_used_share(result)
    if not result.value("season_used_share", town=first) >= LITTLE:
        return _town_by_town(result, [first, *others], brief=True)
    dry = [town for town in others if math.isnan(result.value("season_used_share", town=town))]
    wet = [town for town in others if town not in dry]
    said = season_sentences(result, first, brief=not has_day)
    return [
        f"{said} {others_sentence(result, wet)}" if wet else said,
        *_town_by_town(result, dry, brief=True),
    ]


def by_used_share(result: Result) -> list[str]:
    """Towns by the used share of their season, the most used first."""
    shares = dict(zip(result.towns, result.values("season_used_share"), strict=True))
    return sorted(shares, key=lambda town: -shares[town] if math.isfinite(shares[town]) else 1.0)


def headline(result: Result) -> str:
    """The town that an answer is about: the one that is in trouble, or the most used."""
    short = result.shortages
    return short[0].town if short and short[0].got < LEADS else result.most_used_town


def in_trouble(result: Result) -> bool:
    """Whether a shortage or what drought stages cut matters more than how much was used before."""
    short = result.shortages
    cut = max((share for share in result.values("cut_share") if share == share), default=0.0)
    return (bool(short) and short[0].got < LEADS) or cut > 1.0 - LEADS


def _fine(is_short: bool, is_spilled: bool) -> str:
    """What went well."""
    parts = ([] if is_short else ["nobody ran short of water"]) + (
        [] if is_spilled else ["no sewage went untreated"]
    )
    said = " and ".join(parts)
    return f"{said[0].upper()}{said[1:]}." if said else ""
