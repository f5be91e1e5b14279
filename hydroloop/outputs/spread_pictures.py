"""Bands as pictures and tables, ready to be written into a folder."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop import charts
from hydroloop.charts.bands import MOST_ROWS, Band
from hydroloop.charts.varied import Drawn
from hydroloop.charts.words import joined, key_words
from hydroloop.outputs.season_measures import (
    DILUTION,
    EVERY,
    RELIABILITY,
    SHORT,
    TOLD,
    UNDER,
    USED,
    USES,
    still,
    told_in,
    varies,
    with_unmet,
)
from hydroloop.outputs.spread_words import (
    FEWEST,
    FOR_BANDS,
    NO_MORE,
    bands_sentence,
    correlations,
    hangs_sentence,
    spread_lines,
    strongest,
    used_sentence,
)
from hydroloop.outputs.table import Column, Table
from hydroloop.outputs.what_if_folder import WhatIf
from hydroloop.scenario import Scenario
from hydroloop.scenario.tree import find
from hydroloop.units.printing import System
from hydroloop.whatif import bands

# Where more measures vary than a picture has room for, the last of these go.
_FIRST = (USED, RELIABILITY, SHORT, DILUTION, UNDER, USES)


def spread_found(scenario: Scenario, table: xr.Dataset, system: System, how_many: str) -> WhatIf:
    """What many runs came to: bands in words, in tables, in pictures, and every run's numbers.

    Parameters
    ----------
    scenario : Scenario
        What was run.
    table : xarray.Dataset
        From `hydroloop.whatif.spread`.
    system : str
        ``"us"`` or ``"metric"``.
    how_many : str
        Pictures: ``"none"``; ``"few"``: of the town whose used share has the widest band;
        ``"all"``.

    Returns
    -------
    WhatIf
        Ready to be written.
    """
    towns = _towns(table) if how_many == "all" else _towns(table)[:1]
    figures = {} if how_many == "none" else {
        f"{town}_bands": bands_picture(table, town, system) for town in towns}
    tables = [_bands_table(table), _members_table(table, system)]
    if (hangs := correlations(table)) is not None:
        tables.append(_correlations_table(hangs))
    return WhatIf(spread_lines(scenario, table, system), {"scenario.toml": scenario}, tables,
                  figures, {"members.nc": table})


def bands_picture(table: xr.Dataset, town: str, system: System) -> charts.Picture:
    """The bands of a town's measures, and what they hang on.

    Parameters
    ----------
    table : xarray.Dataset
        From `hydroloop.whatif.spread`.
    town : str
        A town of it of which some measure varies.
    system : str
        ``"us"`` or ``"metric"``.

    Returns
    -------
    Picture
        Not yet in a file.
    """
    own, hangs = with_unmet(table).sel(town=town), correlations(table)
    moving = [told for told in _FIRST if told.name in own and varies(own[told.name].values)]
    found = bands(own[[told.name for told in moving]])
    rows = []
    for told in (told for told in TOLD if told in moving[:MOST_ROWS]):
        factor, unit = told.shown(own[told.name].values, system)
        levels = tuple(float(value) for value in factor * found[told.name].values)
        inputs = tuple((key_words(key), size)
                       for key, size in strongest(table, hangs, told, town))
        rows.append(Band(Drawn(told.plain, unit), levels, inputs,  # type: ignore[arg-type]
                         _else_said(table)))
    return charts.bands(town, rows, caption=_caption(table, town, hangs, system))


def _else_said(table: xr.Dataset) -> str:
    """Why a measure hangs on no input."""
    if not table.sizes.get("key", 0):
        return "no input was drawn, the weather alone"
    if table.sizes["member"] < FEWEST:
        return "too few runs to tell"
    return "nothing that stands out from chance"


def _caption(table: xr.Dataset, town: str, hangs: xr.Dataset | None, system: System) -> str:
    """The picture in words: the used share, what it hangs on, and what did not move at all."""
    own = with_unmet(table).sel(town=town)
    parts = [used_sentence(table, town), hangs_sentence(table, town, hangs, plain=True)]
    quiet = [words for told in told_in(own) if told is not USED
             and (words := still(told, own[told.name].values, system))]
    if quiet:
        parts.append(f"The same in every run: {joined(quiet)}.")
    members = table.sizes["member"]
    parts.append(f"Of {members} runs half lie in the broad bar, nine tenths in the thin one; the "
                 f"upright mark is the median. {NO_MORE}" if members >= FOR_BANDS else
                 f"{bands_sentence(members)} {NO_MORE}")
    return " ".join(part for part in parts if part)


def _towns(table: xr.Dataset) -> list[str]:
    """Towns with anything to draw, that with the widest band of the used share first."""
    whole = with_unmet(table)
    names = [told.name for told in told_in(whole)]
    towns = [town for town in map(str, table["town"].values)
             if any(varies(whole[name].sel(town=town).values) for name in names)]
    ends = bands(table[[USED.name]], (0.05, 0.95))[USED.name]
    wide = {town: float(ends.sel(town=town)[1] - ends.sel(town=town)[0]) for town in towns}
    return sorted(towns, key=lambda town: -np.nan_to_num(wide[town]))


def _bands_table(table: xr.Dataset) -> Table:
    """A row for each town and level."""
    found = bands(with_unmet(table))
    towns, levels = [str(town) for town in found["town"].values], found["level"].values
    columns = [Column("town", [town for town in towns for _ in levels]),
               Column("runs below", list(levels) * len(towns), "share")]
    columns += [told.column(found[told.name].transpose("town", "level").values.ravel())
                for told in EVERY if told.name in found]
    return Table("bands", "Bands of the season's measures", columns)


def _correlations_table(hangs: xr.Dataset) -> Table:
    """A row for each town and key."""
    towns, keys = ([str(name) for name in hangs[dim].values] for dim in ("town", "key"))
    columns = [Column("town", [town for town in towns for _ in keys]),
               Column("key", keys * len(towns))]
    columns += [Column(told.words, list(hangs[told.name].transpose("town", "key").values.ravel()),
                       "number") for told in EVERY if told.name in hangs]
    return Table("rank_correlations", "Rank correlations of measures with inputs", columns)


def _members_table(table: xr.Dataset, system: System) -> Table:
    """A row for each run and town, with the values that were drawn."""
    whole = with_unmet(table)
    towns, members = [str(town) for town in whole["town"].values], whole.sizes["member"]
    columns = [Column("run", [str(number) for number in whole["member"].values for _ in towns])]
    for key in whole["key"].values if "drawn" in whole else ():
        here = find(str(key).split("."))
        drawn = whole["drawn"].sel(key=key).transpose("member").values
        columns.append(Column(str(key), list(np.repeat(drawn, len(towns))),
                              (here.dimension if here else "") or "number"))
    columns.append(Column("town", towns * members))
    columns += [told.column(whole[told.name].transpose("member", "town").values.ravel())
                for told in EVERY if told.name in whole]
    return Table("members", "Every run", columns)
