"""A report of a run for a reader who was not there: all of its answer, drawn and with its sources.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from hydroloop.charts.picture import Picture as Drawn
from hydroloop.charts.words import joined, place_words
from hydroloop.errors import AskError
from hydroloop.outputs.document import Block, Document, Paragraph, Picture, Section, TableBlock
from hydroloop.outputs.document.cautions import LONG
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import number_of
from hydroloop.outputs.plants.capacity_years_picture import capacity_years_picture
from hydroloop.outputs.run.document import run_document
from hydroloop.outputs.run.pictures import pictures_of
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.scenario.inputs import GIVEN, Input, inputs
from hydroloop.outputs.whatif.changed import Changed
from hydroloop.outputs.whatif.comparison import AFTER, Against, comparison
from hydroloop.plants import CAUTION
from hydroloop.studies.capacity_study import capacity_study
from hydroloop.whatif import Comparison

_ORDER = ("glass", "loop", "map", "season", "drought", "parcel")
_WORKS = {"rapid_mix": "rapid mix", "flocculation": "flocculation", "sedimentation": "settling",
          "filters": "filters", "clearwell": "clearwell", "tanks": "storage tanks",
          "mains": "mains", "toilets": "toilets", "baths": "baths and showers", "yards": "yards",
          "sewers": "sewers", "primary": "primary settling", "aeration": "aeration",
          "final_settling": "final settling", "contact": "disinfection",
          "reclaimed": "reclaimed water"}


def report_document(result: Result, town: str, changed: Changed,
                    against: Comparison | None = None) -> Document:
    """Everything that a run says, with pictures of one town where they belong.

    `against` is the comparison with the run before, where something was changed.
    """
    run = run_document(result, changed)
    first = next((place for place, one in enumerate(run.blocks) if isinstance(one, Section)),
                 len(run.blocks))
    blocks = [*run.blocks[:first], *_pictures(result, town), *_compared(result, against),
              *(one for one in run.blocks[first:] if _title(one) != "The inputs"),
              *_plants(result, town), *_inputs(result)]
    return replace(run, command="report", blocks=[_whole(one) for one in blocks], cautions=LONG)


def _title(block: Block) -> str:
    return block.title if isinstance(block, Section) else ""


def _whole(block: Block) -> Block:
    """A block that belongs to what is shown, with all that stands in it."""
    if isinstance(block, Section):
        return replace(block, short=True, blocks=[_whole(one) for one in block.blocks])
    return replace(block, short=True)


def _pictures(result: Result, town: str) -> list[Block]:
    drawn = {one.name.removeprefix(f"{town}_"): one for one in pictures_of(result, "all")}
    return [*(drawn[kind] for kind in _ORDER if kind in drawn),
            *([Picture("stays", partial(_stays, result, town))] if _times(result, town) else [])]


def _times(result: Result, town: str) -> dict[str, tuple[float, bool]]:
    """Turnover times of the town's works, its rivers, reservoirs and its ground, by their names."""
    record, turnover = result.record, result.table["turnover_time"]
    own = result.scenario.town[town]
    its = {end.river for end in (own.intake, own.outfall) if end is not None and end.river}
    days = turnover.values.reshape(len(turnover), -1).mean(axis=1)
    found: dict[str, tuple[float, bool]] = {}
    rivers: dict[str, float] = {}
    for name, place, role, time in zip(record["store"].values.astype(str),
                                       record["place"].values.astype(str),
                                       record["role"].values.astype(str), days, strict=True):
        if not np.isfinite(time) or not time > 0.0:
            continue
        if place == town and role in _WORKS:
            found[_WORKS[role]] = (float(time), True)
        elif role == "reach" and place in its:
            rivers[place] = rivers.get(place, 0.0) + float(time)
        elif role == "reservoir" or (role in ("groundwater", "aquifer") and place == town):
            words = "groundwater" if place == town else place_words(name.split("/")[0])
            found[words] = (float(time), False)
    found |= {f"the {place_words(river)}, end to end": (time, False)
              for river, time in rivers.items()}
    return found


def _stays(result: Result, town: str) -> Drawn:
    from hydroloop.charts.stays import Stay, stay_words, stays

    times = _times(result, town)
    shortest, longest = (pick(times, key=lambda name: times[name][0]) for pick in (min, max))
    ends = joined([f"{stay_words(times[name][0])} in {name}" for name in (shortest, longest)])
    return stays([Stay(name, days, own) for name, (days, own) in times.items()], place_words(town),
                 caption=f"Mean volume over mean flow of the season: from {ends}. The scale goes "
                 "in leaps: each mark is ten times the one before, or more. Hatched: river and "
                 "ground.")


def _compared(result: Result, against: Comparison | None) -> list[Block]:
    """What the changes did, and why, as `compare` says it."""
    if against is None or not against.inputs:
        return []
    found = comparison([Against(AFTER, against, None)], result.system)
    told = [one for one in found.blocks if not isinstance(one, Picture)]
    drawn = [replace(one, name=f"compare-{one.name}") for one in found.blocks
             if isinstance(one, Picture) and one.name in ("season_used_share", "glass")]
    return [Section("What the changes did, and why", [*told, *drawn])]


def _plants(result: Result, town: str) -> list[Block]:
    try:
        study = capacity_study(result.scenario, result.record, town)
    except AskError:
        return []
    return [Section("The plants against demand over the years", [
        Picture("capacity", partial(capacity_years_picture, study, result.system)),
        Paragraph(CAUTION)])]


def _inputs(result: Result) -> list[Block]:
    """Inputs that were given, and defaults with where they come from, alike ones once."""
    found = inputs(result.scenario, result.system)
    given = [one for one in found if one.origin == GIVEN and one.key not in ("title", "about")]
    rest: dict[tuple[str, str], list[Input]] = {}
    for one in found:
        if one.origin != GIVEN:
            rest.setdefault((_general(one.key), one.value), []).append(one)
    return [Section("The inputs", [
        TableBlock(Table("given", f"Given: {number_of(len(given), 'input')}", [
            Column("key", [one.key for one in given]),
            Column("value", [one.value for one in given]),
            Column("meaning", [one.meaning for one in given])])),
        TableBlock(_defaults(list(rest.items())))])]


def _defaults(rest: Sequence[tuple[tuple[str, str], list[Input]]]) -> Table:
    keys = [general if len(alike) > 1 else alike[0].key for (general, _), alike in rest]
    return Table("defaults", "Not given: defaults and what is worked out, with sources", [
        Column("key", keys), Column("value", [value for (_, value), _ in rest]),
        Column("source", [alike[0].source for _, alike in rest])])


def _general(key: str) -> str:
    return re.sub(r"^(town|river|reservoir|aquifer|stage)\.[^.]+\.", r"\1.*.", key)
