"""Bands instead of numbers, in sentences."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.charts.words import joined, key_words, percent, place_words
from hydroloop.outputs.document.wording import amount, figure, varies
from hydroloop.outputs.whatif.season_measures import (
    CUT,
    SHORT,
    USED,
    Told,
    by_range,
    matters,
    with_unmet,
)
from hydroloop.placenames import names_of
from hydroloop.units.printing import System
from hydroloop.whatif import bands, rank_correlations

FEWEST, FOR_BANDS = 3, 20
"""With fewer runs there are no correlations, and no bands."""
NO_MORE = "A band shows what the ranges given do, not what the model leaves out."


def correlations(table: xr.Dataset) -> xr.Dataset | None:
    """Rank correlations with the keys drawn; None where none was, or members are too few."""
    if not table.sizes.get("key", 0) or table.sizes["member"] < FEWEST:
        return None
    return rank_correlations(with_unmet(table))


def strongest(
    table: xr.Dataset, hangs: xr.Dataset | None, told: Told, town: str
) -> list[tuple[str, float]]:
    """The keys that a town's measure depends on, the strongest first, without what is chance."""
    if hangs is None or told.name not in hangs:
        return []
    sizes = {
        str(key): float(hangs[told.name].sel(key=key, town=town)) for key in hangs["key"].values
    }
    least = 2.0 / np.sqrt(table.sizes["member"])
    return sorted(
        ((key, size) for key, size in sizes.items() if abs(size) >= least),
        key=lambda pair: -abs(pair[1]),
    )


def told_words(table: xr.Dataset, system: System) -> list[str]:
    """The answer of many runs: how far apart they lie where that matters, and what that depends
    on; towns in which it does not are told together."""
    whole, hangs = with_unmet(table), correlations(table)
    ends = bands(
        whole[[told.name for told in (USED, SHORT, CUT) if told.name in whole]],
        (0.05, 0.5, 0.95) if table.sizes["member"] >= FOR_BANDS else (0.0, 0.5, 1.0),
    )
    low, middle, high = ends[USED.name].transpose(..., "town")
    told, others, quiet = by_range(low, high)
    said = [
        f"{used_sentence(table, town)} {hangs_sentence(table, town, hangs)}".rstrip()
        for town in told
    ]
    names = names_of(table)
    less = [
        f"{place_words(town, names)} ({figure(100.0 * float(low.sel(town=town)))} to "
        f"{amount(100.0 * float(high.sel(town=town)), '%')})"
        for town in others
    ]
    still = [
        f"{place_words(town, names)} ({percent(float(middle.sel(town=town)))})" for town in quiet
    ]
    if less:
        said.append(f"The used share varies less in {joined(less)}.")
    if still:
        said.append(f"The used share hardly varies in {joined(still)}.")
    where = "nine runs of ten" if table.sizes["member"] >= FOR_BANDS else "all runs"
    return [*said, *_short_words(ends, system, where), *_cut_words(ends, where)]


def _short_words(ends: xr.Dataset, system: System, where: str) -> list[str]:
    """How much water towns lack."""
    if SHORT.name not in ends:
        return []
    said = []
    for town in map(str, ends["town"].values):
        low, _, high = ends[SHORT.name].sel(town=town).values
        if high > 0.0:
            factor, unit = SHORT.shown([low, high], system)
            least = f"{figure(factor * low)} to " if matters(SHORT, low, high) else ""
            name = place_words(town, names_of(ends))
            said.append(f"{name} {least}{figure(factor * high)} {unit}")
    return [f"Water short over the season, in {where}: {joined(said)}."] if said else []


def _cut_words(ends: xr.Dataset, where: str) -> list[str]:
    """How much of a town's use drought stages cut."""
    if CUT.name not in ends:
        return []
    cuts: dict[str, list[str]] = {}
    for town in map(str, ends["town"].values):
        low, _, high = ends[CUT.name].sel(town=town).values
        if high >= 0.0005:
            least = f"{percent(low)} to " if matters(CUT, low, high) else ""
            cuts.setdefault(f"{least}{percent(high)}", []).append(place_words(town, names_of(ends)))
    said = [f"{share} of the use of {joined(towns)}" for share, towns in cuts.items()]
    return [f"Drought stages cut {joined(said)} in {where}."] if said else []


def used_sentence(table: xr.Dataset, town: str) -> str:
    """The band of a town's used share in words."""
    share = 100.0 * bands(table[[USED.name]])[USED.name].sel(town=town)
    low, middle, high = (float(share.sel(level=level)) for level in (0.05, 0.5, 0.95))
    name = place_words(town, names_of(table))
    words = f"{name}: {amount(middle, '%')} of its tap water was used before"
    values = 100.0 * table[USED.name].sel(town=town).values
    if not varies(values):
        return f"{words}, whatever was drawn."
    ends = f"between {figure(float(values.min()))} and {amount(float(values.max()), '%')}"
    if len(values) < FOR_BANDS:
        return f"{words}; {ends} in {len(values)} runs."
    if figure(low) == figure(high):
        return f"{words} in nine runs of ten; {ends} in all."
    return (
        f"{words} in the middle run; nine runs in ten lie between {figure(low)} and "
        f"{amount(high, '%')}."
    )


def too_few(members: int) -> str:
    """That runs are too few for bands; empty where they are not."""
    return (
        ""
        if members >= FOR_BANDS
        else (
            f"{members} runs are too few for bands: draw {FOR_BANDS} or more to tell where nine "
            "tenths lie."
        )
    )


def bands_sentence(members: int) -> str:
    """What bands are of, or why they are none."""
    return too_few(members) or (
        "Half of the runs lie between 25 and 75 %, nine tenths between 5 and 95 %."
    )


def hangs_sentence(table: xr.Dataset, town: str, hangs: xr.Dataset | None) -> str:
    """What a town's used share depends on most; empty where nothing stands out from chance."""
    found = strongest(table, hangs, USED, town)
    if not found or not varies(table[USED.name].sel(town=town).values):
        return ""
    key, strength = found[0]
    more = "more" if strength > 0 else "less"
    return (
        f"It depends most on {key_words(key, names_of(table))}: where that is higher, {more} "
        "was used before."
    )
