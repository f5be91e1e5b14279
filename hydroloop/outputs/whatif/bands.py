"""Many runs that draw from ranges, as a document: bands, their causes, every run's numbers."""

from __future__ import annotations

from functools import partial

import numpy as np
import xarray as xr

from hydroloop.charts.words import joined, key_words
from hydroloop.outputs.document import (
    Block,
    Document,
    Fact,
    Paragraph,
    Picture,
    Section,
    TableBlock,
)
from hydroloop.outputs.document.cautions import SHORT as SHORT_CAUTIONS
from hydroloop.outputs.document.table import Column, Cross, Table
from hydroloop.outputs.whatif.changed import Changed, as_it_is
from hydroloop.outputs.whatif.held import held_over
from hydroloop.outputs.whatif.season_measures import (
    EVERY,
    measures_of,
    stages_block,
    told_in,
    towns_column,
    with_unmet,
)
from hydroloop.outputs.whatif.spread_pictures import bands_picture, towns_drawn
from hydroloop.outputs.whatif.spread_words import (
    FOR_BANDS,
    NO_MORE,
    bands_sentence,
    correlations,
    told_words,
    too_few,
)
from hydroloop.placenames import Names, names_of
from hydroloop.scenario import Scenario
from hydroloop.scenario.tree import find
from hydroloop.units.printing import System
from hydroloop.whatif import bands

_LONGEST = 60  # letters in which inputs are called by name


def spread_document(
    scenario: Scenario,
    table: xr.Dataset,
    system: System,
    pictures: str = "few",
    *,
    changed: Changed | None = None,
) -> Document:
    """Bands of every town; pictures of all towns, of the one with the widest band, or of none."""
    found, hangs, members = bands(with_unmet(table)), correlations(table), table.sizes["member"]
    keys = [
        key_words(str(key), scenario.names)
        for key in (table["key"].values if "key" in table.dims else ())
    ]
    drawn = (
        f"{members} runs, each with its own {_named(keys)}."
        if keys
        else (
            f"{members} runs without a range among the inputs: only generated weather, or years by "
            "lot, can differ."
        )
    )
    head = changed or as_it_is(scenario)
    blocks: list[Block] = [
        *head.blocks,
        Paragraph(drawn),
        *([] if scenario.held else held_over(scenario.ranges)),
        *map(Paragraph, told_words(table, system)),
        Paragraph(f"{too_few(members)} {NO_MORE}".strip()),
        Section(
            "Bands of the season",
            [
                TableBlock(_bands_table(table)),
                *stages_block(found.drop_dims("town"), _levels(found["level"].values)),
                *([Paragraph(bands_sentence(members))] if members >= FOR_BANDS else []),
            ],
            short=False,
        ),
        TableBlock(_members_table(table), where="files"),
    ]
    if hangs is not None:
        blocks.append(
            Section(
                "What each measure depends on",
                [
                    TableBlock(_correlations_table(hangs, scenario.names), where="values"),
                    Paragraph(
                        "In tables/rank_correlations.csv: 1 where a measure always rises with an "
                        "input, -1 where it always falls, near 0 where it hardly depends on it."
                    ),
                ],
                short=False,
            )
        )
    towns = towns_drawn(table) if pictures == "all" else towns_drawn(table)[:1]
    blocks += [
        Picture(f"{town}_bands", partial(bands_picture, table, town, system))
        for town in towns
        if pictures != "none"
    ]
    return Document(
        "spread",
        scenario.title,
        blocks,
        system,
        ran=head.ran,
        facts={"members": Fact(members)},
        cautions=SHORT_CAUTIONS,
    )


def _named(keys: list[str]) -> str:
    """The inputs that were drawn, or how many they are."""
    said = joined(keys)
    return said if len(said) <= _LONGEST else f"values of {len(keys)} inputs"


def _bands_table(table: xr.Dataset) -> Table:
    """A row for each town and level."""
    found = bands(with_unmet(table))
    towns, levels = [str(town) for town in found["town"].values], found["level"].values
    columns = [towns_column(towns, names_of(table), len(levels)), _levels(levels, len(towns))]
    columns += measures_of(found, ("town", "level"))
    shown = [told.name for told in told_in(with_unmet(table)) if told.name in found]
    view = Cross(("runs_below",), "town", shown)
    return Table("bands", "Bands of the season's measures", columns, view)


def _levels(levels: np.ndarray, times: int = 1) -> Column:
    words = ["median" if level == 0.5 else f"{100 * level:g} %" for level in levels]
    return Column(
        "runs below", [float(level) for level in levels] * times, "share", words=words * times
    )


def _correlations_table(hangs: xr.Dataset, names: Names) -> Table:
    """A row for each town and key."""
    towns, keys = ([str(name) for name in hangs[dim].values] for dim in ("town", "key"))
    columns = [towns_column(towns, names, len(keys)), Column("key", keys * len(towns))]
    columns += [
        Column(
            told.words,
            list(hangs[told.name].transpose("town", "key").values.ravel()),
            "number",
            told.name,
        )
        for told in EVERY
        if told.name in hangs
    ]
    return Table("rank_correlations", "Rank correlations of measures with inputs", columns)


def _members_table(table: xr.Dataset) -> Table:
    """A row for each run and town, with the values that were drawn."""
    whole = with_unmet(table)
    towns, members = [str(town) for town in whole["town"].values], whole.sizes["member"]
    columns = [Column("run", [str(number) for number in whole["member"].values for _ in towns])]
    for key in whole["key"].values if "drawn" in whole else ():
        here = find(str(key).split("."))
        drawn = whole["drawn"].sel(key=key).transpose("member").values
        columns.append(
            Column(
                str(key),
                list(np.repeat(drawn, len(towns))),
                (here.dimension if here else "") or "number",
                str(key),
            )
        )
    columns += [Column("town", towns * members), *measures_of(whole, ("member", "town"))]
    return Table("members", "Every run", columns)
