"""Bands as pictures."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop import charts
from hydroloop.charts.bands import MOST_ROWS, Band
from hydroloop.charts.varied import Drawn
from hydroloop.charts.words import joined, key_words, place_words
from hydroloop.outputs.document.wording import varies
from hydroloop.outputs.whatif.season_measures import (
    DILUTION,
    RELIABILITY,
    SHORT,
    TOLD,
    UNDER,
    USED,
    USES,
    still,
    told_in,
    with_unmet,
)
from hydroloop.outputs.whatif.spread_words import (
    FEWEST,
    FOR_BANDS,
    NO_MORE,
    bands_sentence,
    correlations,
    hangs_sentence,
    strongest,
    used_sentence,
)
from hydroloop.placenames import names_of
from hydroloop.units.printing import System
from hydroloop.whatif import bands

# Where more measures vary than a picture has room for, the last of these go.
_FIRST = (USED, RELIABILITY, SHORT, DILUTION, UNDER, USES)


def bands_picture(table: xr.Dataset, town: str, system: System) -> charts.Picture:
    """The bands of a town's measures, and what they depend on."""
    own, hangs = with_unmet(table).sel(town=town), correlations(table)
    moving = [told for told in _FIRST if told.name in own and varies(own[told.name].values)]
    found = bands(own[[told.name for told in moving]])
    rows = []
    for told in (told for told in TOLD if told in moving[:MOST_ROWS]):
        factor, unit = told.shown(own[told.name].values, system)
        low, lower, middle, upper, high = (factor * found[told.name].values).tolist()
        inputs = tuple(
            (key_words(key, names_of(table)), size)
            for key, size in strongest(table, hangs, told, town)
        )
        rows.append(
            Band(
                Drawn(told.plain, unit),
                (low, lower, middle, upper, high),
                inputs,
                _else_said(table),
            )
        )
    return charts.bands(
        place_words(town, names_of(table)), rows, caption=_caption(table, town, hangs, system)
    )


def _else_said(table: xr.Dataset) -> str:
    """Why a measure depends on no input."""
    if not table.sizes.get("key", 0):
        return "no input was drawn, the weather alone"
    if table.sizes["member"] < FEWEST:
        return "too few runs to tell"
    return "nothing that stands out from chance"


def _caption(table: xr.Dataset, town: str, hangs: xr.Dataset | None, system: System) -> str:
    """The picture in words: the used share, what it depends on, and what did not move at all."""
    own = with_unmet(table).sel(town=town)
    parts = [used_sentence(table, town), hangs_sentence(table, town, hangs)]
    quiet = [
        words
        for told in told_in(own)
        if told is not USED and (words := still(told, own[told.name].values, system))
    ]
    if quiet:
        parts.append(f"The same in every run: {joined(quiet)}.")
    members = table.sizes["member"]
    parts.append(
        f"Of {members} runs half lie in the broad bar, nine tenths in the thin one; the "
        f"upright mark is the median. {NO_MORE}"
        if members >= FOR_BANDS
        else f"{bands_sentence(members)} {NO_MORE}"
    )
    return " ".join(part for part in parts if part)


def towns_drawn(table: xr.Dataset) -> list[str]:
    """Towns with anything to draw, that with the widest band of the used share first."""
    whole = with_unmet(table)
    names = [told.name for told in told_in(whole)]
    towns = [
        town
        for town in map(str, table["town"].values)
        if any(varies(whole[name].sel(town=town).values) for name in names)
    ]
    ends = bands(table[[USED.name]], (0.05, 0.95))[USED.name]
    wide = {town: float(ends.sel(town=town)[1] - ends.sel(town=town)[0]) for town in towns}
    return sorted(towns, key=lambda town: -np.nan_to_num(wide[town]))
