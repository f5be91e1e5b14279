"""The opening of a report, for readers who were not there, and its words without keys."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

from hydroloop.charts.words import date_words, joined, place_words, river_words
from hydroloop.outputs.document import Block, Paragraph, Section, TableBlock
from hydroloop.outputs.document.wording import season_span
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.trouble import is_untreated
from hydroloop.outputs.scenario.inputs import Input
from hydroloop.placenames import Names

_MOST_NAMED = 6
_KEY = r"(?:season|weather|river|reservoir|aquifer|town|stage|quality)\.[\w.]+\w"
_IN_BRACKETS = re.compile(rf" \({_KEY}\)")
_BARE = re.compile(_KEY)
_HOW = (
    "This is how it goes: homes use water, a wastewater plant cleans it, and it goes back to a "
    "river or the ground. Towns further on take in water, and clean it again. Law says how "
    "such water must be cleaned and tested."
)


def opening(result: Result, town: str) -> Section:
    """What was looked at, what was found of one town, and what it means, in short."""
    season, names = result.scenario.season, result.names
    towns = [place_words(one, names) for one in result.towns]
    places = joined(towns) if len(towns) <= _MOST_NAMED else f"{len(towns)} towns"
    rivers = [river_words(one, names) for one in result.scenario.river]
    along = f" on {joined(rivers)}" if 0 < len(rivers) <= _MOST_NAMED else ""
    return Section(
        "In short",
        [
            Paragraph(
                f"A computer model followed the water of {places}{along}, from "
                f"{season_span(season.start, season.end)}. It kept count of all water: from the "
                "river through the water plant to the taps, and through homes and sewers back to "
                "the river."
            ),
            Paragraph(_of_drops(result, town)),
            Paragraph(_went_well(result)),
            Paragraph(
                "Below are the answer for each town, pictures, tables of numbers, and all that "
                "the model was told. A model is not the real place. It says nothing about the "
                "tap in your home: for that, ask your water supplier."
            ),
        ],
    )


def _of_drops(result: Result, town: str) -> str:
    """How many drops of a glass had been used, over the season and on the day with most."""
    place, use = place_words(town, result.names), result.use
    share = result.value("season_used_share", town=town)
    if not share >= 0.0005:
        return (
            f"The question was: had any of the water from a tap been {use.within} before? In "
            f"{place} none had, as far as this map goes."
        )
    day = result.most_used_day(town)
    most = float(result.on_day("use_share", town, day)[1:].sum())
    of = 100 if share >= 0.01 else 10_000
    on_day = (
        ""
        if _count(of * most) == _count(of * share)
        else (f" On {date_words(day)} it was {_count(of * most)} of {of:,}, the most of all days.")
    )
    return (
        f"The question was: how much of the water from a tap had been {use.within} before? In "
        f"{place} it was about {_count(of * share)} of {of:,} drops.{on_day} {_HOW}"
    )


def _count(drops: float) -> str:
    return f"{drops:,.0f}"


def _went_well(result: Result) -> str:
    """Whether there was enough, and whether sewage got away."""
    short = [place_words(one.town, result.names) for one in result.shortages]
    enough = (
        "There was enough water for everybody."
        if not short
        else (
            f"Not enough water reached {joined(short)} at times."
            if len(short) <= _MOST_NAMED
            else f"Not enough water reached {len(short)} towns at times."
        )
    )
    spilled = (
        "Some sewage got into a river without the full treatment."
        if is_untreated(result)
        else "All sewage was treated."
    )
    return f"{enough} {spilled}"


def without_keys(block: Block, inputs: Mapping[str, Input], names: Names) -> Block:
    """A block whose words name no keys: each is left out where it stands in brackets, or told by
    its meaning."""
    if isinstance(block, Paragraph):
        return replace(block, words=_told(block.words, inputs, names))
    if isinstance(block, Section):
        return replace(block, blocks=[without_keys(one, inputs, names) for one in block.blocks])
    if isinstance(block, TableBlock):
        return replace(
            block,
            table=replace(
                block.table, notes=[_told(note, inputs, names) for note in block.table.notes]
            ),
        )
    return block


def _told(words: str, inputs: Mapping[str, Input], names: Names) -> str:
    return _BARE.sub(lambda found: _meaning(found[0], inputs, names), _IN_BRACKETS.sub("", words))


def _meaning(key: str, inputs: Mapping[str, Input], names: Names) -> str:
    one, place = inputs.get(key), key.split(".")[1]
    if one is None:
        return key
    meaning = one.meaning.split(":")[0].split(";")[0]
    return f"{meaning} ({place_words(place, names)})" if key.count(".") > 1 else meaning
