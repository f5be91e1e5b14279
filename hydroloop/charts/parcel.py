"""Where a parcel of water ended, and how many times it passed through homes on its way."""

from __future__ import annotations

import math

import numpy as np
import xarray as xr
from matplotlib.patches import Rectangle

from hydroloop.charts.asking import number, of_town, use_classes, use_of
from hydroloop.charts.colours import BAR, LINE, WALL, use_colour
from hydroloop.charts.picture import Picture, house_style, write
from hydroloop.charts.words import date_words, joined, percent, place_words, two_figures, use_words
from hydroloop.errors import AskError, Problem
from hydroloop.gates import Use
from hydroloop.placenames import names_of

LEAST_SHOWN = 0.0005
"""Smaller shares are gathered [-]."""

_TOP = 1.25  # from the upper edge to the first heading [in]
_HEADING = 17.0  # [pt]


@house_style
def parcel(table: xr.Dataset, town: str) -> Picture:
    """Where a parcel of water ended that entered the treatment plant on the season's first day, or
    which way it had left, and how many times it had been in homes."""
    own, name = of_town(table, town), place_words(town, names_of(table))
    if "parcel_end_share" not in own or not np.isfinite(own["parcel_end_share"].values).all():
        what = f"no parcel was followed from {name}."
        raise AskError(Problem("town", what, "Choose a town that takes in water that day."))
    ends = _ends(own)
    passes = _passes(own)
    day = date_words(own["parcel_date"].values)
    last = date_words(own["time"].values[-1])
    title = f"Where water taken in by {name} on {day} went"
    use = use_of(table)
    picture = Picture(title, _caption(ends, passes, number(own, "parcel_passes"), last,
                                      use))
    picture.lower(picture.floor + _TOP + 0.45 + max(len(ends), len(passes)))
    top = picture.height - _TOP
    write(picture.sheet, (0.35, top), f"On {last} it was here", size=_HEADING, weight="bold",
          ha="left", va="center_baseline")  # fmt: skip
    write(picture.sheet, (8.6, top), f"It had passed {use.often}", size=_HEADING, weight="bold",
          ha="left", va="center_baseline")  # fmt: skip
    _draw_bars(picture, [(words, share, BAR) for words, share in ends], 0.35, 7.2)
    bars = [(words, share, use_colour(row)) for row, words, share in passes]
    _draw_bars(picture, bars, 8.6, 4.3)
    return picture


def _ends(town: xr.Dataset) -> list[tuple[str, float]]:
    """Ends by share, the largest first; the smallest are gathered."""
    shares = town["parcel_end_share"]
    pairs = sorted(zip(map(str, shares["end"].values), map(float, shares.values), strict=True),
                   key=lambda pair: -pair[1])  # fmt: skip
    return [(words, share) for words, share in pairs if share > LEAST_SHOWN]


def _passes(town: xr.Dataset) -> list[tuple[int, str, float]]:
    shares = use_classes(town["parcel_pass_share"])
    last = len(shares) - 1
    words = ["not once", *(use_words(use, last) for use in range(1, last + 1))]
    return [(use, words[use], float(share)) for use, share in enumerate(shares)
            if share > LEAST_SHOWN]  # fmt: skip


def _draw_bars(picture: Picture, bars: list[tuple[str, float, str]], left: float,
               wide: float) -> None:
    """Bars with their labels above; the faint frame is the whole parcel."""
    top = picture.height - _TOP
    row = min(1.0, (top - 0.3 - picture.floor) / max(len(bars), 1))
    thick = min(0.42, row - 0.45)
    for number_of_bar, (words, share, colour) in enumerate(bars):
        y = top - 0.5 - number_of_bar * row
        write(picture.sheet, (left, y), f"{words}: {percent(share)}", size=16, ha="left",
              va="center_baseline")  # fmt: skip
        for length, fill, gid in ((wide, WALL, "whole"), (wide * share, colour, "bar")):
            picture.sheet.add_patch(Rectangle(
                (left, y - 0.19 - thick), length, thick, facecolor=fill, edgecolor=LINE, lw=1.2,
                zorder=3, gid=gid,
            ))  # fmt: skip


def _caption(ends: list[tuple[str, float]], passes: list[tuple[int, str, float]], mean: float,
             last: str, use: Use) -> str:
    parts = [f"{percent(share)} {words}" for words, share in ends[:3]]
    again = sum(share for use, _, share in passes if use > 1)
    words = [f"Of water taken in on the season's first day, by {last}: {joined(parts)}"]
    if math.isfinite(mean):
        words.append(f"On average it had passed {use.often} {two_figures(mean)} times")
    if again > LEAST_SHOWN:
        words[-1] += f"; {percent(again)} of it had done so more than once"
    return ". ".join(words) + "."
