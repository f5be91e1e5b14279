"""Bands instead of numbers, in sentences."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.charts.words import key_words, place_words
from hydroloop.outputs.document.wording import amount, figure, varies
from hydroloop.outputs.whatif.season_measures import (
    USED,
    Told,
    with_unmet,
)
from hydroloop.whatif import bands, rank_correlations

FEWEST, FOR_BANDS = 3, 20
"""With fewer runs there are no correlations, and no bands."""
NO_MORE = "A band shows what the ranges given do, not what the model leaves out."


def correlations(table: xr.Dataset) -> xr.Dataset | None:
    """Rank correlations with the keys drawn; None where none was, or members are too few."""
    if not table.sizes.get("key", 0) or table.sizes["member"] < FEWEST:
        return None
    return rank_correlations(with_unmet(table))


def strongest(table: xr.Dataset, hangs: xr.Dataset | None, told: Told,
              town: str) -> list[tuple[str, float]]:
    """The keys that a town's measure hangs on, the strongest first; what is chance is left out."""
    if hangs is None or told.name not in hangs:
        return []
    sizes = {str(key): float(hangs[told.name].sel(key=key, town=town))
             for key in hangs["key"].values}
    least = 2.0 / np.sqrt(table.sizes["member"])
    return sorted(((key, size) for key, size in sizes.items() if abs(size) >= least),
                  key=lambda pair: -abs(pair[1]))


def used_sentence(table: xr.Dataset, town: str) -> str:
    """The band of a town's used share in words."""
    share = 100.0 * bands(table[[USED.name]])[USED.name].sel(town=town)
    low, middle, high = (float(share.sel(level=level)) for level in (0.05, 0.5, 0.95))
    words = f"{place_words(town)}: {amount(middle, '%')} of its tap water was used before"
    values = 100.0 * table[USED.name].sel(town=town).values
    if not varies(values):
        return f"{words}, whatever was drawn."
    ends = f"between {figure(float(values.min()))} and {amount(float(values.max()), '%')}"
    if len(values) < FOR_BANDS:
        return f"{words}; {ends} in {len(values)} members."
    if figure(low) == figure(high):
        return f"{words} in nine runs of ten; {ends} in all."
    return (f"{words} in the middle run; nine runs in ten lie between {figure(low)} and "
            f"{amount(high, '%')}.")


def bands_sentence(members: int) -> str:
    """What bands are of, or why they are none."""
    if members < FOR_BANDS:
        return (f"{members} members are too few for bands: draw {FOR_BANDS} or more to tell where "
                "nine tenths lie.")
    return "Half of the members lie between 25 and 75 %, nine tenths between 5 and 95 %."


def hangs_sentence(table: xr.Dataset, town: str, hangs: xr.Dataset | None, *,
                   plain: bool = False) -> str:
    """What a town's used share hangs on most; empty where nothing stands out from chance."""
    found = strongest(table, hangs, USED, town)
    if not found or not varies(table[USED.name].sel(town=town).values):
        return ""
    key, strength = found[0]
    more = "more" if strength > 0 else "less"
    return (f"It depends most on {key_words(key) if plain else key}: where that is higher, {more} "
            f"was used before (rank correlation {strength:+.2f}).")
