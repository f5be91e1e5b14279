"""What became of a hundred drops that a town took in: where they went, and how often used."""

from __future__ import annotations

import math

import numpy as np
import xarray as xr
from matplotlib.patches import Circle

from hydroloop.charts.asking import number, of_town, use_classes, use_of
from hydroloop.charts.colours import LINE, use_colour
from hydroloop.charts.picture import Picture, house_style, write
from hydroloop.charts.words import (
    date_words,
    joined,
    percent,
    place_words,
    two_figures,
    use_words,
    whole_numbers,
)
from hydroloop.errors import AskError, Problem
from hydroloop.gates import Use
from hydroloop.placenames import names_of

LEAST_SHOWN = 0.0005
"""Smaller shares are left out [-]."""

DROPS = 100

_TOP = 1.2  # from the upper edge to the heading [in]
_LEFT, _ROOM = 4.55, 0.335  # where drops begin, and room for each [in]
_A_LINE = 25  # drops in a line


@house_style
def parcel(table: xr.Dataset, town: str, ends: xr.DataArray) -> Picture:
    """A hundred drops that entered the treatment plant on the season's first day: a row for where
    they were at its end, each drop in the colour of how often it had been used by then; `ends`,
    shape (end, use), from `measures.ends_by_use`."""
    own, name = of_town(table, town), place_words(town, names_of(table))
    shares = np.array([use_classes(row) for row in ends.transpose("end", "use")])
    if not np.isfinite(shares).all() or not shares.sum() > 0.0:
        raise AskError(
            Problem(
                "town",
                f"no parcel was followed from {name}.",
                "Choose a town that takes in water that day.",
            )
        )
    first, last = (date_words(day) for day in (own["parcel_date"].values, own["time"].values[-1]))
    order = np.argsort(-shares.sum(axis=1), kind="stable")
    rows = [
        (str(ends["end"].values[end]), shares[end])
        for end in order
        if shares[end].sum() > LEAST_SHOWN
    ]
    use = use_of(table)
    many = whole_numbers(np.array([row.sum() for _, row in rows]), DROPS)
    picture = Picture(
        f"What became of {DROPS} drops that {name} took in on {first}",
        _caption(rows, many, number(own, "parcel_passes"), last, use),
    )
    lines = [max(1, math.ceil(drops / _A_LINE)) for drops in many]
    high = sum(lines) + 0.45 * len(lines)
    picture.lower(picture.floor + 0.6 + high * _ROOM + 0.4 + _TOP)
    top = picture.height - _TOP
    write(
        picture.sheet,
        (0.35, top),
        f"On {last}",
        size=17,
        weight="bold",
        ha="left",
        va="center_baseline",
    )
    each = [whole_numbers(row, drops) for (_, row), drops in zip(rows, many, strict=True)]
    _draw_key(picture, np.sum(each, axis=0), use)
    top -= 0.4
    pitch = min(_ROOM, (top - 0.6 - picture.floor) / high)
    for (words, _), by_use, drops, tall in zip(rows, each, many, lines, strict=True):
        told = f"{drops or 'fewer than 1'} {_was(words, drops)}"
        write(
            picture.sheet, (0.35, top - 0.5 * pitch), told, size=16, ha="left", va="center_baseline"
        )
        _draw_drops(picture, by_use, (top, pitch))
        top -= (tall + 0.45) * pitch
    return picture


def _draw_key(picture: Picture, by_use: np.ndarray, use: Use) -> None:
    """Which colour stands for how many uses, of those that a drop has."""
    last, x, y = len(by_use) - 1, 0.35, picture.floor + 0.3
    said = f"{use.within} by then:"
    write(picture.sheet, (x, y), said, ha="left", va="center_baseline")
    x += picture.text_width(said) + 0.4
    for times in np.flatnonzero(by_use).tolist():
        words = use_words(times, last) if times else "never"
        picture.sheet.add_patch(
            Circle(
                (x, y + 0.02),
                0.12,
                facecolor=use_colour(times),
                edgecolor=LINE,
                lw=1.2,
                gid="key",
            )
        )
        write(picture.sheet, (x + 0.2, y), words, ha="left", va="center_baseline")
        x += 0.5 + picture.text_width(words)


def _draw_drops(picture: Picture, by_use: list[int], at: tuple[float, float]) -> None:
    """The drops of one row, those of each number of uses together."""
    top, pitch = at
    uses = [times for times, drops in enumerate(by_use) for _ in range(drops)]
    for place, times in enumerate(uses):
        line, column = divmod(place, _A_LINE)
        picture.sheet.add_patch(
            Circle(
                (_LEFT + (column + 0.5) * _ROOM, top - (line + 0.5) * pitch),
                0.4 * pitch,
                facecolor=use_colour(times),
                edgecolor=LINE,
                lw=1.2,
                zorder=3,
                gid=f"drop {times}",
            )
        )


def _was(words: str, many: int) -> str:
    """An end as what had become of some water: `had evaporated`, `was in the ground`."""
    if not words.startswith("in "):
        return f"had {words}"
    return f"{'was' if many < 2 else 'were'} {words}"


def _caption(
    rows: list[tuple[str, np.ndarray]], many: list[int], mean: float, last: str, use: Use
) -> str:
    parts = [
        f"{drops} {_was(words, drops)}"
        for (words, _), drops in zip(rows[:3], many, strict=False)
        if drops
    ]
    again = float(np.sum([row for _, row in rows], axis=0)[2:].sum())
    said = [f"Of {DROPS} drops taken in on the season's first day, by {last}: {joined(parts)}"]
    if math.isfinite(mean):
        said.append(f"On average this water had passed {use.often} {two_figures(mean)} times")
    if again > LEAST_SHOWN:
        said[-1] += f"; {percent(again)} of it had done so more than once"
    return ". ".join(said) + "."
