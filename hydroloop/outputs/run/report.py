"""The report of a run, as text for the screen and for ``answer.txt``."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hydroloop.charts.because_words import because_sentence
from hydroloop.charts.words import percent, place_words
from hydroloop.outputs.document import cautions
from hydroloop.outputs.document.as_text import block_lines
from hydroloop.outputs.document.table import (
    Column,
    Table,
    adding_up,
    as_lines,
    plain_rows,
    screen_rows,
)
from hydroloop.outputs.document.wording import WIDTH, wrap
from hydroloop.outputs.run import because_tables, supply_tables, tables
from hydroloop.outputs.run.answer import (
    account_sentence,
    three_meanings,
    town_sentences,
    untreated_sentences,
)
from hydroloop.outputs.run.land import land, land_lines
from hydroloop.outputs.run.place import season_words
from hydroloop.outputs.run.result import Result
from hydroloop.outputs.scenario.inputs import inputs, summary
from hydroloop.outputs.whatif.changed import changed_block
from hydroloop.outputs.whatif.held import held_block
from hydroloop.scenario import Scenario
from hydroloop.units.printing import System

_TOWNS_ACROSS = 5
_TIMES = (
    "water age: time since the water left the plant, in tanks and mains. A survey of U.S. "
    "utilities found 1.3 days on the mean, and 3 at most (EPA & AWWA 2002, from memory).",
    "intake to outfall: of water that was not in the ground on its way; what leaks, waters yards "
    "or goes to on-site systems is told as a share.",
    "onto the map: as rain, down a river, or bought; a dash where half of the water is older than "
    "can be told.")
_MOST_PLACES = 15

_EFFLUENT = ("share of that tap water: all effluent counts, with the water of workplaces and the "
             "rain and groundwater in it, so it is mostly more than the used share.")


def short_answer(result: Result) -> list[str]:
    """The answer: one sentence or two a town, and how sure it is."""
    lines = [result.scenario.title, season_words(result.scenario.season),
             *_dry_season(result), *_changed(result), "",
             "Each town on the day when most of its tap water had been used before:"]
    for town in result.towns:
        lines += wrap(town_sentences(result, town), "    ", first="  ")
    spilled = [line for words in untreated_sentences(result) for line in wrap(words, "    ",
                                                                              first="  ")]
    return [*lines, *spilled, "", *wrap(account_sentence(result)), *_assumed(result)]


def full_report(result: Result) -> list[str]:
    """The answer and the tables that a reader asks for next."""
    return [
        *short_answer(result), "",
        "Three numbers that are all called percent", *_three_ways(result), "",
        "The towns", *_across(tables.summary(result), result.system), "",
        "How long water stays: turnover is mean volume over mean flow",
        *_across(tables.times(result), result.system),
        *(line for words in _TIMES for line in _meaning(words)), "",
        *_between(result), "The account", *_balance(result), "",
        *_land(result), *_untreated(result), *_supply(result), *_shortages(result), "",
        cautions.wrapped(cautions.SHORT, WIDTH),
    ]


def _dry_season(result: Result) -> list[str]:
    """Whose days these are, where the season was made dry."""
    words = result.record.attrs.get("weather_dry_season")
    return wrap(f"Dry season: {words}.") if words else []


def _changed(result: Result) -> list[str]:
    """What was changed before the run."""
    lines = block_lines([*changed_block(result.changed), *held_block(result.scenario,
                                                                      result.system)],
                        result.system)
    return ["", *lines] if lines else []


def _assumed(result: Result) -> list[str]:
    """What is given, what is assumed, and which values are the middle of a range."""
    lines = wrap(f"Of the inputs, {summary(inputs(result.scenario, result.system))}")
    if result.scenario.ranges:
        named = ", ".join(result.scenario.ranges)
        lines += wrap(f"Taken at the middle of their range: {named}.")
    return lines


def _three_ways(result: Result) -> list[str]:
    table = tables.reuse(result)
    if not any(share > 0.0 for share in result.values("season_reclaimed_share")):
        table = replace(table, columns=[column for column in table.columns
                                        if not column.name.startswith("reclaimed")])
    return [*_across(table, result.system),
            *(line for name, meaning in three_meanings(result.use).items()
              for line in _meaning(f"{name}: {meaning}.")), "",
            f"What counts as a use: share of the tap water, season (here: {result.use.through})",
            *_across(tables.counted(result), result.system)]


def _untreated(result: Result) -> list[str]:
    """Overflow and bypass, wherever they occur."""
    kinds = [name for name in ("overflowed", "bypassed")
             if any(volume > 0.0 for volume in result.values(f"{name}_volume"))]
    if not kinds:
        return []
    table = tables.untreated(result)
    columns = [column for column in table.columns
               if column.name == "town" or column.name.startswith(tuple(kinds))]
    return [table.title, *_across(replace(table, columns=columns), result.system), ""]


def _meaning(words: str) -> list[str]:
    """What a number is, under the table that it stands in."""
    return wrap(words, "      ", first="    ")


def _across(table: Table, system: System) -> list[str]:
    """A table with towns across, in as many blocks as the screen needs."""
    names = [place_words(str(town)) for town in table.columns[0].values]
    table = Table(table.name, table.title, [Column("", names), *table.columns[1:]])
    rows = screen_rows(table, system)
    lines: list[str] = []
    for first in range(1, len(rows[0]), _TOWNS_ACROSS):
        block = [[row[0], *row[first:first + _TOWNS_ACROSS]] for row in rows]
        lines += as_lines(block) if not lines else ["", *as_lines(block)]
    return lines


def _named(table: Table, count: int) -> Table:
    """The same with names of places in words in its first columns."""
    words = [replace(column, values=[place_words(str(name)) for name in column.values])
             for column in table.columns[:count]]
    return Table(table.name, table.title, [*words, *table.columns[count:]])


def _between(result: Result) -> list[str]:
    table = tables.between_towns(result)
    above = [line for words in _used_above(result.scenario) for line in _meaning(words)]
    rows = plain_rows(_named(table, 2), result.system)
    rows[0][:2] = ["from the outfall of", "to the taps of"]
    found = [*as_lines(rows), *_meaning(_EFFLUENT), *above] if rows[1:] else above
    return ["From outfalls to taps", *found, ""] if found else []


def _used_above(scenario: Scenario) -> list[str]:
    """Which rivers bring water that was used before it came onto the map."""
    said = []
    for name, river in scenario.river.items():
        given = river.used_before
        share = 1.0 - given[0] if isinstance(given, list) else given
        if share > 0.0:
            said.append(f"{percent(share)} of what the {place_words(name)} brings was used before "
                        f"already, above the map (river.{name}.used_before).")
    return said


def _balance(result: Result) -> list[str]:
    table = tables.balance(result)
    rows = plain_rows(_named(table, 1), result.system)
    rows[-1][0] = str(table.columns[0].values[-1])
    moved = zip(*adding_up(table.columns[1:4], result.system), strict=True)
    rows = [[row[0], *cells, row[4]] for row, cells in zip(rows, moved, strict=True)]
    if len(rows) > _MOST_PLACES:
        rows = [rows[0], rows[-1]]
    return as_lines([["", *rows[0][1:]], *rows[1:]])


def _land(result: Result) -> list[str]:
    """The land in depth, and what its first levels come from."""
    table = land(result)
    if not table.columns[0].values:
        return []
    return ["The land, as depth over its area", *_across(table, result.system),
            *land_lines(result), ""]


def _supply(result: Result) -> list[str]:
    """How well the towns were supplied, and the drought stages where there are any."""
    lines = ["Is there enough?", *_across(supply_tables.supply(result), result.system), ""]
    rows = plain_rows(_named(supply_tables.stages(result), 1), result.system)
    if rows[1:]:
        lines += ["Drought stages", *as_lines([["", *rows[0][1:]], *rows[1:]]), ""]
    if result.scenario.reservoir:
        lines += ["Reservoirs", *_across(supply_tables.reservoirs(result), result.system), ""]
    return lines


def _shortages(result: Result) -> list[str]:
    table = tables.shortages(result)
    rows = plain_rows(_named(table, 1), result.system)
    short = [row for row, unmet in zip(rows[1:], table.columns[3].values, strict=True) if unmet > 0]
    if not short:
        return ["Nobody ran short of water."]
    return ["Who ran short", *as_lines([["", *rows[0][1:]], *short])]


def report_values(result: Result) -> dict[str, Any]:
    """The report as plain values, for JSON; what is unknown is None."""
    makers = (tables.towns, tables.reuse, tables.counted, tables.uses, because_tables.because,
              because_tables.because_uses, tables.times,
              tables.between_towns, tables.parcels, tables.balance, land, tables.shortages,
              tables.untreated, supply_tables.supply, supply_tables.stages,
              supply_tables.reservoirs)
    season = result.scenario.season
    return {
        "title": result.scenario.title,
        "season": [str(season.start), str(season.end)],
        "dry_season": result.record.attrs.get("weather_dry_season"),
        "units": result.system,
        "answer": {town: town_sentences(result, town) for town in result.towns},
        "because": {town: because_sentence(result.table, town) for town in result.towns},
        "account": account_sentence(result),
        "count_as": str(result.table.attrs["gate"]),
        "meaning": three_meanings(result.use),
        "tables": {table.name: table.records(result.system)
                   for table in (make(result) for make in makers)},
        "changed": [{"key": key, "before": before, "after": after}
                    for key, before, after in result.changed],
        "inputs": [one._asdict() for one in inputs(result.scenario, result.system)],
        "warnings": [str(problem) for problem in result.scenario.warnings],
        "cautions": list(cautions.LONG),
    }
