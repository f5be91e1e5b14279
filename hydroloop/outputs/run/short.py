"""The short answer of a run: what a teacher with ten minutes reads, the town that matters first."""

from __future__ import annotations

import math

from hydroloop.outputs.document import Block, Paragraph
from hydroloop.outputs.run.answer import account_sentence, season_sentences
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.shortage_cause import cause_of_shortage
from hydroloop.outputs.run.trouble import (
    LEADS,
    low_river_sentence,
    shortage_sentences,
    shortages_of,
    stage_sentences,
    untreated_sentences,
)

_MOST_WITH_DAY = 1  # sentences on trouble beside which the most-used day still has room


def short_answer(result: Result) -> list[Block]:
    """A shortage or cut that matters, how much of each town's water was used, other trouble."""
    short = shortages_of(result)
    drought = [*shortage_sentences(short, result.names), *stage_sentences(result)]
    if low := low_river_sentence(result):
        drought.append(low)
    if short and (why := cause_of_shortage(result, short[0])):
        drought[0] = f"{drought[0]} {why}"
    cut = max((share for share in result.values("cut_share") if share == share), default=0.0)
    leads = (bool(short) and short[0].got < LEADS) or cut > 1.0 - LEADS
    spilled = untreated_sentences(result)
    has_room = len(drought) + len(spilled) <= _MOST_WITH_DAY
    used = [
        season_sentences(result, town, brief=leads and not (has_room and place == 0))
        for place, town in enumerate(by_used_share(result))
    ]
    fine = _fine(bool(short), bool(spilled))
    account = " ".join(one for one in (fine, account_sentence(result)) if one)
    said = [*(drought if leads else []), *used, *([] if leads else drought), *spilled, account]
    if result.scenario.ranges:
        its = "its range" if len(result.scenario.ranges) == 1 else "their ranges"
        said.append(f"Taken at the middle of {its}: {', '.join(result.scenario.ranges)}.")
    return [Paragraph(words) for words in said]


def by_used_share(result: Result) -> list[str]:
    """Towns by the used share of their season, the most used first."""
    shares = dict(zip(result.towns, result.values("season_used_share"), strict=True))
    return sorted(shares, key=lambda town: -shares[town] if math.isfinite(shares[town]) else 1.0)


def headline(result: Result) -> str:
    """The town that an answer is about: the one that is in trouble, or the most used."""
    short = shortages_of(result)
    return short[0].town if short and short[0].got < LEADS else result.most_used_town


def _fine(is_short: bool, is_spilled: bool) -> str:
    """What went well."""
    parts = ([] if is_short else ["nobody ran short of water"]) + (
        [] if is_spilled else ["no sewage went untreated"]
    )
    said = " and ".join(parts)
    return f"{said[0].upper()}{said[1:]}." if said else ""
