"""The season's measures as what-if answers show them: their words, their units, their figures."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
import xarray as xr

from hydroloop.charts.words import percent
from hydroloop.glossary import term
from hydroloop.outputs.document import TableBlock
from hydroloop.outputs.document.table import Column, Cross, Table, places_column, unit_of
from hydroloop.outputs.document.wording import amount, still_words
from hydroloop.placenames import Names, stage_words
from hydroloop.units.printing import System


class Told(NamedTuple):
    """A measure that is told, in the words of the glossary."""

    name: str  # variable of the season's table
    words: str  # what it is called
    dimension: str  # `number`, or a dimension of `hydroloop.units`

    @property
    def plain(self) -> str:
        """Its words under a picture, where nothing else says what the time is."""
        return f"{self.words} of the season" if self.name == "season_used_share" else self.words

    def shown(
        self, values: xr.DataArray | np.ndarray | Sequence[float], system: System
    ) -> tuple[float, str]:
        """Factor to what is shown, and its unit, for all numbers shown together; empty for a plain
        number."""
        name, factor, _ = unit_of(self.dimension, np.asarray(values), system)
        return factor, name

    def column(self, values: Sequence[float] | np.ndarray, words: str = "") -> Column:
        """A column of a table, under its own words or others."""
        return Column(words or self.words, list(values), self.dimension, key=self.name)


def _told(name: str, row: str = "") -> Told:
    """A measure under its plain name; what it is worked out over goes without saying."""
    said = term(row or name)
    words = said.plain.removesuffix(", season")
    return Told(
        name,
        f"{words.removesuffix(', mean')}, on average" if name.startswith("mean_") else words,
        said.dimension,
    )


USED, USES, RELIABILITY, VOLUME, RESILIENCE, VULNERABILITY, LONGEST, DILUTION, CUT, UNDER = map(
    _told,
    (
        "season_used_share",
        "season_mean_uses",
        "reliability",
        "volume_reliability",
        "resilience",
        "vulnerability",
        "longest_failure",
        "lowest_dilution",
        "cut_share",
        "days_under_minimum_flow",
    ),
)
SHORT = _told("unmet", "unmet_total")
UNKNOWN, DELIVERED, WITHDRAWN, PUMPED, EFFLUENT, OVERFLOWED = map(
    _told,
    (
        "season_unknown_share",
        "mean_delivered",
        "mean_withdrawn",
        "mean_pumped",
        "mean_effluent",
        "mean_overflowed",
    ),
)

_OF_SHORTAGES = (VOLUME, RESILIENCE, VULNERABILITY, LONGEST)
TOLD = (USED, USES, RELIABILITY, SHORT, *_OF_SHORTAGES, CUT, DILUTION, UNDER)
"""What words and pictures tell of every town."""
EVERY = (*TOLD, UNKNOWN, DELIVERED, WITHDRAWN, PUMPED, EFFLUENT, OVERFLOWED)
"""What tables and scripts get of every town."""


SHOWN = (*TOLD, OVERFLOWED, WITHDRAWN, EFFLUENT)
"""What is shown of runs side by side."""


def with_unmet(table: xr.Dataset) -> xr.Dataset:
    """All uses' shortage together, beside the rest."""
    if "unmet_total" not in table:
        return table
    return table.assign(unmet=table["unmet_total"].sum("purpose", skipna=False))


def told_in(table: xr.Dataset, measures: Sequence[Told] = TOLD) -> list[Told]:
    """Measures that a table (from `with_unmet`) has and that say something there: not those that
    describe shortages, where nobody is short."""
    short = SHORT.name in table and bool((table[SHORT.name] > 0.0).any())
    return [
        told for told in measures if told.name in table and (short or told not in _OF_SHORTAGES)
    ]


def matters(told: Told, one: float, other: float) -> bool:
    """Whether a difference of a measure is worth a sentence: 3 % of the larger value, and of a
    share 0.2 %, of a time half a day."""
    least = _LEAST.get(told.dimension, 0.0)
    return abs(other - one) > max(least, _RELATIVE * max(abs(one), abs(other)))


def two_shown(one: float, other: float) -> tuple[str, str]:
    """Two shares that differ, in as many figures as show it."""
    said = percent(one), percent(other)
    return said if said[0] != said[1] else (amount(100.0 * one, "%"), amount(100.0 * other, "%"))


def by_range(low: xr.DataArray, high: xr.DataArray) -> tuple[list[str], list[str], list[str]]:
    """Towns by how far apart their used share lies, the farthest first: those told in full, the
    others where it matters, and those where it hardly differs. Left out is who has none."""
    wide = np.nan_to_num((high - low).values)
    towns = [str(low["town"].values[place]) for place in np.argsort(-wide, kind="stable")]
    ends = {town: (float(low.sel(town=town)), float(high.sel(town=town))) for town in towns}
    moving = [town for town in towns if matters(USED, *ends[town])]
    still = [town for town in towns if town not in moving and np.isfinite(ends[town]).all()]
    return moving[:MOST_TOLD], moving[MOST_TOLD:], still


_LEAST, _RELATIVE = {"share": 0.002, "duration": 0.5}, 0.03
MOST_TOLD = 3
"""Towns that are told in full."""


def still(told: Told, values: np.ndarray, system: System) -> str:
    """A measure that has one value in every run and town, in words; empty where it has more."""
    return still_words(told.words, values, *told.shown(values, system))


def measures_of(table: xr.Dataset, dims: Sequence[str]) -> list[Column]:
    """A column for every measure that a table has, its values one after the other along dims."""
    return [
        told.column(table[told.name].transpose(*dims).values.ravel())
        for told in EVERY
        if told.name in table
    ]


def towns_column(towns: Sequence[str], names: Names, times: int = 1) -> Column:
    """Each town as often as there are rows of it, one row after the other."""
    return places_column("town", [town for town in towns for _ in range(times)], names)


def run_column(runs: Sequence[str]) -> Column:
    """Which run each row is of: two runs of the same days are not told as if one came first."""
    said = {"before": "without", "after": "with"}
    return Column("run", list(runs), words=[said.get(run, run) for run in runs])


def stages_block(table: xr.Dataset, *marks: Column) -> list[TableBlock]:
    """Days for which each drought stage was in force, a row for each mark; none without stages."""
    if "days_in_stage" not in table:
        return []
    dims = ("stage", *(dim for dim in table["days_in_stage"].dims if dim != "stage"))
    days, many = table["days_in_stage"].transpose(*dims), len(marks[0].values)
    stages = [str(stage) for stage in days["stage"].values]
    each = [stage for stage in stages for _ in range(many)]
    columns = [
        Column("stage", each, words=list(map(stage_words, each))),
        *(
            replace(
                mark,
                values=list(mark.values) * len(stages),
                words=mark.words and list(mark.words) * len(stages),
            )
            for mark in marks
        ),
        Column("drought stages in force", list(days.values.ravel()), "duration", "days"),
    ]
    view = Cross([mark.known_as for mark in marks], "stage", ["days"])
    return [
        TableBlock(
            Table("stages", "Drought stages in force", columns, view),
            where="everywhere" if (days > 0.0).any() else "values",
        )
    ]
