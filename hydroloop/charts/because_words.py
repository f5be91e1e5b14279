"""Because, in a sentence: where used water was used last, and how it came back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import xarray as xr

from hydroloop.charts.words import joined, percent, place_words, whole_numbers
from hydroloop.gates import USUAL
from hydroloop.placenames import NO_NAMES, Names, names_of, possessive
from hydroloop.tracing.returning import ABOVE, NOT_KNOWN, OTHERS

CAME = {
    "river": "by the river",
    "reclaimed to plant": "back as reclaimed water, straight to the plant",
    "reclaimed to reservoir": "back as reclaimed water, by way of a reservoir",
    "ground": "through the ground",
    "overflow": "untreated, by an overflow or a storm drain",
    "not returned": "back without leaving the works",
    ABOVE: "down the river from above the map",
    NOT_KNOWN: "nobody knows how",
}
"""How used water came back, after "it came"."""

LITTLE = 0.0005
"""A smaller share is neither told nor taken apart [-]."""

LAST = {"toilet": "last flushed in", "wastewater-plant": "last treated in"}
"""Heading over the towns of a glass, where what counts as a use is not simply called one."""

_CLAUSES = CAME | {
    "river": "",
    "reclaimed to plant": "pumped back as reclaimed water",
    ABOVE: "",
    NOT_KNOWN: "",
}
_MOST_NAMED = 5
_OWN_PIECE = 0.1  # part of the used share from which a second way of a town is told apart [-]
_SMALL = (
    0.005  # a piece that is less of the tap water has no name of its own beside larger ones [-]
)
_ALL, _EVERY = 0.95, 0.9995  # parts that are nearly all, and all [-]
_VERBS = {"toilet": "in a toilet in", "wastewater-plant": "treated in"}


@dataclass(frozen=True)
class Piece:
    """Part of used water: where it was used last, how it came back, and its share [-]."""

    place: str
    way: str
    share: float


def because_sentence(table: xr.Dataset, town: str) -> str:
    """Where the used part of a town's tap water was used last, over the season.

    Parameters
    ----------
    table : xarray.Dataset
        Table of measures.
    town : str
        Name of the town.

    Returns
    -------
    str
        One sentence; its numbers add up to the used share as `percent` tells it. Empty where
        hardly any water was used before.

    Examples
    --------
    >>> import hydroloop as hl
    >>> table = hl.measures(hl.simulate(hl.read_scenario("first_town")))
    >>> because_sentence(table, "penhollow")
    'All of it was last used in Larkmill.'
    """
    if "season_used_share_by_way" not in table:
        return ""
    parts = table["season_used_share_by_way"].sel(town=town)
    if "member" in parts.dims:
        parts = parts.mean("member")
    return parts_sentence(parts, town, str(table.attrs.get("gate", USUAL)), names_of(table))


def parts_sentence(
    parts: xr.DataArray, town: str, gate: str = USUAL, names: Names = NO_NAMES
) -> str:
    """The same of any used share in parts, shape (used_in, way)."""
    used = float(parts.sum())
    if not used >= LITTLE:
        return ""
    common = _common_way(parts, used)
    pieces = _worth_naming(gathered(pieces_of(parts), used))
    verb = _VERBS.get(gate, "used in")
    aside = f", which came {CAME[common]}," if common else ""

    def words(piece: Piece, *, is_first: bool = False) -> str:
        where = piece_words(piece, town, gate, names, has_way=not common)
        if not is_first:
            return where
        return f"{verb} {where[3:]}" if where.startswith("in ") else f"used {where}"

    if len(pieces) == 1:
        all_ = "All" if pieces[0].share >= _EVERY * used else "Nearly all"
        return f"{all_} of it{aside if common else ''} was last {words(pieces[0], is_first=True)}."
    numbers = adding_up([piece.share for piece in pieces], used)
    told = [(number, piece) for number, piece in zip(numbers, pieces, strict=True) if number != "0"]
    head, *more = told
    said = [
        f"{head[0]} % last {words(head[1], is_first=True)}",
        *(f"{number} % {words(piece)}" for number, piece in more),
    ]
    return f"The {_figure(used)} %{aside} is made up of {joined(said)}."


def piece_words(piece: Piece, town: str, gate: str, names: Names, *, has_way: bool = True) -> str:
    """Where a piece of a town's used water was used last, and how it came back if not by the
    river: ``in Larkmill``, ``above the map``."""
    where = {ABOVE: ABOVE, NOT_KNOWN: "nobody knows where"}.get(
        piece.place, f"in {_place(piece.place, town, gate, names)}"
    )
    clause = _CLAUSES[piece.way] if has_way and where.startswith("in ") and piece.way else ""
    joint = "and " if clause.startswith("pumped") else "and came "
    return f"{where} {joint}{clause}" if clause else where


def pieces_of(parts: xr.DataArray) -> list[Piece]:
    """Each town's part with its main way, largest first; another large way stands apart."""
    used, found = float(parts.sum()), []
    names, ways = (parts[dim].values.astype(str).tolist() for dim in ("used_in", "way"))
    for place, shares in zip(names, parts.transpose("used_in", "way").values.tolist(), strict=True):
        order = sorted(zip(shares, ways, strict=True), reverse=True)
        large = [one for one in order[1:] if one[0] > _OWN_PIECE * used]
        small = sum(share for share, _ in order[1:] if share <= _OWN_PIECE * used)
        main = (order[0][0] + small, order[0][1])
        found += [Piece(place, way, share) for share, way in [main, *large]]
    return sorted(
        (piece for piece in found if piece.share > 1e-6 * used), key=lambda piece: -piece.share
    )


def gathered(pieces: Sequence[Piece], used: float) -> list[Piece]:
    """The largest pieces, and the others as one."""
    main = [piece for piece in pieces if piece.share >= _ALL * used]
    if main:
        return main
    if len(pieces) <= _MOST_NAMED:
        return list(pieces)
    kept = list(pieces[: _MOST_NAMED - 1])
    return [*kept, Piece(OTHERS, "", sum(piece.share for piece in pieces[_MOST_NAMED - 1 :]))]


def adding_up(shares: Sequence[float], whole: float) -> list[str]:
    """Parts in percent without the sign, rounded so that they add up to the whole as it is printed.

    Each is rounded down, and those that lose most by it are rounded up.

    Examples
    --------
    >>> adding_up([0.1199, 0.0438, 0.0168, 0.0326], 0.2131)
    ['12', '4', '2', '3']
    """
    printed = _figure(whole)
    finest = 1 if "." in printed or whole < 0.0995 else 0
    units = whole_numbers(np.array(shares), round(float(printed) * 10**finest))
    return [f"{unit / 10**finest:.{finest}f}".removesuffix(".0") for unit in units]


def _figure(share: float) -> str:
    """A share in percent as it is printed, the number alone: also of "more than 99.9 %"."""
    (printed,) = re.findall(r"[\d.]+", percent(share))
    return printed


def _worth_naming(pieces: list[Piece]) -> list[Piece]:
    """Pieces of which several that are too small to matter are one, unless all are so small."""
    large = [piece for piece in pieces if piece.share >= _SMALL and piece.place != OTHERS]
    if not large or len(pieces) - len(large) < 2:
        return pieces
    return [*large, Piece(OTHERS, "", sum(one.share for one in pieces if one not in large))]


def _common_way(parts: xr.DataArray, used: float) -> str:
    """The way by which nearly all came, if it is not simply the river; else nothing."""
    by_way = parts.sum("used_in")
    way = str(by_way.idxmax("way").item())
    is_told = way not in ("river", ABOVE, NOT_KNOWN) and parts.sizes["used_in"] > 1
    many = int((parts.sum("way") > (1.0 - _ALL) * used).sum()) > 1
    return way if is_told and many and float(by_way.max()) >= _ALL * used else ""


def _place(place: str, town: str, gate: str, names: Names) -> str:
    name = place_words(place, names)
    if place != town:
        return name
    return f"{possessive(name)} own homes" if gate == USUAL else f"{name} itself"
