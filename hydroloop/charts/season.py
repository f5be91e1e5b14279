"""A town's season: used share at the tap, shortage, rain and river flow on one time axis."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import xarray as xr
from matplotlib.axes import Axes
from matplotlib.dates import date2num
from matplotlib.ticker import FuncFormatter, LogLocator, MaxNLocator, NullFormatter

from hydroloop.charts.asking import mean_member, number, of_town, use_classes, use_of
from hydroloop.charts.colours import LINE, MARK, RIVER, STORM, UNKNOWN, use_colour
from hydroloop.charts.picture import HEIGHT, Picture, house_style, write
from hydroloop.charts.season_axes import LEFT, RIGHT, name_beside, name_months, panel
from hydroloop.charts.words import date_words, percent, place_words, printed, span_words, use_words
from hydroloop.gates import Use
from hydroloop.measures import find_towns
from hydroloop.placenames import names_of
from hydroloop.units import display_unit, format_quantity
from hydroloop.units.printing import System, figures

LEAST_SHOWN = 0.0005
"""Use classes that never reach this share, nor a hundredth of the scale, are left out [-]."""
_SHORT = 0.001  # a step is short when more than this share of what was asked for is missing [-]
_DRY = 1e-6  # of the largest flow: less is no water
_LOG = 20.0  # from this ratio of largest to smallest flow on, the scale is logarithmic


@dataclass(frozen=True)
class Water:
    """The water that a town draws from, step by step."""

    name: str  # what it is called; empty for the river at the intake
    values: np.ndarray  # flow of a river [m3/d], or volume of a reservoir [m3], shape (time)


@dataclass(frozen=True)
class Course:
    """What the picture shows, step by step."""

    time: np.ndarray  # start of each step, shape (time)
    days: np.ndarray  # edges of the steps as matplotlib days, one more than steps [d]
    # shares used once, twice, ..., and of an unknown past in the last row [-], shape (use, time)
    layers: np.ndarray
    water: Water | None  # the river at the intake, or the reservoir that the town drinks from
    rain_mm: np.ndarray | None  # rain in each step, shape (time)
    is_short: np.ndarray | None  # whether demand was left unmet, shape (time); None if not known
    # shares of all water delivered in the season: used before, and of an unknown past [-]
    whole: float
    unknown: float

    @property
    def used(self) -> np.ndarray:
        """Used share, step by step [-]."""
        return self.layers[:-1].sum(axis=0)

    @property
    def shows_use(self) -> bool:
        """Whether there is any used water, or any of an unknown past, to be seen."""
        others = (self.water, self.rain_mm)
        return bool((self.layers.sum(axis=0) > LEAST_SHOWN).any()) or all(
            one is None for one in others
        )


@house_style
def season(
    table: xr.Dataset, town: str, record: xr.Dataset | None = None, units: System = "us"
) -> Picture:
    """The town's season: day by day how much of the tap water has been used before, above rain and
    the river that it is taken from. Days on which nothing was delivered show as gaps to zero."""
    course = _course(of_town(table, town), record, town)
    name = place_words(town, names_of(table))
    title = f"Used water at the tap in {name}, {span_words(course.time)}"
    picture = Picture(title, _caption(course, name, units, use_of(table)))
    low = picture.floor + 0.62
    axes = None
    # What has nothing to show gives its room to the rest.
    more = 1.0 if course.shows_use else 1.9
    if course.water is not None:
        high = 1.2 * more
        axes = _draw_water(picture, course.water, course, (low, low + high), units)
        name_months(axes, course.time)
        low += high + 0.2
    if course.rain_mm is not None:
        high = 0.55 * more
        rain = _draw_rain(picture, course, (low, low + high), units)
        if axes is None:
            name_months(rain, course.time)
            axes = rain
        low += high + 0.15
    if course.is_short is not None and course.is_short.any():
        _draw_shortage(picture, course.is_short, course, (low, low + 0.22))
        low += 0.34
    if not course.shows_use:
        share = "Less than 0.1 %" if course.used.max() > 0 else "None"
        write(
            picture.sheet,
            (LEFT, low + 0.45),
            f"{share} of the tap water had been used before.",
            size=20,
            ha="left",
            weight="bold",
        )
        return picture
    top = _draw_shares(picture, course, (low + 0.05, HEIGHT - 0.95))
    if axes is None:
        name_months(top, course.time)
    return picture


def _course(town: xr.Dataset, record: xr.Dataset | None, name: str) -> Course:
    time = town["time"].values.astype("datetime64[ns]")
    step = time[-1] - time[-2] if len(time) > 1 else np.timedelta64(1, "D")
    shares = np.nan_to_num(use_classes(town["use_share"].transpose("time", "use")))
    none = np.zeros(len(time))
    unknown = np.nan_to_num(town["unknown_share"].values) if "unknown_share" in town else none
    river = town["river_flow_at_intake"].values if "river_flow_at_intake" in town else none * np.nan
    rain = None
    if record is not None and "rain_mm" in record:
        rain = mean_member(record)["rain_mm"].values
    short = None
    if "unmet" in town:
        missing = town["unmet"].sum("purpose").values
        short = missing > _SHORT * (missing + town["delivered"].values)
    return Course(
        time,
        date2num(np.append(time, time[-1] + step)),
        np.vstack([shares[:, 1:].T, unknown]),
        _water(river, record, name),
        rain,
        short,
        number(town, "season_used_share"),
        number(town, "season_unknown_share"),
    )


def _water(river: np.ndarray, record: xr.Dataset | None, town: str) -> Water | None:
    """The reservoir that a town draws from, or else the river at its intake."""
    has_flows = record is not None and "flow" in record.dims
    store = (
        next((one.water_source for one in find_towns(record) if one.name == town), "")
        if record is not None and has_flows
        else ""
    )
    if store and record is not None and str(record["role"].sel(store=store).values) == "reservoir":
        held = mean_member(record[["volume"]])["volume"].sel(store=store).values
        return Water(str(record["label"].sel(store=store).values), held[1:])
    if not np.isfinite(river).any():
        return None
    return Water("", np.where(river < _DRY * np.nanmax(river), 0.0, river))


def _draw_shares(picture: Picture, course: Course, ends: tuple[float, float]) -> Axes:
    """Areas by use class, one on the other; the upper line is the used share."""
    axes = panel(picture, *ends, (course.days[0], course.days[-1]))
    tops = np.cumsum(course.layers, axis=0)
    highest = max(float(tops[-1].max()), 0.01)
    limit = min(1.22 * highest, 1.12)
    axes.set_ylim(0, limit)
    axes.yaxis.set_major_locator(MaxNLocator(4, steps=[1, 2, 2.5, 5, 10]))
    axes.yaxis.set_major_formatter(FuncFormatter(lambda share, _: percent(share)))
    last, samples, count = [], [], len(course.layers) - 1
    for row, (layer, top) in enumerate(zip(course.layers, tops, strict=True)):
        # On a small scale a small class would leave a gap below the line of all.
        if layer.max() <= min(LEAST_SHOWN, 0.01 * highest):
            continue
        is_known = row < count
        axes.stairs(
            top,
            course.days,
            baseline=top - layer,
            fill=True,
            lw=0.0,
            facecolor=use_colour(row + 1) if is_known else UNKNOWN,
            hatch=None if is_known else "//",
            edgecolor=LINE,
        )
        axes.stairs(top, course.days, color=LINE, lw=2.2 if row == count - 1 else 0.9)
        words = f"used {use_words(row + 1, count)}" if is_known else "past unknown"
        samples.append(
            {
                "facecolor": use_colour(row + 1) if is_known else UNKNOWN,
                "hatch": None if is_known else "//",
            }
        )
        last.append((top[-1] - layer[-1] / 2, words))
    if course.used.max() > LEAST_SHOWN:
        axes.stairs(course.used, course.days, color=LINE, lw=2.4)
        _name_peak(axes, course, limit)
    inches = (ends[1] - ends[0]) / limit
    name_beside(
        picture,
        [ends[0] + height * inches for height, _ in last],
        [words for _, words in last],
        (ends[0] + 0.1, ends[1] - 0.1),
        samples,
    )
    return axes


def _name_peak(axes: Axes, course: Course, limit: float) -> None:
    """The most-used day, named above everything."""
    step = int(course.used.argmax())
    share = float(course.used[step])
    x = 0.5 * (course.days[step] + course.days[step + 1])
    across = (x - course.days[0]) / (course.days[-1] - course.days[0])
    side = "left" if across < 0.25 else "right" if across > 0.75 else "center"
    aside = 0.01 * (course.days[-1] - course.days[0]) if side == "left" else 0.0
    axes.plot([x, x], [share, 0.9 * limit], color=LINE, lw=1.2)
    words = f"{percent(share)} used on {date_words(course.time[step])}"
    write(axes, (x + aside, 0.95 * limit), words, ha=side, weight="bold")


def _draw_shortage(
    picture: Picture, is_short: np.ndarray, course: Course, ends: tuple[float, float]
) -> None:
    axes = panel(picture, *ends, (course.days[0], course.days[-1]))
    axes.set(ylim=(0, 1), yticks=[])
    axes.stairs(is_short.astype(float), course.days, fill=True, color=MARK)
    axes.stairs(is_short.astype(float), course.days, color=MARK, lw=1.2)
    write(
        picture.sheet,
        (RIGHT + 0.15, sum(ends) / 2),
        f"short of water: {_short_days(is_short, course.days)}",
        ha="left",
        va="center_baseline",
    )


def _draw_rain(picture: Picture, course: Course, ends: tuple[float, float], units: System) -> Axes:
    assert course.rain_mm is not None
    axes = panel(picture, *ends, (course.days[0], course.days[-1]))
    axes.stairs(course.rain_mm, course.days, fill=True, facecolor=STORM, edgecolor=LINE, lw=0.8)
    axes.set(ylim=(0, max(1.0, 1.1 * float(course.rain_mm.max()))), yticks=[])
    most = format_quantity(float(course.rain_mm.max()), "depth", units)
    whole = format_quantity(float(course.rain_mm.sum()), "depth", units)
    write(
        picture.sheet,
        (RIGHT + 0.15, sum(ends) / 2),
        f"rain: {whole} in all,\nmost in {_step_words(course)}: {most}",
        ha="left",
    )
    return axes


def _draw_water(
    picture: Picture, water: Water, course: Course, ends: tuple[float, float], units: System
) -> Axes:
    axes = panel(picture, *ends, (course.days[0], course.days[-1]))
    unit = display_unit(
        "stored_volume" if water.name else "river_flow",
        units,
        largest=float(np.nanmax(water.values)),
    )
    flow = water.values * unit.factor
    least, most = float(np.nanmin(flow)), float(np.nanmax(flow))
    floor = 0.0
    is_log = least > 0 and most > _LOG * least and not water.name
    if is_log:
        floor = least / 1.5
        axes.set_yscale("log")
        axes.yaxis.set_major_locator(LogLocator(numticks=4))
        axes.yaxis.set_minor_formatter(NullFormatter())
    else:
        axes.yaxis.set_major_locator(MaxNLocator(3, steps=[1, 2, 5, 10]))
    axes.set_ylim(floor, most * (1.5 if is_log else 1.15) or 1.0)
    axes.yaxis.set_major_formatter(FuncFormatter(lambda value, _: figures(value)))
    axes.stairs(
        np.nan_to_num(flow, nan=floor),
        course.days,
        baseline=floor,
        fill=True,
        facecolor=RIVER,
        lw=0.0,
    )
    axes.stairs(flow, course.days, color=LINE, lw=1.6, baseline=None)
    words = [
        f"{water.name.removeprefix('the ') or 'river at the intake'},",
        printed(unit.name) + (", log scale" if is_log else ""),
        f"lowest: {figures(least)}",
    ]
    write(picture.sheet, (RIGHT + 0.15, sum(ends) / 2), "\n".join(words), ha="left")
    return axes


def _step_words(course: Course) -> str:
    """Length of a step: ``a day``, ``an hour``, ``6 hours``."""
    hours = round(24.0 * float(course.days[1] - course.days[0]), 3)
    return {1.0: "an hour", 24.0: "a day"}.get(hours, f"{hours:g} hours")


def _short_days(is_short: np.ndarray, edges: np.ndarray) -> str:
    days = float(np.diff(edges)[is_short].sum())
    return "1 day" if days == 1 else f"{figures(days)} days"


def _whole_words(course: Course, use: Use) -> str:
    """How much of the season's water was used before, as far as its past is known."""
    share = percent(course.whole) if course.whole > 0.0 else "none"
    words = f"Over the season {share} of the water delivered to homes"
    if not course.unknown > LEAST_SHOWN:
        return f"{words} had been {use.within} before"
    return (
        f"{words} is known to have been {use.within} before; the past of "
        f"{percent(course.unknown)} is not known"
    )


def _caption(course: Course, town: str, units: System, use: Use) -> str:
    parts = []
    if np.isfinite(course.whole):
        parts.append(_whole_words(course, use))
    step = int(course.used.argmax())
    if course.used[step] > LEAST_SHOWN:
        parts.append(
            f"The share was highest on {date_words(course.time[step])} with "
            f"{percent(float(course.used[step]))}"
        )
    if course.water is not None:
        values, name = course.water.values, course.water.name or "the river at the intake"
        low = int(np.nanargmin(values))
        told = format_quantity(
            float(values[low]), "stored_volume" if course.water.name else "river_flow", units
        )
        parts.append(
            f"{name[:1].upper()}{name[1:]} was lowest on {date_words(course.time[low])} "
            f"with {printed(told)}"
        )
    if course.is_short is not None:
        parts.append(
            f"{town} was short of water on {_short_days(course.is_short, course.days)}"
            if course.is_short.any()
            else f"Nobody in {town} went short of water"
        )
    return ". ".join(parts) + "."
