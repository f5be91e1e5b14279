"""One glass of tap water: words, layers, a picture."""

from __future__ import annotations

import math
from functools import partial

import numpy as np

from hydroloop.charts.asking import mean_member
from hydroloop.charts.days_ago import UNDATED, last_use_of, within_words
from hydroloop.charts.words import date_words, joined, percent, place_words, use_words
from hydroloop.gates import USES
from hydroloop.outputs.document import Block, Document, Fact, Paragraph, Picture, TableBlock
from hydroloop.outputs.document.cautions import SAME_WATER, SHORT
from hydroloop.outputs.document.table import Column, Table, known
from hydroloop.outputs.document.wording import big
from hydroloop.outputs.run.answer import mean_uses_sentence, town_sentences
from hydroloop.outputs.run.pictures import Wanted, figure_of
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.whatif.changed import Changed

_BAR = 40  # letters of a full bar
_SHOWN = 0.0005


def glass_document(result: Result, town: str, changed: Changed) -> Document:
    """The glass of a town: layers, uses, toilets, time since the last use, molecules.

    The day is that of the result's table of measures.
    """
    day, place = result.glass_day(town), place_words(town, result.names)
    if np.isnat(day):
        title, facts = f"A glass of tap water in {place}", {"town": Fact(town)}
        blocks: list[Block] = [Paragraph(f"No tap water reached the homes of {place}.")]
    else:
        title, facts = (
            f"A glass of tap water in {place}, {date_words(day)}",
            _facts(result, town, day),
        )
        blocks = [
            *_layers(result, town, day),
            *map(Paragraph, _said(result, town, day)),
            Picture(
                f"{town}-{str(day)[:10]}-glass", partial(figure_of, result, Wanted("glass", town))
            ),
        ]
    return Document(
        "glass",
        title,
        [*changed.blocks, *blocks],
        result.system,
        changed.ran,
        facts,
        (SAME_WATER, *SHORT),
    )


def _said(result: Result, town: str, day: np.datetime64) -> list[str]:
    used = float(result.on_day("used_share", town, day))
    said = [town_sentences(result, town, day)]
    if used >= _SHOWN:
        said += [
            mean_uses_sentence(float(result.on_day("mean_uses", town, day)), used, result.use),
            *_toilets(result, town, day),
            *_last_use(result, town, day, used),
        ]
    return [*said, *_molecules(result, town)]


def _layers(result: Result, town: str, day: np.datetime64) -> list[Block]:
    """One bar for each number of uses, as a glass laid on its side; for scripts the shares."""
    shares = [float(share) for share in result.on_day("use_share", town, day).values]
    last = len(shares) - 1
    named = [
        (use_words(times, last) if times else f"never {result.use.within}", share)
        for times, share in enumerate(shares)
    ]
    every = [*named, ("past unknown", float(result.on_day("unknown_share", town, day)))]
    seen = [one for one in every if one[1] > _SHOWN]
    bars = Table(
        "bars",
        "",
        [
            Column("", [name for name, _ in seen]),
            Column("", [f"{percent(share):>6}" for _, share in seen]),
            Column("", ["#" * round(_BAR * share) for _, share in seen]),
        ],
    )
    layers = Table(
        "layers",
        "Layers of the glass",
        [
            Column("uses", [name for name, _ in every]),
            Column("share", [share for _, share in every], "share"),
        ],
    )
    return [TableBlock(bars, where="people"), TableBlock(layers, where="values")]


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
    dated, undated = (
        [one for one in parts if (one[1] in UNDATED) == is_so] for is_so in (False, True)
    )
    said = []
    if dated:
        (first, words), *rest = dated
        listed = joined([f"{first} was last {result.use.within} {words}", *map(" ".join, rest)])
        said.append(f"Of the used part, {listed}.")
    if undated:
        where = joined([f"{words} for {share}" for share, words in undated])
        said.append(
            f"The last use was {where} of {'it' if dated else 'the used part'}: how long "
            "ago is not known."
        )
    if math.isfinite(ago.median):
        part = (
            "it"
            if not undated
            else "the used part"
            if ago.is_known
            else ("what was used within the season")
        )
        ago_words = within_words(ago.median, "within the last")
        said.append(f"Half of {part} was {result.use.within} {ago_words}.")
    return [" ".join(said)]


def _molecules(result: Result, town: str) -> list[str]:
    whole = result.value("molecules_in_a_glass")
    month = result.value("molecules_in_homes_last_month", town=town)
    if not math.isfinite(whole):
        return []
    said = f"A glass of 250 mL holds {big(whole)} molecules of water"
    if not math.isfinite(month) or month < 1.0:
        return [f"{said}."]
    return [f"{said}; {big(month)} of them were {result.use.within} within the last 30 days."]


def _facts(result: Result, town: str, day: np.datetime64) -> dict[str, Fact]:
    daily = {
        "used_share": "share",
        "mean_uses": "number",
        "unknown_share": "share",
        "toilet_share": "share",
        "return_ratio": "number",
    }
    of_glass = {
        "last_use_median": "duration",
        "within_7": "share",
        "within_30": "share",
        "within_90": "share",
        "molecules_in_homes_last_month": "number",
    }
    return {
        "town": Fact(town),
        "date": Fact(str(day)[:10]),
        **{
            name: Fact(known(result.on_day(name, town, day)), dimension)
            for name, dimension in daily.items()
            if name in result.table
        },
        **{
            name: Fact(known(result.value(name, town=town)), dimension)
            for name, dimension in of_glass.items()
        },
        "molecules_in_a_glass": Fact(known(result.value("molecules_in_a_glass")), "number"),
    }
