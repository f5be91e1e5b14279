"""A glass of tap water, in layers by how often the water has been used before."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, NamedTuple

import numpy as np
import xarray as xr
from matplotlib.patches import Polygon, Rectangle

from hydroloop.charts.asking import number, of_town, step_of, use_classes, use_of
from hydroloop.charts.because_words import LAST, adding_up, parts_sentence
from hydroloop.charts.colours import LINE, PAPER, UNKNOWN, WALL, use_colour
from hydroloop.charts.days_ago import LastUse, draw_ago, last_use_of, within_words
from hydroloop.charts.picture import HEIGHT, WIDTH, Picture, house_style, write
from hydroloop.charts.spreading import spread
from hydroloop.charts.words import date_words, joined, percent, place_words, two_figures, use_words
from hydroloop.errors import AskError, Problem
from hydroloop.gates import USUAL, Use
from hydroloop.placenames import names_of

LEAST_SHOWN = 0.0005
"""Smaller shares are left out of the glass [-]."""

_ROUNDING = 1e-9
_THIN = 0.012  # of the glass [-]
_LEFT, _WIDE, _TOP = 0.6, 3.9, HEIGHT - 1.15
_LEAST_HIGH = _TOP - 1.9  # of the water, above the longest caption [in]
_SIZE, _ROW = 17.0, 0.33  # letters [pt], and the height that a line of them needs [in]


class Stand(NamedTuple):
    """Where a glass stands [in]."""

    left: float  # where its water begins
    wide: float  # its water
    room: float  # for labels to its right


_ALONE = Stand(_LEFT, _WIDE, 5.0)
_PAIR = Stand(_LEFT, 3.0, 2.6), Stand(7.1, 3.0, 2.6)


@dataclass(frozen=True)
class Layer:
    """One layer of the glass."""

    share: float  # share of the glass [-]
    words: str  # its label
    colour: str  # its fill
    is_known: bool = True  # False for water whose past is unknown
    is_used: bool = False  # True for water that was used before


@house_style
def glass(table: xr.Dataset, town: str, date: Any = None) -> Picture:
    """A glass of tap water: how much of what reaches homes on a day (by default the town's
    most-used day) has been in a home before, and how many times."""
    own = of_town(table, town)
    step = _step_of_glass(own, date)
    day = own.isel(time=step)
    use = use_of(table)
    layers = _layers(day, use)
    name = place_words(town, names_of(table))
    title = f"A glass of tap water in {name}, {date_words(day['time'].values)}"
    if not layers:
        what = f"no water reached the homes of {name} on that day."
        raise AskError(Problem("date", what, "Choose another day."))
    used = float(use_classes(day["use_share"])[1:].sum())
    ago = last_use_of(own, step, used)
    picture = Picture(title, _caption(day, used, ago, use, _last_words(day, town, table)))
    bottom = picture.floor + 0.35
    edges = bottom + (_TOP - bottom) * np.cumsum([0.0, *(layer.share for layer in layers)])
    _draw_vessel(picture, bottom)
    _draw_layers(picture, layers, edges)
    users = _users(day, _TOP - bottom)
    taken = 0.0
    if users:
        low = float(edges[[layer.is_used for layer in layers].index(True)])
        head = LAST.get(str(table.attrs.get("gate", USUAL)), "last used in")
        taken = _draw_users(picture, users, low, head)
    if len(layers) > 1:
        said, room = "all mixed, drawn apart", _WIDE - taken
        write(
            picture.sheet,
            (_LEFT + room / 2, _TOP + 0.2),
            said if picture.text_width(said) < room else "all mixed",
            va="center_baseline",
        )
    _label(picture, layers, edges, taken=taken)
    if ago is not None:
        draw_ago(picture, ago, use)
    elif len(layers) == 1:
        _say(picture, _plainly(name, layers[0], use))
    return picture


def _plainly(name: str, layer: Layer, use: Use) -> str:
    """What a glass of one layer says."""
    if not layer.is_known:
        return (
            f"Where this water was before the season is not known: {name} drank what was there "
            "on the first day."
        )
    return (
        f"As far as this map tells, no drop of this glass had been {use.within} before. What "
        "was used above the map is only counted where the scenario says so."
    )


def _say(picture: Picture, words: str) -> None:
    """Large words beside a glass that has no more to show."""
    left = _LEFT + _WIDE + 1.0
    lines = picture.wrapped(words, 21.0, WIDTH - left - 0.4)
    write(picture.sheet, (left, _TOP - 0.4), "\n".join(lines), size=21, ha="left", va="top")


@house_style
def glass_pair(tables: Sequence[xr.Dataset], town: str, names: Sequence[str]) -> Picture:
    """All tap water of a town's season in two runs, as two glasses side by side."""
    seasons = [
        xr.Dataset(
            {
                name.removeprefix("season_"): own[name]
                for name in ("season_use_share", "season_unknown_share")
                if name in own
            }
        )
        for own in (of_town(table, town) for table in tables)
    ]
    use, name = use_of(tables[0]), place_words(town, names_of(tables[-1]))
    glasses = [_layers(one, use) for one in seasons]
    if not all(glasses):
        what = f"no water reached the homes of {name} in one of the runs."
        raise AskError(Problem("town", what, "Choose another town."))
    used = [float(use_classes(one["use_share"])[1:].sum()) for one in seasons]
    said = [f"{percent(share)} {name}" for share, name in zip(used, names, strict=True)]
    picture = Picture(
        f"Tap water in {name} over the season: {joined(list(names))}",
        f"Been {use.within} before: {joined(said)}. The water is mixed; layers are "
        "drawn apart to show their shares.",
    )
    bottom = picture.floor + 0.35
    for stand, name, layers in zip(_PAIR, names, glasses, strict=True):
        edges = bottom + (_TOP - 0.2 - bottom) * np.cumsum(
            [0.0, *(layer.share for layer in layers)]
        )
        _draw_vessel(picture, bottom, stand)
        write(
            picture.sheet,
            (stand.left + stand.wide / 2, _TOP + 0.05),
            name,
            size=18,
            weight="bold",
            va="center_baseline",
        )
        _draw_layers(picture, layers, edges, stand)
        _label(picture, layers, edges, stand)
    return picture


def _step_of_glass(town: xr.Dataset, date: Any) -> int:
    if date is None and "glass_date" in town and not np.isnat(town["glass_date"].values):
        date = town["glass_date"].values
    if date is None:
        raise AskError(Problem("date", "the table has no day of its own.", "Give a date."))
    return step_of(town, date)


def _layers(day: xr.Dataset, use: Use) -> list[Layer]:
    shares = use_classes(day["use_share"])
    last = len(shares) - 1
    layers = [
        Layer(
            float(share),
            f"{_layer_words(times, last, use)} {percent(float(share))}",
            use_colour(times),
            is_used=times > 0,
        )
        for times, share in enumerate(shares)
        if share > LEAST_SHOWN
    ]
    layers = _gathered(layers, shares, use)
    unknown = number(day, "unknown_share")
    if unknown > LEAST_SHOWN:
        layers.append(Layer(unknown, f"past unknown {percent(unknown)}", UNKNOWN, False))
    return layers


def _gathered(layers: list[Layer], shares: np.ndarray, use: Use) -> list[Layer]:
    """The uppermost layers as one, where each is too thin to be seen for itself."""
    thin = next(
        (k for k in range(len(layers)) if all(layer.share < _THIN for layer in layers[k:])),
        len(layers),
    )
    if thin == 0 or len(layers) - thin < 2:
        return layers
    times = [times for times, share in enumerate(shares) if share > LEAST_SHOWN][thin]
    share = sum(layer.share for layer in layers[thin:])
    words = f"{_layer_words(times, times, use)} {percent(share)}"
    return [*layers[:thin], Layer(share, words, layers[thin].colour, is_used=True)]


def _layer_words(times: int, last: int, use: Use) -> str:
    return f"used {use_words(times, last)}" if times else f"never {use.within}"


def _last_words(day: xr.Dataset, town: str, table: xr.Dataset) -> str:
    """Where the used part was used last, for the caption: where it is too thin to be drawn."""
    if "used_share_by_way" not in day or _users(day, _LEAST_HIGH):
        return ""
    gate = str(table.attrs.get("gate", USUAL))
    return parts_sentence(day["used_share_by_way"], town, gate, names_of(table)).rstrip(".")


def _caption(day: xr.Dataset, used: float, ago: LastUse | None, use: Use, last: str = "") -> str:
    unknown, mean = number(day, "unknown_share"), number(day, "mean_uses")
    if unknown > 1.0 - LEAST_SHOWN:
        return "The past of this glass is not known: it was already there when the record began."
    if used <= LEAST_SHOWN:
        known = "is known to have" if unknown > LEAST_SHOWN else "has"
        first = (
            f"{'None' if used < _ROUNDING else 'Hardly any'} of this glass {known} been "
            f"{use.within} before"
        )
    else:
        first = f"{percent(used)} of this glass has been {use.within} before"
    if math.isfinite(mean) and used > LEAST_SHOWN:
        first += f"; on average its water has passed {use.often} {two_figures(mean)} times"
    parts = [first, *([last] if last else [])]
    if ago is not None and math.isfinite(ago.median):
        part = "the used part" if ago.is_known else "what was used within the season"
        parts.append(f"Half of {part} was last {use.within} {within_words(ago.median)}")
    if unknown > LEAST_SHOWN:
        parts.append(f"The past of {percent(unknown)} is not known")
    return ". ".join(parts) + "."


def _draw_vessel(picture: Picture, bottom: float, stand: Stand = _ALONE) -> None:
    """Wall and foot of the glass: straight, so that heights are volumes."""
    wall, foot, rim = 0.13, 0.3, 0.38
    x, wide = stand.left - wall, stand.wide + 2 * wall
    top = _TOP + rim
    outline = [
        (x, top),
        (x, bottom - foot),
        (x + wide, bottom - foot),
        (x + wide, top),
        (x + wide - wall, top),
        (x + wide - wall, bottom),
        (x + wall, bottom),
        (x + wall, top),
        (x, top),
    ]
    picture.sheet.add_patch(
        Polygon(outline, facecolor=WALL, edgecolor=LINE, lw=1.6, joinstyle="round", zorder=2)
    )


def _draw_layers(
    picture: Picture, layers: list[Layer], edges: np.ndarray, stand: Stand = _ALONE
) -> None:
    for layer, low, high in zip(layers, edges[:-1], edges[1:], strict=True):
        picture.sheet.add_patch(
            Rectangle(
                (stand.left, low),
                stand.wide,
                high - low,
                facecolor=layer.colour,
                edgecolor=LINE,
                lw=1.2,
                hatch=None if layer.is_known else "//",
                zorder=3,
                gid="layer",
            )
        )


def _draw_users(picture: Picture, users: list[tuple[str, float]], low: float, head: str) -> float:
    """The used part again, by the town that used it last; the width that takes [in]."""
    said = [head, *(words for words, _ in users)]
    wide = max(picture.text_width(words) for words in said) + 0.2
    right = _LEFT + _WIDE
    for words, high in users:
        picture.sheet.add_patch(
            Rectangle(
                (right - wide, low),
                wide,
                high,
                facecolor=PAPER,
                edgecolor=LINE,
                lw=1.0,
                zorder=4,
                gid="user",
            )
        )
        write(picture.sheet, (right - 0.5 * wide, low + 0.5 * high), words, va="center_baseline")
        low += high
    write(picture.sheet, (right - 0.5 * wide, _TOP + 0.2), head, va="center_baseline")
    return wide


def _users(day: xr.Dataset, scale: float) -> list[tuple[str, float]]:
    """Who used the glass last, and how high [in] their part is in it; none where it is too thin."""
    if "used_share_by_way" not in day:
        return []
    parts = day["used_share_by_way"].sum("way")
    used = float(parts.sum())
    if not used * scale >= _ROW:
        return []
    order = sorted(
        zip(parts.values.tolist(), parts["used_in"].values.tolist(), strict=True), reverse=True
    )
    thick = [
        (share, place_words(name, names_of(day))) for share, name in order if share * scale >= _ROW
    ]
    rest = used - sum(share for share, _ in thick)
    if rest * scale >= _ROW:
        thick.append((rest, "others"))
    elif thick:  # what is too thin for a label goes with the last
        share, name = thick[-1]
        thick[-1] = (share + rest, name if rest < 1e-3 else f"{name}, others")
    numbers = adding_up([share for share, _ in thick], used)
    return [
        (f"{name} {number} %", share * scale)
        for (share, name), number in zip(thick, numbers, strict=True)
    ]


def _label(
    picture: Picture,
    layers: list[Layer],
    edges: np.ndarray,
    stand: Stand = _ALONE,
    taken: float = 0.0,
) -> None:
    """Labels inside layers that are thick enough, beside the glass for all others."""
    middles = 0.5 * (edges[:-1] + edges[1:])
    beside = []
    for layer, middle, thick in zip(layers, middles, np.diff(edges), strict=True):
        wide = stand.wide - (taken if layer.is_used else 0.0)
        size = _size_inside(picture, layer, float(thick), wide)
        if size:
            write(
                picture.sheet,
                (stand.left + wide / 2, middle),
                layer.words,
                on=layer.colour,
                size=size,
                weight="bold",
            )
        else:
            beside.append((layer, middle))
    low, high = edges[0] + 0.1, edges[-1] + 0.15
    right = stand.left + stand.wide
    said = [picture.wrapped(layer.words, _SIZE, stand.room) for layer, _ in beside]
    row = _ROW * max(map(len, said), default=1)
    heights = spread([middle for _, middle in beside], row, low, high)
    for (_, middle), lines, height in zip(beside, said, heights, strict=True):
        picture.sheet.plot(
            [right, right + 0.18, right + 0.44, right + 0.54],
            [middle, middle, height, height],
            color=LINE,
            lw=1.2,
            zorder=4,
        )
        write(
            picture.sheet,
            (right + 0.6, height),
            "\n".join(lines),
            size=_SIZE,
            ha="left",
            va="center_baseline" if len(lines) == 1 else "center",
        )


def _size_inside(picture: Picture, layer: Layer, thick: float, wide: float) -> float:
    """Size of a label that fits into its layer; 0 where none does [pt]."""
    if not layer.is_known or thick < _ROW:
        return 0.0
    sizes = (21.0, 19.0, 17.0, 16.0, 15.0) if thick > 0.6 else (17.0, 16.0, 15.0)
    fits = (size for size in sizes if picture.text_width(layer.words, size, "bold") < wide - 0.2)
    return next(fits, 0.0)
