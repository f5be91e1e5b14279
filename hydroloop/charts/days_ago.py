"""When the used part of a glass was last in a home, as bars beside the glass."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import xarray as xr
from matplotlib.patches import Rectangle

from hydroloop.charts.asking import number, step_of
from hydroloop.charts.colours import BAR, LINE, WALL
from hydroloop.charts.picture import Picture, write
from hydroloop.charts.words import percent
from hydroloop.gates import Use

UNDATED = ("upstream of this map", "before the season")
"""Bars for water whose last use is known to have been, but not when."""

_BOUNDS = (7, 30, 90)
_LEFT, _WIDE, _TOP, _ROW = 8.98, 3.95, 5.6, 0.43


@dataclass(frozen=True)
class LastUse:
    """When the water of a glass was last used."""

    bars: tuple[tuple[str, float], ...]  # words and share of the glass [-]; together the used part
    # days since the last use that half of the part with a known last use does not exceed [d]
    median: float
    is_known: bool = True  # True where nearly all of the used part has a known last use


def last_use_of(town: xr.Dataset, step: int, used: float) -> LastUse | None:
    """Last use of the glass drawn in a step; None where the table does not have it, or none is
    used."""
    found = _glass_of(town, step)
    if found is None or used <= 0.0005:
        return None
    shares, days, before, median = found
    edges = np.searchsorted(days, _BOUNDS, side="right")  # the seventh day is within seven days
    parts = [float(part.sum()) for part in np.split(np.nan_to_num(shares), edges)]
    words = ["within 7 days", "7 to 30 days before", "30 to 90 days before", "longer before"]
    bars = list(zip(words, parts, strict=True))
    while len(bars) > 1 and bars[-1][1] <= 0.0005 * used:
        bars.pop()
    if before > 0.0005:
        bars.append((UNDATED[0], before))
    early = used - sum(share for _, share in bars)
    if early > 0.005 * used:
        bars.append((UNDATED[1], early))
    if len(bars) > 1 and not any(parts):
        bars.pop(0)
    return LastUse(tuple(bars), median, early <= 0.05 * used)


def within_words(days: float, lead: str = "within") -> str:
    """The median time since the last use, in whole days: `within 12 days`, `on the same day`."""
    whole = math.floor(days + 0.5)
    if whole < 1:
        return "on the same day"
    about = "" if abs(days - whole) < 1e-9 else "about "
    return f"{lead} {about}{whole} day{'s' if whole != 1 else ''}"


def _glass_of(town: xr.Dataset, step: int) -> tuple[np.ndarray, np.ndarray, float, float] | None:
    """Shares by days, the days, the share used above the map, and the median of a glass."""
    if "last_use_share" in town and "glass_date" in town:
        date = town["glass_date"].values
        if not np.isnat(date) and step_of(town, date) == step:
            return (
                town["last_use_share"].values,
                town["days_ago"].values,
                number(town, "last_use_before_record"),
                number(town, "last_use_median"),
            )
    for date in town["glass"].values if "glass_last_use_share" in town else ():
        if step_of(town, date) == step:
            one = town.sel(glass=date)
            return (
                one["glass_last_use_share"].values,
                town["days_before"].values,
                number(one, "glass_last_use_before_record"),
                number(one, "glass_last_use_median"),
            )
    return None


def draw_ago(picture: Picture, ago: LastUse, use: Use) -> None:
    """Bars to scale, each with its label; the faint frame is the whole used part."""
    write(
        picture.sheet,
        (_LEFT, _TOP + 0.55),
        f"The used part was last {use.within}",
        size=16,
        ha="left",
        weight="bold",
    )
    whole = sum(share for _, share in ago.bars)
    for row, (words, share) in enumerate(ago.bars):
        y = _TOP - row * 2 * _ROW
        part = share / whole
        write(
            picture.sheet,
            (_LEFT, y),
            f"{words}: {percent(part)} of it",
            size=16,
            ha="left",
            va="center_baseline",
        )
        for wide, fill, gid in ((1.0, WALL, "whole"), (part, BAR, "ago")):
            picture.sheet.add_patch(
                Rectangle(
                    (_LEFT, y - 0.43),
                    _WIDE * wide,
                    0.24,
                    facecolor=fill,
                    edgecolor=LINE,
                    lw=1.2 if wide else 0.0,
                    zorder=3,
                    gid=gid,
                )
            )
