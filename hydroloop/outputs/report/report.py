"""A report of a run for a reader who was not there: all of its answer, with its sources."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial

import numpy as np

from hydroloop.charts.picture import Picture as Drawn
from hydroloop.charts.words import place_words, river_words
from hydroloop.errors import AskError
from hydroloop.outputs.document import Block, Document, Paragraph, Picture, Section, TableBlock
from hydroloop.outputs.document.cautions import LONG
from hydroloop.outputs.document.table import Column, Table
from hydroloop.outputs.document.wording import number_of
from hydroloop.outputs.plants.capacity_years_picture import capacity_years_picture
from hydroloop.outputs.report.opening import opening, without_keys
from hydroloop.outputs.run.document import answered, parts_of
from hydroloop.outputs.run.pictures import pictures_of
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.short import short_answer
from hydroloop.outputs.scenario.inputs import GIVEN, Input, inputs
from hydroloop.outputs.whatif.changed import Changed
from hydroloop.outputs.whatif.comparison import AFTER, Against, comparison
from hydroloop.plants import CAUTION
from hydroloop.scenario.tree import find
from hydroloop.studies.capacity_study import capacity_study
from hydroloop.whatif import Comparison

_PICTURES = ("glass", "loop", "map", "season", "drought", "parcel", "stays")
_NUMBERS = (
    "days",
    "towns",
    "ways",
    "between",
    "supply",
    "untreated",
    "times",
    "account",
    "land",
    "rivers",
)
_WORKS = {
    "rapid_mix": "rapid mix",
    "flocculation": "flocculation",
    "sedimentation": "settling",
    "filters": "filters",
    "clearwell": "clearwell",
    "tanks": "storage tanks",
    "mains": "mains",
    "toilets": "toilets",
    "baths": "baths and showers",
    "yards": "yards",
    "sewers": "sewers",
    "primary": "primary settling",
    "aeration": "aeration",
    "final_settling": "final settling",
    "contact": "disinfection",
    "reclaimed": "reclaimed water",
}


def report_document(
    result: Result, town: str, changed: Changed, against: Comparison | None = None
) -> Document:
    """Everything that a run says, with pictures of one town where they belong.

    `against` is the comparison with the run before, where something was changed.
    """
    drawn, found = _pictures(result, town), inputs(result.scenario, result.system)
    below, by_key = parts_of(result), {one.key: one for one in found}
    compared, moved = _compared(result, against)
    told: list[Block] = [
        *(one for one in changed.blocks if isinstance(one, Paragraph)),
        opening(result, town),
        Section("Town by town", short_answer(result)),
        *compared,
        Section("In pictures", [drawn[kind] for kind in _PICTURES if kind in drawn]),
        *_plants(result, town),
        Section("In numbers", [one for name in _NUMBERS for one in below[name]]),
    ]
    blocks = [
        *(without_keys(one, by_key, result.names) for one in told),
        *moved,
        *(one for one in changed.blocks if not isinstance(one, Paragraph)),
        *_inputs(found),
        *below["files"],
    ]
    document = answered(result, changed, [_whole(one) for one in blocks])
    return replace(document, command="report", cautions=LONG)


def _whole(block: Block) -> Block:
    """A block that belongs to what is shown, with all that stands in it."""
    if isinstance(block, Section):
        return replace(block, short=True, blocks=[_whole(one) for one in block.blocks])
    return replace(block, short=True)


def _pictures(result: Result, town: str) -> dict[str, Picture]:
    drawn = {one.name.removeprefix(f"{town}_"): one for one in pictures_of(result, "all")}
    if _times(result, town):
        drawn["stays"] = Picture("stays", partial(_stays, result, town))
    return drawn


def _times(result: Result, town: str) -> dict[str, tuple[float, bool]]:
    """Turnover times of the town's works, its rivers, reservoirs and its ground, by their names."""
    record, turnover = result.record, result.table["turnover_time"]
    own = result.scenario.town[town]
    its = {end.river for end in (own.intake, own.outfall) if end is not None and end.river}
    grounds = {town, own.land.aquifer, own.wells.aquifer if own.wells else None}
    days = turnover.values.reshape(len(turnover), -1).mean(axis=1)
    found: dict[str, tuple[float, bool]] = {}
    rivers: dict[str, float] = {}
    for place, role, time in zip(
        record["place"].values.astype(str), record["role"].values.astype(str), days, strict=True
    ):
        if not np.isfinite(time) or not time > 0.0:
            continue
        if place == town and role in _WORKS:
            found[_WORKS[role]] = (float(time), True)
        elif role == "reach" and place in its:
            rivers[place] = rivers.get(place, 0.0) + float(time)
        elif role == "reservoir":
            found[place_words(place, result.names)] = (float(time), False)
        elif role == "groundwater" and place in grounds:
            under = "" if place == town else f" under {place_words(place, result.names)}"
            found[f"ground{under}" if under else "groundwater"] = (float(time), False)
    found |= {
        f"{river_words(river, result.names)}, end to end": (time, False)
        for river, time in rivers.items()
    }
    return found


def _stays(result: Result, town: str) -> Drawn:
    from hydroloop.charts.stays import Stay, stay_words, stays

    times = _times(result, town)
    shortest, longest = (pick(times, key=lambda name: times[name][0]) for pick in (min, max))
    ends = " to ".join(f"{stay_words(times[name][0])} in {name}" for name in (shortest, longest))
    return stays(
        [Stay(name, days, own) for name, (days, own) in times.items()],
        place_words(town, result.names),
        caption=f"Mean volume over mean flow of the season: from {ends}. Each mark of "
        "the scale is 6 to 30 times the one before. Hatched: river and ground.",
    )


def _compared(result: Result, against: Comparison | None) -> tuple[list[Block], list[Block]]:
    """What the changes did, and why, as `compare` says it: words and pictures, and tables."""
    if against is None or not against.inputs:
        return [], []
    found = comparison([Against(AFTER, against, None)], result.system)
    told = [one for one in found.blocks if isinstance(one, Paragraph)]
    drawn = [
        replace(one, name=f"compare-{one.name}")
        for one in found.blocks
        if isinstance(one, Picture) and one.name in ("season_used_share", "glass")
    ]
    rest = [one for one in found.blocks if not isinstance(one, Paragraph | Picture)]
    return (
        [Section("What the changes did, and why", [*told, *drawn])],
        [Section("What the changes did, in numbers", rest)],
    )


def _plants(result: Result, town: str) -> list[Block]:
    try:
        study = capacity_study(result.scenario, result.record, town)
    except AskError:
        return []
    return [
        Section(
            "The plants against demand over the years",
            [
                Picture("capacity", partial(capacity_years_picture, study, result.system)),
                Paragraph(CAUTION),
            ],
        )
    ]


def _inputs(found: Sequence[Input]) -> list[Block]:
    """Inputs that were given, and defaults with where they come from, alike ones once."""
    given = [one for one in found if one.origin == GIVEN and one.key not in ("title", "about")]
    return [
        Section(
            "The inputs",
            [
                TableBlock(
                    _in_groups(
                        Table(
                            "given",
                            f"Given: {number_of(len(given), 'input')}",
                            [
                                Column("key", [one.key for one in given]),
                                Column("value", [one.value for one in given]),
                                Column("meaning", [one.meaning for one in given]),
                            ],
                        ),
                        deep=2,
                    )
                ),
                TableBlock(
                    _in_groups(_defaults([one for one in found if one.origin != GIVEN]), deep=3)
                ),
            ],
        )
    ]


def _defaults(rest: Sequence[Input]) -> Table:
    alike = [(one.key, one) for one in rest]
    for place_of in (_named_place, _basin_place):
        alike = _starred(alike, place_of)
    return Table(
        "defaults",
        "Not given: defaults and what is worked out, with sources",
        [
            Column("key", [key for key, _ in alike]),
            Column(
                "value, and where it comes from",
                [one.value for _, one in alike],
                key="value",
                words=[
                    f"{one.value} ({one.source})" if one.source else one.value for _, one in alike
                ],
            ),
            Column("source", [one.source for _, one in alike], is_shown=False),
        ],
        notes=["A star stands for every place of which nothing else is told."],
    )


def _named_place(words: Sequence[str]) -> int | None:
    node = find(words[:1])
    return 1 if node and node.named else None


def _basin_place(words: Sequence[str]) -> int | None:
    return words.index("basins") + 1 if "basins" in words else None


def _starred(
    found: Sequence[tuple[str, Input]], place_of: Callable[[Sequence[str]], int | None]
) -> list[tuple[str, Input]]:
    """Keys with their inputs, those of one value once, under a star for what most have."""
    alike: dict[str, dict[tuple[str, str], list[tuple[str, Input]]]] = {}
    for key, one in found:
        words = key.split(".")
        at = place_of(words)
        general = ".".join(words if at is None else [*words[:at], "*", *words[at + 1 :]])
        alike.setdefault(general, {}).setdefault((one.value, one.source), []).append((key, one))
    told: list[tuple[str, Input]] = []
    for general, values in alike.items():
        most = max(values.values(), key=len)
        for own in values.values():
            told += [(general, own[0][1])] if own is most and len(own) > 1 else own
    return told


def _in_groups(table: Table, deep: int) -> Table:
    """A table by keys, sorted by their first words, which stand over the rows as headings."""
    parted = [_parted(key, deep) for key in table.columns[0].values]
    heads = list(dict.fromkeys(head for head, _ in parted))
    order = sorted(range(len(parted)), key=lambda place: heads.index(parted[place][0]))
    columns = [column.at(order) for column in table.columns]
    columns[0] = replace(columns[0], words=[parted[place][1] for place in order])
    sorted_heads = [parted[place][0] for place in order]
    return replace(
        table, columns=columns, groups={sorted_heads.index(head): head for head in heads if head}
    )


def _parted(key: str, deep: int) -> tuple[str, str]:
    words = key.split(".")
    size = min(1 if _named_place(words) is None else deep, len(words) - 1)
    return ".".join(words[:size]), ".".join(words[size:])
