"""What a reader of many runs may ask next: what changes something, told with the options."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np
import xarray as xr

from hydroloop.charts.words import key_words
from hydroloop.outputs.run.ask_next import changes_for, may_scale
from hydroloop.outputs.run.trouble import LEADS
from hydroloop.outputs.whatif.season_measures import USED, VOLUME
from hydroloop.outputs.whatif.spread_words import correlations, strongest
from hydroloop.scenario import Scenario
from hydroloop.scenario.tree import find
from hydroloop.units import format_quantity
from hydroloop.units.printing import System
from hydroloop.whatif import Comparison

_PART = 0.001


def further_changes(
    found: Comparison, given: Collection[str], shared: Sequence[Scenario]
) -> list[tuple[str, str]]:
    """Options that change something more for the town of a comparison, and what they ask, of no key
    that is `given`. Where they change all runs, `shared`, each of these must have the key; the runs
    may differ in it."""
    used = found.table[USED.name]
    moved = np.nan_to_num(abs(used.sel(run="after") - used.sel(run="before")).values)
    most = moved if moved.max(initial=0.0) > _PART else np.nan_to_num(used.sel(run="after").values)
    town = str(used["town"].values[int(np.argmax(most))])
    if town not in found.after.town:
        return []
    parts = found.used_parts["season_used_share_by_way"].sel(run="after", town=town).sum("way")
    others = {
        str(place): float(parts.sel(used_in=place))
        for place in parts["used_in"].values
        if str(place) != town and str(place) in found.after.town
    }
    above = max(others, key=lambda place: others[place], default="")
    got = found.table[VOLUME.name].sel(run="after")
    short = str(got["town"].values[int(np.argmin(np.nan_to_num(got.values, nan=1.0)))])
    is_short = float(got.sel(town=short)) < LEADS
    differ = set() if shared else {row[0].removesuffix(".scale") for row in found.inputs}
    asked = {*given, *differ}
    tried = [
        (option, what)
        for option, what in changes_for(
            found.after,
            short if is_short else town,
            above if others.get(above, 0.0) > _PART else "",
            is_short=is_short,
        )
        if (key := option.split()[1].split("=")[0]) not in asked
        and all(may_scale(one, key) for one in shared)
    ]
    dry = (
        []
        if any(key.startswith("dry_season") for key in asked)
        else [('--set "dry_season.rain_scale=50 %"', "with half the rain")]
    )
    return tried or dry


def range_to_sweep(scenario: Scenario, table: xr.Dataset, system: System) -> tuple[str, str] | None:
    """The input that bands depend on most with its two ends, as an option of `sweep`, and what it
    tells; None where no input is a range."""
    if not scenario.ranges:
        return None
    hangs = correlations(table)
    found = [
        pair for town in table["town"].values for pair in strongest(table, hangs, USED, str(town))
    ]
    key = max(found, key=lambda pair: abs(pair[1]))[0] if found else next(iter(scenario.ranges))
    here, ends = find(key.split(".")), scenario.ranges[key]
    is_number = here is None or here.dimension in ("", "count")
    low, high = (
        f"{end:g}"
        if is_number or here is None
        else format_quantity(end, here.dimension, system).replace(",", "")
        for end in ends
    )
    return f'--over "{key}={low},{high}"', f"what {key_words(key, scenario.names)} alone would do"


def farthest_point(grid: xr.Dataset, keys: Sequence[str]) -> tuple[int, ...]:
    """The point of a grid at which most tap water was used before, in the town that moves most."""
    used = grid[USED.name].transpose(*keys, "town").values
    flat = np.nan_to_num(used.reshape(-1, used.shape[-1]))
    town = int(np.argmax(np.ptp(flat, axis=0)))
    place = np.unravel_index(int(np.argmax(flat[:, town])), used.shape[:-1])
    return tuple(int(one) for one in place)
