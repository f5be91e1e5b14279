"""A map of the rivers: towns, intakes, outfalls and reservoirs in the order of the water."""

from __future__ import annotations

import math
from dataclasses import dataclass, field

import numpy as np
import xarray as xr
from matplotlib.patches import FancyBboxPatch, Polygon, Rectangle

from hydroloop.charts.asking import mean_member
from hydroloop.charts.colours import EFFLUENT, LINE, PAPER, RIVER, WALL, shade
from hydroloop.charts.picture import WIDTH, Picture, house_style, write
from hydroloop.charts.ribbons import ribbon
from hydroloop.charts.words import flow_words, joined, percent, place_words, span_words
from hydroloop.errors import AskError, Problem
from hydroloop.measures import Town, find_towns
from hydroloop.measures.towns import in_rivers
from hydroloop.placenames import names_of
from hydroloop.record import ALONG
from hydroloop.units import display_unit
from hydroloop.units.printing import System

_LEFT, _RIGHT = 1.0, WIDTH - 0.7
_WIDEST, _NARROWEST = 0.62, 0.05  # of a river, and of an arrow [in]
_BOX, _STEP = 0.62, 0.8  # height of a town, and of a row of towns [in]
_ABOVE = 2.95  # room for two rows of towns and the title above a river [in]


@dataclass
class Layout:
    """What is drawn, and where."""

    stem: list[str]
    branches: list[list[str]]
    flow: dict[str, float]
    used: dict[str, float]
    beside: dict[str, str] = field(default_factory=dict)  # what towns without an intake live on
    x: dict[str, float] = field(default_factory=dict)
    y: dict[str, float] = field(default_factory=dict)
    step: float = 1.0

    @property
    def stores(self) -> list[str]:
        """All river stores drawn."""
        return [*self.stem, *(store for branch in self.branches for store in branch)]

    def width(self, rate: float) -> float:
        """Width of a flow [in]."""
        return max(_NARROWEST, _WIDEST * rate / max(self.flow.values()))


@house_style
def river_map(record: xr.Dataset, table: xr.Dataset, units: System = "us") -> Picture:
    """A map of the rivers and their towns, from left to right past intakes, outfalls and reservoirs
    in their order. Widths are season means, colours the share used before; distances are not to
    scale."""
    record, table = mean_member(record), mean_member(table)
    drawn = laid_out(record, table)
    # A scale of its own for a hundredth part would make little look like much.
    most = max(0.1, *(math.ceil(20.0 * share - 1e-9) / 20.0 for share in drawn.used.values()))
    towns = [str(name) for name in table["town"].values] if "town" in table.dims else []
    there = [town for town in find_towns(record, towns) if town.name in towns]
    ends = {town.name: (town.water_source, town.outlet) for town in there}
    rate = record["rate"].mean("time").values
    drawn.beside.update(
        {town.name: _beside(town, rate) for town in there if not ends[town.name][0]}
    )
    what = "The river" if not drawn.branches else "The rivers"
    its = "its" if not drawn.branches else "their"
    picture = Picture(
        f"{what} and {its} towns, {span_words(record['time'].values)}",
        _caption(drawn, table, towns, units),
    )
    rows = len(drawn.branches)
    if not rows:
        picture.lower(picture.floor + 1.6 + _ABOVE)
    top, bottom = picture.height - _ABOVE, picture.floor + 1.3
    for number, chain in enumerate([drawn.stem, *drawn.branches]):
        drawn.y.update(dict.fromkeys(chain, top - number * (top - bottom) / max(rows, 1)))
    for chain in [drawn.stem, *drawn.branches]:
        _draw_chain(picture, record, drawn, chain, most)
    for chain in [drawn.stem, *drawn.branches]:
        _draw_towns(picture, table, drawn, chain, ends)
    _draw_scales(picture, drawn, most, units)
    return picture


def laid_out(record: xr.Dataset, table: xr.Dataset) -> Layout:
    """The main stem, what flows into it, and where each of their stores stands."""
    waters = in_rivers(record)
    if not waters:
        raise AskError(
            Problem(
                "river",
                "this record has no river.",
                "A map needs stores that are reaches or reservoirs.",
            )
        )
    rate = record["rate"].mean("time").values
    rows = list(
        zip(
            *(record[name].values.astype(str) for name in ("source", "target", "kind")),
            rate.tolist(),
            strict=True,
        )
    )
    flow = {
        store: sum(r for a, _, kind, r in rows if a == store and kind != "evaporation")
        for store in waters
    }
    above: dict[str, list[tuple[float, str]]] = {store: [] for store in waters}
    for a, b, kind, r in rows:
        if kind in ALONG and a in waters and b in waters and all(a != s for _, s in above[b]):
            above[b].append((r, a))
    ends = [a for a, b, kind, _ in rows if kind in ALONG and a in waters and b not in waters]
    end = max(ends or sorted(waters), key=lambda store: flow[store])
    chains, waiting = [], [end]
    while waiting:
        chain = [waiting.pop(0)]
        while above[chain[0]]:
            (_, main), *others = sorted(above[chain[0]], reverse=True)
            if main in chain:
                break
            waiting += [other for _, other in others if other not in chain]
            chain.insert(0, main)
        chains.append(chain)
    share = table.get("season_used_share_in_river")
    used = {} if share is None else {store: float(share.sel(store=store)) for store in waters}
    drawn = Layout(chains[0], chains[1:], flow, {s: v for s, v in used.items() if np.isfinite(v)})
    drawn.step = (_RIGHT - _LEFT) / len(drawn.stem)
    drawn.x = {store: _LEFT + k * drawn.step for k, store in enumerate(drawn.stem)}
    for branch in drawn.branches:
        joins = next(b for a, b, kind, _ in rows if a == branch[-1] and kind in ALONG)
        right = drawn.x.get(joins, _RIGHT)
        step = min(drawn.step, (right - 0.3) / max(len(branch), 1))
        drawn.x.update({store: right - (len(branch) - k) * step for k, store in enumerate(branch)})
    return drawn


def _draw_chain(
    picture: Picture, record: xr.Dataset, drawn: Layout, chain: list[str], most: float
) -> None:
    """A river as pieces, each as wide as its flow and coloured by its used share."""
    step = drawn.x[chain[1]] - drawn.x[chain[0]] if len(chain) > 1 else drawn.step
    y = drawn.y[chain[0]]
    for store in chain:
        high, colour = drawn.width(drawn.flow[store]), _colour(drawn, store, most)
        x = drawn.x[store]
        if str(record["role"].sel(store=store).values) == "reservoir":
            picture.sheet.add_patch(
                FancyBboxPatch(
                    (x + 0.03, y - 0.45),
                    step - 0.06,
                    0.9,
                    facecolor=colour,
                    edgecolor=LINE,
                    lw=2.0,
                    boxstyle="round,pad=0,rounding_size=0.2",
                    zorder=5,
                    gid="reservoir",
                )
            )
            name = str(record["label"].sel(store=store).values).removeprefix("the ")
            write(picture.sheet, (x + step / 2, y - 0.62), name)
        else:
            picture.sheet.add_patch(
                Rectangle(
                    (x, y - high / 2),
                    step,
                    high,
                    facecolor=colour,
                    edgecolor=LINE,
                    lw=0.8,
                    zorder=3,
                    gid="reach",
                )
            )
    last, right = chain[-1], drawn.x[chain[-1]] + step
    high, colour = drawn.width(drawn.flow[last]), _colour(drawn, last, most)
    if chain is drawn.stem:
        picture.sheet.add_patch(
            Polygon(
                [(right, y + high / 2 + 0.1), (right + 0.3, y), (right, y - high / 2 - 0.1)],
                facecolor=colour,
                edgecolor=LINE,
                lw=0.8,
                zorder=3,
            )
        )
    else:  # up into the river that it joins
        goal = drawn.y[drawn.stem[0]] - drawn.width(max(drawn.flow.values())) / 2
        picture.sheet.add_patch(
            Polygon(
                ribbon(
                    [(right, y), (right + 0.12 + high / 2, y), (right + 0.12 + high / 2, goal)],
                    high,
                    head=0.2,
                ),
                closed=True,
                facecolor=colour,
                edgecolor=LINE,
                lw=0.8,
                zorder=2.5,
            )
        )
    river = str(record["place"].sel(store=chain[0]).values)
    write(
        picture.sheet,
        (drawn.x[chain[0]] - 0.08, y),
        place_words(river, names_of(record)),
        ha="right",
        rotation=90,
    )


def _colour(drawn: Layout, store: str, most: float) -> str:
    if store not in drawn.used:
        return RIVER
    return shade(drawn.used[store] / most)


def _draw_towns(
    picture: Picture,
    table: xr.Dataset,
    drawn: Layout,
    chain: list[str],
    ends: dict[str, tuple[str, str]],
) -> None:
    """Towns above their river, with an arrow up from the intake and one down from the outfall."""
    step = drawn.x[chain[1]] - drawn.x[chain[0]] if len(chain) > 1 else drawn.step
    y, taken = drawn.y[chain[0]], [-9.0, -9.0]  # right ends of the boxes of each row
    here = [town for town in ends if (ends[town][0] or ends[town][1]) in chain]
    arrows = {
        town: [
            drawn.x[store] + (0.7 if k == 0 else 0.15) * step if store in chain else None
            for k, store in enumerate(ends[town])
        ]
        for town in here
    }
    known_of = {town: [x for x in at if x is not None] for town, at in arrows.items()}
    for town in sorted(
        here, key=lambda name: min(drawn.x[store] for store in ends[name] if store in drawn.x)
    ):
        at, known = arrows[town], known_of[town]
        words = [place_words(town, names_of(table)), _used_words(table, town)]
        words[1] = "; ".join(filter(None, (drawn.beside.get(town), words[1])))
        wide = max(picture.text_width(words[0], weight="bold"), picture.text_width(words[1])) + 0.24
        middle = min(max(float(np.mean(known)), _LEFT + wide / 2 - 0.4), WIDTH - wide / 2 - 0.15)
        # Its box stays left of the arrows of the towns that follow.
        beyond = [x for every in known_of.values() for x in every if x > max(known)]
        middle = min(middle, max(min(beyond, default=WIDTH) - 0.25, max(known) + 0.12) - wide / 2)
        row = 0 if middle - wide / 2 > taken[0] + 0.1 else 1
        taken[row] = middle + wide / 2
        low = y + 0.68 + row * _STEP
        for k, x in enumerate(at):
            if x is None:
                continue
            rate = float(table["withdrawn" if k == 0 else "effluent"].sel(town=town).mean())
            x = (
                min(max(x, middle - wide / 2 + 0.12), middle + wide / 2 - 0.12)
                if abs(x - middle) < wide / 2
                else x
            )
            points = [(x, y + drawn.width(drawn.flow[ends[town][k]]) / 2), (x, low + 0.05)]
            if abs(x - middle) > wide / 2:  # from the side
                points = [points[0], (x, low + _BOX / 2), (middle, low + _BOX / 2)]
            points = points if k == 0 else points[::-1]
            picture.sheet.add_patch(
                Polygon(
                    ribbon(points, drawn.width(rate), head=0.16 if k or len(points) == 2 else 0.0),
                    closed=True,
                    facecolor=RIVER if k == 0 else EFFLUENT,
                    edgecolor=LINE,
                    lw=0.8,
                    zorder=4,
                    gid=("intake", "outfall")[k],
                )
            )
        picture.sheet.add_patch(
            FancyBboxPatch(
                (middle - wide / 2, low),
                wide,
                _BOX,
                facecolor=PAPER,
                edgecolor=LINE,
                lw=2.0,
                zorder=6,
                boxstyle="round,pad=0,rounding_size=0.12",
                gid="town",
            )
        )
        write(picture.sheet, (middle, low + 0.44), words[0], weight="bold", va="center_baseline")
        write(picture.sheet, (middle, low + 0.18), words[1], va="center_baseline")


def _beside(town: Town, rate: np.ndarray) -> str:
    """What a town without an intake takes its water from."""
    ways = {"wells": town.wells, "bought water": town.imports, "reclaimed water": town.reclaimed}
    found = [words for words, flows in ways.items() if float(rate[flows].sum()) > 0.0]
    return f"from {joined(found)}" if found else ""


def _used_words(table: xr.Dataset, town: str) -> str:
    if float(table["season_unknown_share"].sel(town=town)) > 0.5:
        return "tap: past unknown"
    return f"tap: {percent(float(table['season_used_share'].sel(town=town)))} used"


def _draw_scales(picture: Picture, drawn: Layout, most: float, units: System) -> None:
    """What colours and widths stand for."""
    y = picture.floor + 0.3
    x = _LEFT
    write(picture.sheet, (x, y), "river, used before:", ha="left", va="center_baseline")
    x += picture.text_width("river, used before:") + 0.15
    for k in range(60):
        picture.sheet.add_patch(
            Rectangle((x + 0.5 + k * 0.04, y - 0.12), 0.042, 0.24, facecolor=shade(k / 59), lw=0.0)
        )
    write(picture.sheet, (x + 0.42, y), "0 %", ha="right", va="center_baseline")
    write(picture.sheet, (x + 3.0, y), percent(most), ha="left", va="center_baseline")
    rate = max(drawn.flow.values())
    unit = display_unit("flow", units, largest=rate)
    high = drawn.width(rate)
    picture.sheet.add_patch(
        Rectangle(
            (8.6, y - high / 2), 0.14, high, facecolor=WALL, edgecolor=LINE, lw=1.0, gid="scale"
        )
    )
    write(picture.sheet, (8.85, y), f"= {flow_words(rate, unit)}", ha="left", va="center_baseline")


def _caption(drawn: Layout, table: xr.Dataset, towns: list[str], units: System) -> str:
    first, last = drawn.stem[0], drawn.stem[-1]
    unit = display_unit("flow", units, largest=max(drawn.flow.values()))
    said = [
        f"At its head the river comes with {flow_words(drawn.flow[first], unit)}, and leaves with "
        f"{flow_words(drawn.flow[last], unit)}"
    ]
    if last in drawn.used:
        said[0] += f", {percent(drawn.used[last])} of it used before"
    if towns:
        used, names = table["season_used_share"], names_of(table)
        told = [
            f"{place_words(town, names)} {percent(float(used.sel(town=town)))}" for town in towns
        ]
        said.append(f"Used before at the taps: {joined(told)}")
        said.append(
            "The river's colours weigh all water that flows past, so floods of new water count "
            "most; homes use about as much every day, also when the river is low, so taps can "
            "stand above it"
        )
    return ". ".join(said) + ". Means of the season; distances are not to scale."
