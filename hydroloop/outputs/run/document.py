"""All that a run has to say, as a document: short answer, tables under headings, pictures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from hydroloop.charts.because_words import because_sentence
from hydroloop.charts.words import percent, river_words
from hydroloop.gates import USUAL
from hydroloop.outputs.document import (
    Block,
    Document,
    Fact,
    Paragraph,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.cautions import SHORT
from hydroloop.outputs.document.table import Table
from hydroloop.outputs.run import supply_tables, tables, time_tables
from hydroloop.outputs.run.answer import three_meanings, town_sentences
from hydroloop.outputs.run.because_tables import because, because_days, because_uses
from hydroloop.outputs.run.design_limits import OverDesign, design_sentence, over_design
from hydroloop.outputs.run.land import land, land_sentences
from hydroloop.outputs.run.pictures import pictures_of
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.run.river_tables import rivers
from hydroloop.outputs.run.short import headline, short_answer
from hydroloop.outputs.scenario.inputs import inputs, summary
from hydroloop.outputs.whatif.changed import Changed
from hydroloop.scenario import Scenario

_TIMES = (
    "turnover: mean volume over mean flow.",
    "water age: time since the water left the plant, in tanks and mains. A survey of U.S. "
    "utilities found 1.3 days on average, and 3 at most (EPA & AWWA 2002, from memory).",
    "intake to outfall: of water that was not in the ground on its way; what leaks, waters yards "
    "or goes to on-site systems is told as a share.",
    "onto the map: as rain, down a river, or bought; a dash where half of the water is older than "
    "can be told.",
)
_EFFLUENT = (
    "share of that tap water: all effluent counts, with the water of workplaces and the "
    "rain and groundwater in it, so it is mostly more than the used share. Reclaimed "
    "water is what goes straight back to the town's own plant, as a share of all that "
    "the plant takes in."
)
_SHARED = (
    "a dash: the town lies over a shared aquifer, in whose column its land and ground are "
    "with the rest."
)
_RIVERS = (
    "baseflow index: part of the flow that comes from stored water.",
    "flashiness: the changes of flow from day to day, in all, over the flow.",
    "runoff ratio: flow over the rain on the catchment; a dash where the flow is given.",
)

Parts = dict[str, list[Block]]
"""What stands below the short answer of a run, by name."""


def run_document(
    result: Result,
    changed: Changed,
    pictures: str = "none",
    over: OverDesign | None = None,
) -> Document:
    """The answer of a run with all its tables; `pictures` is none, few or all, `over` the towns
    over their design limits if they are known already."""
    over = over_design(result) if over is None else over
    said = design_sentence(over, result.names)
    blocks = [
        *changed.blocks,
        *short_answer(result),
        *([Paragraph(said)] if said else []),
        *pictures_of(result, pictures),
        *(one for part in parts_of(result).values() for one in part),
    ]
    found = answered(result, changed, blocks)
    return replace(found, facts={**found.facts, "over_design_limits": Fact(list(over.checks))})


def answered(result: Result, changed: Changed, blocks: list[Block]) -> Document:
    """A document of a run, with what scripts are told of it."""
    dry = str(result.record.attrs.get("weather_dry_season", ""))
    ran = replace(
        changed.ran, dry_season=dry, counts_as_use="" if result.gate == USUAL else result.gate
    )
    balance = result.table["balance"].sel(term="gap")
    return Document(
        "run",
        result.scenario.title,
        blocks,
        result.system,
        ran,
        {
            "headline_town": Fact(headline(result) if result.towns else None),
            "most_used_town": Fact(result.most_used_town if result.towns else None),
            "answer": Fact({town: town_sentences(result, town) for town in result.towns}),
            "because": Fact({town: because_sentence(result.table, town) for town in result.towns}),
            "largest_gap": Fact(float(abs(balance).max()), "volume"),
            "largest_gap_of_throughput": Fact(result.value("gap_relative"), "share"),
            "unusual": Fact([str(problem) for problem in result.scenario.warnings]),
        },
        SHORT,
    )


def parts_of(result: Result) -> Parts:
    made = {
        "days": _days,
        "ways": _ways,
        "towns": _towns,
        "times": _times,
        "between": _between,
        "supply": _supply,
        "untreated": _untreated,
        "account": _account,
        "land": _land,
        "rivers": _rivers,
        "inputs": _inputs,
        "files": _for_files,
    }
    return {name: part(result) for name, part in made.items()}


def _section(title: str, *blocks: Block) -> Section:
    return Section(title, blocks, short=False)


def _table(made: Table, title: str = "", notes: Sequence[str] = ()) -> TableBlock:
    """A table with names across the top."""
    return TableBlock(replace(made, title=title, view="across", notes=notes))


def _days(result: Result) -> list[Block]:
    return [
        _section(
            "Each town on its most-used day",
            *(Paragraph(town_sentences(result, town)) for town in result.towns),
        )
    ]


def _ways(result: Result) -> list[Block]:
    meanings = [f"{name}: {words}." for name, words in three_meanings(result.use).items()]
    return [
        _section(
            "Three numbers that are all called percent",
            _table(tables.reuse(result), notes=meanings),
        ),
        _section(
            "What counts as a use",
            _table(
                tables.counted(result),
                f"Share of the season's tap water (here: {result.use.through})",
            ),
        ),
        TableBlock(tables.uses(result), where="values"),
        TableBlock(because(result), where="values"),
        TableBlock(because_uses(result), where="values"),
    ]


def _towns(result: Result) -> list[Block]:
    return [
        _section(
            "The towns",
            TableBlock(replace(tables.summary(result), title="", view="across"), where="people"),
            TableBlock(tables.towns(result), where="values"),
            TableBlock(tables.parcels(result), where="values"),
        )
    ]


def _times(result: Result) -> list[Block]:
    return [_section("How long water stays", _table(time_tables.times(result), notes=_TIMES))]


def _between(result: Result) -> list[Block]:
    made, above = time_tables.between_towns(result), _used_above(result.scenario)
    if not made.columns[0].values:
        return [
            TableBlock(made, where="values"),
            *([_section("From outfalls to taps", *map(Paragraph, above))] if above else []),
        ]
    return [
        _section(
            "From outfalls to taps", TableBlock(replace(made, title="", notes=[_EFFLUENT, *above]))
        )
    ]


def _used_above(scenario: Scenario) -> list[str]:
    """Which rivers bring water that was used before it came onto the map."""
    said = []
    for name, river in scenario.river.items():
        given = river.used_before
        share = 1.0 - given[0] if isinstance(given, list) else given
        if share > 0.0:
            words = river_words(name, scenario.names)
            said.append(
                f"{percent(share)} of what {words} brings was used before "
                f"already, above the map (river.{name}.used_before)."
            )
    return said


def _supply(result: Result) -> list[Block]:
    """How well the towns were supplied, and stages and reservoirs where there are any."""
    has_cuts = any(share > 0.0 for share in supply_tables.cut_shares(result))
    asked = [supply_tables.ASKED] if has_cuts else []
    parts: list[Block] = [_table(supply_tables.supply(result), notes=asked)]
    for made in (
        supply_tables.stages(result),
        replace(supply_tables.shortages(result), notes=asked),
    ):
        has_rows = len(made.columns[0].values) > 0
        parts.append(TableBlock(made, where="everywhere" if has_rows else "values"))
    lakes = supply_tables.reservoirs(result)
    parts.append(
        _table(
            lakes,
            lakes.title,
            notes=[
                supply_tables.YIELD,
                *([supply_tables.EMPTY] if supply_tables.ran_dry(lakes) else []),
            ],
        )
        if result.scenario.reservoir
        else TableBlock(lakes, where="values")
    )
    return [_section("Is there enough?", *parts)]


def _untreated(result: Result) -> list[Block]:
    """Overflow and bypass, wherever they occur."""
    made = tables.untreated(result)
    if not any(value > 0.0 for column in made.columns[1:] for value in column.values):
        return [TableBlock(made, where="values")]
    return [_section(made.title, _table(made))]


def _account(result: Result) -> list[Block]:
    return [_section("The account", TableBlock(replace(tables.balance(result), title="")))]


def _land(result: Result) -> list[Block]:
    """The land in depth, and what its first levels come from."""
    made = land(result)
    if not made.columns[0].values:
        return [TableBlock(made, where="values")]
    has_dash = any(np.isnan(column.values).any() for column in made.columns[1:])
    return [
        _section(
            "The land over the season, as depth over its area",
            _table(made, notes=[_SHARED] if has_dash else []),
            *map(Paragraph, land_sentences(result)),
        )
    ]


def _rivers(result: Result) -> list[Block]:
    """What kind of river each is, where the season is long enough to tell."""
    made = rivers(result)
    if not any(np.isfinite(column.values).any() for column in made.columns[2:]):
        return [TableBlock(made, where="files")]
    return [_section(made.title, _table(made, notes=_RIVERS))]


def _inputs(result: Result) -> list[Block]:
    found = inputs(result.scenario, result.system)
    return [
        _section(
            "The inputs",
            Paragraph(f"Of the inputs, {summary(found)}"),
            TableBlock(tables.inputs_used(result), where="values"),
        )
    ]


def _for_files(result: Result) -> list[Block]:
    """Long tables, day by day and store by store."""
    makers: list[Callable[[Result], Table]] = [
        tables.days,
        because_days,
        tables.last_use,
        time_tables.stores,
        tables.caught,
    ]
    return [TableBlock(make(result), where="files") for make in makers]
