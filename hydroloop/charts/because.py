"""Because, as a picture: each town's used tap water in parts, by who used it last and how it came.

A bar for each town, as long as its used share; its parts lie side by side, the largest first. The
fill of a part is the way it came, its label the town that used it last.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import xarray as xr
from matplotlib.patches import Rectangle

from hydroloop.charts.asking import mean_member, use_of
from hydroloop.charts.because_words import (
    LITTLE,
    OTHERS,
    Piece,
    adding_up,
    because_sentence,
    gathered,
    pieces_of,
)
from hydroloop.charts.colours import LINE, PAPER, WAYS
from hydroloop.charts.picture import HEIGHT, WIDTH, Picture, house_style, write
from hydroloop.charts.spreading import spread
from hydroloop.charts.words import percent, place_words, span_words
from hydroloop.errors import AskError, Problem
from hydroloop.placenames import Names, names_of, possessive
from hydroloop.tracing.returning import ABOVE, NOT_KNOWN

MOST_TOWNS = 6
"""What one picture has room for."""

KEY = {
    "river": "by the river",
    "reclaimed to plant": "reclaimed, straight to the plant",
    "reclaimed to reservoir": "reclaimed, by a reservoir",
    "ground": "through the ground",
    "overflow": "untreated, by an overflow or drain",
    "not returned": "without leaving the works",
    ABOVE: "from above the map",
    NOT_KNOWN: "nobody knows how",
}
"""Ways by which used water came back, as the key of the picture says them."""

_LEFT, _RIGHT, _TOP = 2.75, 1.1, HEIGHT - 1.65
_LINE, _TALL = 0.27, 1.5  # a line of letters, and a row where there are few towns [in]
_SHORTEST = 0.1  # used share of a full bar, at least: little must not look like much [-]
_NARROWEST = 0.25  # narrower parts of a bar are drawn as one [in]


@house_style
def because(table: xr.Dataset) -> Picture:
    """Each town's used tap water in parts, over the season; the towns with most of it, if they are
    more than `MOST_TOWNS`."""
    table = mean_member(table)
    if "season_used_share_by_way" not in table:
        raise AskError(
            Problem(
                "because",
                "no water of this record comes to homes.",
                "Give it flows of kind home_use.",
            )
        )
    used = table["season_used_share"].fillna(0.0)
    towns = [str(town) for town in table["town"].values]
    kept = sorted(towns, key=lambda town: -float(used.sel(town=town)))[:MOST_TOWNS]
    largest = max(float(used.max()), _SHORTEST)
    picture = Picture(
        f"Where used tap water was used last, {span_words(table['time'].values)}",
        _caption(table, kept[0], len(towns)),
    )
    scale = (WIDTH - _LEFT - _RIGHT) / largest
    names = names_of(table)
    shown = {town: _pieces(table, town, _NARROWEST / scale) for town in towns if town in kept}
    _draw_key(picture, shown)
    high = min(_TALL, (_TOP - picture.floor - 0.1) / len(shown))
    for number, (town, pieces) in enumerate(shown.items()):
        words = [replace(one, place=_short(one.place, town, names)) for one in pieces]
        _draw_town(
            picture,
            place_words(town, names),
            words,
            float(used.sel(town=town)),
            (_TOP - number * high, high, scale),
        )
    bottom = _TOP - len(shown) * high
    picture.sheet.plot([_LEFT, _LEFT], [_TOP, bottom], color=LINE, lw=1.6, zorder=5)
    return picture


def _caption(table: xr.Dataset, town: str, towns: int) -> str:
    name, use = place_words(town, names_of(table)), use_of(table)
    share = float(table["season_used_share"].sel(town=town))
    said = [f"{percent(share)} of {possessive(name)} tap water had been {use.within} before."]
    if share >= LITTLE:
        said.append(because_sentence(table, town))
        said.append("Water that two towns have used counts for the second alone.")
    else:
        said = [f"Hardly any tap water had been {use.within} before."]
    unknown = (
        float(table["season_unknown_share"].sel(town=town))
        if ("season_unknown_share" in table)
        else 0.0
    )
    if unknown >= LITTLE:
        said.append(f"The past of another {percent(unknown)} is not known.")
    if towns > MOST_TOWNS:
        said.append(f"Drawn are the {MOST_TOWNS} towns with the most used water, of {towns}.")
    return " ".join(said)


def _pieces(table: xr.Dataset, town: str, least: float) -> list[Piece]:
    """Parts of a town's bar; those less than `least` are one, if they are more than one."""
    parts = table["season_used_share_by_way"].sel(town=town)
    whole = float(parts.sum())
    if not whole >= LITTLE:
        return []
    pieces = pieces_of(parts)
    named = [
        piece for piece in gathered(pieces, whole) if piece.place != OTHERS and piece.share >= least
    ] or pieces[:1]
    left = pieces[len(named) :]
    if not left:
        return named
    rest = whole - sum(piece.share for piece in named)
    if len(left) == 1 or rest < 1e-3 * whole:
        return [*named, Piece(left[0].place, left[0].way, rest)]
    return [*named, Piece(OTHERS, left[0].way, rest)]  # filled as most of them came


def _draw_key(picture: Picture, shown: dict[str, list[Piece]]) -> None:
    """What the fills mean, of the ways that are drawn."""
    ways = [
        way for way in KEY if any(piece.way == way for pieces in shown.values() for piece in pieces)
    ]
    x, y = _LEFT, HEIGHT - 1.1
    if ways:
        write(
            picture.sheet, (x - 0.15, y), "it came back", ha="right", style="italic", va="baseline"
        )
    for way in ways:
        wide = 0.45 + picture.text_width(KEY[way]) + 0.35
        if x + wide > WIDTH:
            x, y = _LEFT, y - 0.34
        colour, hatch = WAYS[way]
        picture.sheet.add_patch(
            Rectangle(
                (x, y - 0.02), 0.36, 0.2, facecolor=colour, edgecolor=LINE, hatch=hatch, lw=1.2
            )
        )
        write(picture.sheet, (x + 0.45, y), KEY[way], ha="left", va="baseline")
        x += wide


def _draw_town(
    picture: Picture, name: str, pieces: list[Piece], used: float, row: tuple[float, float, float]
) -> None:
    """One bar, with the name of its town before it and its used share after it."""
    top, high, scale = row
    thick = min(0.8, high - 0.4)
    low = top - 0.08 - thick
    middle = low + 0.5 * thick
    shown = picture.cut(name, _LEFT - 0.5, 17.0)
    write(
        picture.sheet,
        (_LEFT - 0.15, middle),
        shown,
        size=17.0,
        weight="bold",
        ha="right",
        va="center_baseline",
    )
    if not pieces:
        write(
            picture.sheet,
            (_LEFT + 0.15, middle),
            "hardly any" if used > 1e-9 else "none",
            ha="left",
            style="italic",
            va="center_baseline",
        )
        return
    numbers = adding_up([piece.share for piece in pieces], used)
    beside = ", ".join(
        f"{piece.place} {number} %"
        for piece, number in zip(pieces, numbers, strict=True)
        if number != "0"
    )
    x, under = _LEFT, []
    for piece, number in zip(pieces, numbers, strict=True):
        wide = piece.share * scale
        colour, hatch = WAYS[piece.way]
        picture.sheet.add_patch(
            Rectangle(
                (x, low),
                wide,
                thick,
                facecolor=colour,
                edgecolor=LINE,
                hatch=hatch,
                lw=1.4,
                zorder=3,
                gid="part",
            )
        )
        words = f"{piece.place} {number} %"
        if (room := picture.text_width(words) + 0.12) + 0.1 < wide:
            picture.sheet.add_patch(
                Rectangle(  # no hatching behind letters
                    (x + 0.5 * (wide - room), middle - 0.15), room, 0.3, facecolor=colour, zorder=4
                )
            )
            write(picture.sheet, (x + 0.5 * wide, middle), words, on=colour, va="center_baseline")
        else:
            under.append((x + 0.5 * wide, words if number != "0" else piece.place))
        x += wide
    write(
        picture.sheet,
        (x + 0.12, middle),
        percent(used),
        size=17.0,
        weight="bold",
        ha="left",
        va="center_baseline",
    )
    x += 0.3 + picture.text_width(percent(used), 17.0, "bold")
    if len(under) == len(pieces) and x + picture.text_width(beside) < WIDTH:
        write(picture.sheet, (x, middle), beside, ha="left", va="center_baseline")
    else:
        _label_under(picture, under, low)


def _label_under(picture: Picture, labels: list[tuple[float, str]], low: float) -> None:
    """Labels of parts too narrow to hold them, in a line under the bar."""
    if not labels:
        return
    widths = np.array([picture.text_width(words) + 0.25 for _, words in labels])
    # Moved apart as points, each with the room of those before it taken off.
    before = np.concatenate([[0.0], np.cumsum(0.5 * (widths[:-1] + widths[1:]))])
    wanted = np.maximum.accumulate(np.array([x for x, _ in labels]) - before)
    found = (
        spread(
            wanted.tolist(),
            0.0,
            _LEFT + 0.5 * widths[0],
            WIDTH - 0.1 - 0.5 * widths[-1] - before[-1],
        )
        + before
    )
    for (x, words), at in zip(labels, found.tolist(), strict=True):
        picture.sheet.plot([x, x, at], [low, low - 0.07, low - 0.14], color=LINE, lw=1.1, zorder=4)
        write(picture.sheet, (at, low - 0.14 - 0.5 * _LINE), words, va="center_baseline", on=PAPER)


def _short(place: str, town: str, names: Names) -> str:
    """A place as its part is labelled."""
    return place_words(place, names) + (" itself" if place == town else "")
