"""Why a used share differs between two runs: where the difference was used last."""

from __future__ import annotations

import numpy as np
import xarray as xr

from hydroloop.charts.because_words import Piece, piece_words
from hydroloop.charts.words import percent, place_words
from hydroloop.gates import USUAL
from hydroloop.outputs.document.table import Column, Table, places_column
from hydroloop.outputs.document.wording import figure
from hydroloop.outputs.whatif.season_measures import EFFLUENT, VOLUME, WITHDRAWN, run_column
from hydroloop.units import format_quantity
from hydroloop.units.printing import System
from hydroloop.whatif import Comparison

_LEAST = 0.002  # a smaller difference of a used share is told no cause of [-]
_PLAIN = 0.6  # part of all that moved from which one part is the plain cause [-]
_SAME = 0.02  # flows that differ by less are called the same [-]
_SHORT = 0.01  # a difference of what a town got that tells why it gave back less [-]
_GIVEN = 0.03  # and of what it gave back, as a part of that [-]
_NO_PART = 1e-9


def cause_sentence(found: Comparison, town: str, system: System) -> str:
    """Which part of a town's used water makes the difference, if one plainly does, and why where
    that part is its own reclaimed water; else nothing."""
    moved = _moved(found, town)
    whole = float(moved.sum())
    if not abs(whole) >= _LEAST:
        return ""
    values = moved.values
    place, way = np.unravel_index(int(np.argmax(values * np.sign(whole))), values.shape)
    if values[place, way] * np.sign(whole) < _PLAIN * np.abs(values).sum():
        return ""
    piece = Piece(str(moved["used_in"].values[place]), str(moved["way"].values[way]), 0.0)
    parts = found.used_parts["season_used_share_by_way"].sel(
        town=town, used_in=piece.place, way=piece.way
    )
    before, after = (float(parts.sel(run=run)) for run in ("before", "after"))
    gate = found.after.season.count_as or USUAL
    said = f"Most of the difference was last used {piece_words(piece, town, gate, found.names)}: "
    said += f"{percent(after)} of the tap water, not {percent(before)}"
    return f"{said}{_shared(found, town, piece, whole, system)}."


def upstream_words(found: Comparison, town: str, system: System) -> str:
    """That a town above took in less water, or more, because it was short, and so gave back less,
    or more, to the river; of several the one that matters most; else nothing."""
    parts = found.used_parts["season_used_share_by_way"].sel(town=town).sum("way").max("run")
    got = found.table.get(VOLUME.name)
    above = [
        str(place)
        for place in parts["used_in"].values
        if str(place) != town and str(place) in found.table["town"].values
    ]
    if got is None or not above:
        return ""
    place = max(above, key=lambda one: float(parts.sel(used_in=one)))
    if float(parts.sel(used_in=place)) < _LEAST:
        return ""
    more = float(got.sel(run="after", town=place) - got.sel(run="before", town=place))
    pairs = [found.table[told.name].sel(town=place).values for told in (WITHDRAWN, EFFLUENT)]
    moved = [float(after - before) for before, after in pairs]
    is_cause = _GIVEN * float(pairs[1].max()) < abs(moved[1]) <= abs(moved[0])
    if not (is_cause and abs(more) > _SHORT and all(one * more > 0.0 for one in moved)):
        return ""
    factor, unit = WITHDRAWN.shown([*pairs[0], *pairs[1]], system)
    (taken, was), (given, gave) = ([figure(factor * one) for one in pair[::-1]] for pair in pairs)
    is_less = "short" if more < 0.0 else "less short"
    return (
        f"{place_words(place, found.names)} is {is_less} of water, takes in {taken} {unit}, not "
        f"{was}, and so gives back {given}, not {gave}: that "
        f"{'holds the share down' if more < 0.0 else 'raises the share'}."
    )


def _shared(found: Comparison, town: str, piece: Piece, whole: float, system: System) -> str:
    """Who shares the town's own reclaimed water, or that there is more or less of it."""
    if piece.place != town or piece.way != "reclaimed to plant":
        return ""
    flow = found.used_parts["reclaimed_to_supply"].sel(town=town)
    before, after = (float(flow.sel(run=run)) for run in ("before", "after"))
    if abs(after - before) > _SAME * max(before, after):
        shown = [format_quantity(value, "flow", system) for value in (after, before)]
        return f", as {shown[0]} of reclaimed water is pumped back, not {shown[1]}"
    people = [one.town[town].people for one in (found.before, found.after)]
    amount = format_quantity(after, "flow", system)
    if people[0] != people[1] and (people[1] > people[0]) == (whole < 0.0):
        more = "more" if people[1] > people[0] else "fewer"
        return f", as {more} people share the same {amount} of reclaimed water"
    more = "more" if whole < 0.0 else "less"
    return f", as {more} other water is mixed with the same {amount} of reclaimed water"


def parts_of_both(found: Comparison, run: str) -> Table:
    """The used share of each town by who used the water last and the way it came, in both runs."""
    parts = found.used_parts["season_used_share_by_way"].transpose("run", "town", "used_in", "way")
    values = np.nan_to_num(parts.values)
    some = np.nonzero((values > _NO_PART).any(axis=0))
    names = [
        parts[dim].values[place].astype(str).tolist()
        for dim, place in zip(("town", "used_in", "way"), some, strict=True)
    ]
    before, after = (values[number][some].tolist() for number in (0, 1))
    return Table(
        "because",
        "Where the used water was used last, in both runs",
        [
            run_column([run] * len(before)),
            places_column("town", names[0], found.names),
            places_column("last used in", names[1], found.names),
            Column("came back", names[2]),
            Column("share without", before, "share", "share_before"),
            Column("share with", after, "share", "share_after"),
            Column("change", [b - a for a, b in zip(before, after, strict=True)], "share"),
        ],
    )


def _moved(found: Comparison, town: str) -> xr.DataArray:
    """By how much each part of a town's used share differs, shape (used_in, way)."""
    parts = found.used_parts["season_used_share_by_way"].sel(town=town)
    return (parts.sel(run="after") - parts.sel(run="before")).transpose("used_in", "way")
