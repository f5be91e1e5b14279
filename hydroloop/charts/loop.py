"""The loop: a town's own flows as a closed band, with widths to scale."""

from __future__ import annotations

import math

import xarray as xr
from matplotlib.patches import Rectangle

from hydroloop.charts.asking import number, of_town
from hydroloop.charts.colours import LINE, TAP
from hydroloop.charts.loop_river import WIDEST_RIVER, draw_river, undrawn_words
from hydroloop.charts.loop_sheet import LEAST_SHOWN, WIDEST_BRANCH, Sheet
from hydroloop.charts.loop_uses import draw_uses
from hydroloop.charts.loop_works import draw_joining, draw_reuse, draw_supply, draw_wastewater
from hydroloop.charts.picture import HEIGHT, WIDTH, Picture, house_style
from hydroloop.charts.town_flows import GROUPS, TownFlows, town_flows, town_in
from hydroloop.charts.words import (
    flow_words,
    joined,
    place_words,
    raised,
    span_words,
    time_words,
)
from hydroloop.errors import AskError, Problem
from hydroloop.placenames import names_of, possessive
from hydroloop.units import DisplayUnit, display_unit
from hydroloop.units.printing import System

_WIDEST, _NARROWEST = 0.62, 0.4  # of the loop's largest flow [in]


@house_style
def loop(record: xr.Dataset, table: xr.Dataset, town: str, units: System = "us") -> Picture:
    """The town's loop: where its water comes from and where it goes, bands as wide as the season's
    mean flows, with the mean stay (turnover time) in each part. Branches too wide for the page are
    cut, with a mark; flows below 0.1 % of the largest are left out."""
    flows, name = town_flows(record, table, town), place_words(town, names_of(table))
    largest = max(flows.between(a, b) for a, b in _RING)
    if not largest or _taken(flows) <= LEAST_SHOWN * largest:
        own = town_in(record, town)
        raise AskError(_no_loop(name, bool(record["rate"].values[:, own.takes].any())))
    unit = display_unit("flow", units, largest=largest)
    passing = [at.coming for at in (flows.water_source, flows.outfall) if at is not None]
    river = max(passing, default=0.0)
    inches = max(_NARROWEST, min(_WIDEST, WIDEST_RIVER * largest / max(river, largest))) / largest
    title = f"{possessive(name)} water, {span_words(record['time'].values)}"
    words = _caption(flows, unit, _median(table, town))
    words += _scale_words(flows, river, inches) + undrawn_words(flows, unit)
    picture = Picture(title, words)
    overflow = min(flows.between("sewers", "river") * inches, WIDEST_BRANCH)
    _draw_all(
        Sheet(
            picture,
            flows,
            inches,
            LEAST_SHOWN * largest,
            unit,
            top=HEIGHT - 2.12,
            bottom=picture.floor + 1.25 + overflow,
        )
    )
    return picture


def _no_loop(name: str, takes_in: bool) -> Problem:
    """Why no loop can be drawn: a town that takes in nothing, or a table that tells no parts."""
    if not takes_in:
        what = f"{name} takes in no water this season."
        return Problem("loop", what, "A loop needs an intake, wells or bought water.")
    return Problem(
        "loop",
        f"the record does not tell the parts of {possessive(name)} water works.",
        "A loop needs flows of kind intake or import into a plant or tanks, as town/filters, and "
        "on from part to part.",
    )


_PARTS = tuple(GROUPS)
_RING = (
    (("river", "ground", "import"), ("treatment", "tanks")),
    ("treatment", "tanks"),
    ("tanks", "mains"),
    (("homes", "workplaces", "ground"), "sewers"),
    ("sewers", "wastewater"),
    ("wastewater", ("river", "reclaimed")),
)


def _draw_all(sheet: Sheet) -> None:
    flows = sheet.flows
    intake = flows.between("river", _PARTS, "intake")
    others = {
        "wells": flows.between("ground", _PARTS, "intake"),
        "bought": flows.between("import", _PARTS),
    }
    draw_river(sheet, intake, others)
    draw_supply(sheet)
    if not sheet.shows(intake):
        others.pop(max(others, key=lambda name: others[name]))
    draw_joining(sheet, others)
    draw_uses(sheet)
    draw_wastewater(sheet)
    draw_reuse(sheet)
    _draw_scale(sheet)


def _draw_scale(sheet: Sheet) -> None:
    """A piece of band with what its width stands for."""
    rate = _round_rate(sheet)
    words, height = f"= {sheet.rate(rate)}", sheet.width(rate)
    x, y = WIDTH - 0.45 - sheet.picture.text_width(words), sheet.bottom - 0.5
    if sheet.cuts:
        _draw_cut_key(sheet, x, y - 0.45)
    sheet.picture.sheet.add_patch(
        Rectangle(
            (x, y - height / 2), 0.14, height, facecolor=TAP, edgecolor=LINE, lw=1.0, gid="scale"
        )
    )
    sheet.note(x + 0.22, y, words, ha="left", va="center_baseline")


def _draw_cut_key(sheet: Sheet, x: float, y: float) -> None:
    """What the strokes across a band, and a torn bank, mean."""
    for shift in (0.02, 0.12):
        sheet.picture.sheet.plot(
            [x + shift - 0.05, x + shift + 0.05], [y - 0.12, y + 0.12], color=LINE, lw=1.6
        )
    words = "cut: wider than drawn"
    room = WIDTH - 0.1 - x - 0.22
    sheet.note(
        x + 0.22,
        y,
        words if sheet.picture.text_width(words) < room else "cut narrower",
        ha="left",
        va="center_baseline",
    )


def _round_rate(sheet: Sheet) -> float:
    """The largest round flow whose band is at most 0.4 inches wide."""
    most = 0.4 / sheet.inches * sheet.unit.factor
    ten = 10.0 ** math.floor(math.log10(most))
    return max(step for step in (1.0, 2.0, 5.0) if step * ten <= most) * ten / sheet.unit.factor


def _taken(flows: TownFlows) -> float:
    """All that the town takes from the river, from the ground and from outside [m3/d]."""
    return flows.between(("river", "ground", "import"), _PARTS, ("intake", "import"))


def _median(table: xr.Dataset, town: str) -> float:
    """Median time from the intake to the outfall [d]."""
    if "intake_to_outfall_time" not in table:
        return math.nan
    return number(of_town(table, town).sel(part=0.5), "intake_to_outfall_time")


def _caption(flows: TownFlows, unit: DisplayUnit, through: float) -> str:
    taken = _taken(flows)
    measure = "gallons" if "gal" in unit.name else "litres"
    out = {**ways_out(flows), "come back at the outfall": flows.between("wastewater", "river")}
    joins = {
        "of rain and groundwater join in the sewers": flows.between(("ground", "land"), "sewers")
    }
    kept = taken + sum(joins.values()) - sum(out.values())
    if kept > 0.0:
        out["stay in store"] = kept
    else:
        joins["come out of store"] = -kept
    more = [(round(100 * rate / taken), words) for words, rate in joins.items()]
    more = [(count, words) for count, words in more if count]
    total = 100 + sum(count for count, _ in more)
    wholes = raised([100 * rate / taken for rate in out.values()], total)
    parts = joined(
        [_counted(count, words) for count, words in zip(wholes, out, strict=True) if count]
    )
    words = [
        f"The town takes in {flow_words(taken, unit)}. For every 100 {measure} of it, "
        + (f"{joined([_counted(*one) for one in more])}. Of these {total}, " if more else "")
        + parts
    ]
    if math.isfinite(through):
        words.append(
            f"From intake to outfall half of the water takes no more than {time_words(through)}"
        )
    return ". ".join(words) + "."


def _counted(count: int, words: str) -> str:
    """A count with what so many do, `1 leaks away`."""
    verb, _, rest = words.partition(" ")
    if count == 1 and verb != "of":
        verb = "goes" if verb == "go" else f"{verb}s"
    return f"{count} {verb} {rest}"


def ways_out(flows: TownFlows) -> dict[str, float]:
    """Where the town's water goes besides the outfall: words, and mean flow [m3/d]."""
    return {
        "leak away": flows.between("mains", "ground", "leak"),
        "go to yards": flows.between(("mains", "reclaimed"), "yards"),
        "go to on-site systems": flows.between(("homes", "workplaces"), "ground"),
        "evaporate in homes and workplaces": flows.between(("homes", "workplaces"), "sky"),
        "leave with sludge": flows.between(("treatment", "wastewater"), "solids"),
        "overflow from the sewers": flows.between("sewers", "river"),
        "soak away after reuse": flows.between("reclaimed", "ground"),
    }


def _scale_words(flows: TownFlows, river: float, inches: float) -> str:
    """How to read widths and times; and what is wider than it could be drawn."""
    branches = {
        "the storm water": flows.between("land", "river", "stormwater"),
        "the rain in sewers": flows.between("land", "sewers"),
        "the groundwater seeping in": flows.between("ground", "sewers", "infiltration"),
        "the overflow": flows.between("sewers", "river"),
    }
    cut = [words for words, rate in branches.items() if rate * inches > WIDEST_BRANCH]
    cut = ["the river"] * (river * inches > WIDEST_RIVER) + cut
    but = f", {joined(cut)} cut" if cut else ""
    return f" Bands are season means to scale{but}; times are mean stays."
